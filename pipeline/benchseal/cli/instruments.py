"""Events of instruments, and one instrument with all that happened to it."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from benchseal.cli import show
from benchseal.cli.opened import do, reading
from benchseal.desk.acts_instruments import NoteInstrumentEvent
from benchseal.desk.clock import stamp
from benchseal.desk.histories import require_instrument
from benchseal.desk.instrument_time import events_of
from benchseal.desk.instruments import event_words
from benchseal.desk.reading import load
from benchseal.records.registers import Instrument
from benchseal.records.shape import plain_of
from benchseal.validate.instrument_state import calibrated_until, offset_at, out_since

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Sequence

    from benchseal.records.instrument_events import InstrumentEvent

_FIELDS = ("kind", "text", "at", "by", "until", "seen", "true", "set_right", "part", "count", "unit", "late_because")


def event(args: Namespace) -> int:
    """Put one event on record."""
    return do(args, NoteInstrumentEvent(args.instrument, **{name: getattr(args, name) for name in _FIELDS}))


def show_one(args: Namespace) -> int:
    """One instrument."""
    with reading(args) as (site, view):
        require_instrument(view, args.instrument)
        row = view.row("instrument", instrument=args.instrument)
        record = load(view, Instrument, row["record"]) if row else None
        events = events_of(view, args.instrument)
        now = f"{stamp(site.clock())[:19]}Z"
    if record is None:
        raise AssertionError("the instrument was found before")
    head = f"{record.instrument}: {record.technique}, serial {record.serial}, clock of {record.zone}"
    said = [
        f"{head}, in service from {record.in_service_from}",
        *state_lines(record, events, now),
        *event_lines(events),
    ]
    return show.lines(args, said, {"instrument": plain_of(record), "events": [plain_of(one) for one in events]})


def state_lines(record: Instrument, events: Sequence[InstrumentEvent], now: str) -> list[str]:
    """How it stands now: out of service, calibration, clock, where its own files live."""
    said = []
    if (out := out_since(now, events)) is not None:
        said.append(f"out of service since {out.at}: {out.text}")
    until = calibrated_until(now, events)
    today = datetime.fromisoformat(now).astimezone(ZoneInfo(record.zone)).date().isoformat()
    if until:
        said.append(f"calibrated until {until}" + (", overdue" if today > until else ""))
    checks = [one for one in events if one.kind == "clock_check"]
    clock = f"{offset_at(now, events):+d} s by its last check" if checks else "never checked"
    places = [one for one in events if one.kind == "original_record"]
    said.append(f"clock: {clock}")
    said.append(f"its own files live at: {places[-1].text if places else 'not on record'}")
    return said


def event_lines(events: Sequence[InstrumentEvent]) -> list[str]:
    """Every event, in the order in which they happened."""
    ordered = sorted(enumerate(events), key=lambda pair: (pair[1].at, pair[0]))
    return ["events:", *(f"  {one.at}  {event_words(one)}" for _, one in ordered)] if events else ["no events"]
