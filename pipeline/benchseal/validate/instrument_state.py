"""The state of an instrument at a moment, from its events: its clock, whether it serves, until when it is calibrated.

The clock: what it was off by at the last check counts until the next one, so a time is corrected by the last check at
or before it, both by the instrument's own clock. An event counts from the moment it happened, not from its entry.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from benchseal.problems import Problem
from benchseal.validate.places import at_run

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.instrument_events import InstrumentEvent
    from benchseal.records.registers import Instrument
    from benchseal.records.run import Run


def offset_at(shown: str, events: Sequence[InstrumentEvent]) -> int:
    """Seconds the clock was ahead when it showed ``shown`` (UTC); 0 before its first check and after it was set right.

    events: of one instrument, in any order; of two checks at the same second the later one in the sequence counts.
    """
    checks = [one for one in events if one.kind == "clock_check" and _known_from(one) <= shown]
    if not checks:
        return 0
    last = max(enumerate(checks), key=lambda pair: (_known_from(pair[1]), pair[0]))[1]
    return 0 if last.set_right else last.offset_seconds


def _known_from(check: InstrumentEvent) -> str:
    """What the clock showed from when on the check counts: the moment it was set to, where it was set right."""
    return check.true if check.set_right else check.seen


def corrected(shown: str, events: Sequence[InstrumentEvent]) -> str:
    """UTC time of what the instrument's clock showed as ``shown``, ``YYYY-MM-DDTHH:MM:SSZ`` both."""
    offset = offset_at(shown, events)
    return _text(datetime.fromisoformat(shown) - timedelta(seconds=offset)) if offset else shown


def out_since(moment: str, events: Sequence[InstrumentEvent]) -> InstrumentEvent | None:
    """The event that took the instrument out of service and still counted at ``moment`` (UTC); None where it served."""
    last = last_event(moment, events, ("out_of_service", "back_in_service"))
    return last if last is not None and last.kind == "out_of_service" else None


def calibrated_until(moment: str, events: Sequence[InstrumentEvent]) -> str:
    """Last day of the calibration that counted at ``moment`` (UTC); empty where none is on record."""
    last = last_event(moment, events, ("calibration_due",))
    return last.until if last is not None else ""


def fitness_problems(run: Run, instrument: Instrument, events: Sequence[InstrumentEvent]) -> Iterator[Problem]:
    """Why a run measured on this instrument at that time does not count (21 CFR 11.10(h)), by corrected time."""
    moment = corrected(run.measured_at, events)
    where = at_run(run.document)
    if (out := out_since(moment, events)) is not None:
        what = f"{instrument.instrument} was out of service from {out.at} ({out.text}); the run began {moment}."
        remedy = (
            "Measure again once it is back. Who puts it back: a reviewer or approver, by `benchseal instrument event`."
        )
        yield Problem("instrument.out-of-service", where, what, remedy)
    until = calibrated_until(moment, events)
    day = datetime.fromisoformat(moment).astimezone(ZoneInfo(instrument.zone)).date().isoformat()
    if until and day > until:
        what = f"{instrument.instrument} was calibrated until {until}; the run is of {day}."
        remedy = "Have it calibrated, put that on record with `benchseal instrument event`, and measure again."
        yield Problem("instrument.calibration-overdue", where, what, remedy)


def last_event(moment: str, events: Sequence[InstrumentEvent], kinds: tuple[str, ...]) -> InstrumentEvent | None:
    """The last event of these kinds at or before a moment; of two at the same second the later one in the sequence."""
    found = [one for one in events if one.kind in kinds and one.at <= moment]
    return max(enumerate(found), key=lambda pair: (pair[1].at, pair[0]))[1] if found else None


def _text(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%S}Z"
