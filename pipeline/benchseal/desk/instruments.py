"""Events of instruments: put on record as they were typed, checked, with every problem at once."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Final, get_args
from zoneinfo import ZoneInfo

from benchseal.desk.acting import Receipt
from benchseal.desk.histories import require_instrument
from benchseal.desk.instrument_time import events_of
from benchseal.desk.late import late_problems, note_late
from benchseal.desk.reading import load
from benchseal.desk.site_rules import rules_in_force
from benchseal.identity.names import person_id
from benchseal.problems import Finding, Problem, Refusal, Stopped
from benchseal.records.instrument_events import InstrumentEvent, InstrumentEventKind
from benchseal.records.people import Role
from benchseal.records.quantities import is_plain_decimal
from benchseal.records.registers import Instrument
from benchseal.records.shape import record_bytes
from benchseal.validate.instrument_state import out_since

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_instruments import NoteInstrumentEvent
    from benchseal.store.protocol import Reading

KINDS: Final[tuple[str, ...]] = get_args(InstrumentEventKind)
COMMAND: Final = "instrument event"
_AHEAD = timedelta(minutes=1)  # a watch may be a little ahead of this machine
# What each kind needs beside its text, and what no other kind takes.
_OWN: Final[dict[str, tuple[str, ...]]] = {
    "clock_check": ("seen", "true"),
    "calibration_due": ("until",),
    "lamp": ("part",),
    "tube": ("part",),
}
_MAY: Final[dict[str, tuple[str, ...]]] = {
    "clock_check": ("set_right",),
    "qualification": ("until",),
    "lamp": ("count", "unit"),
    "tube": ("count", "unit"),
}
_OPTIONS: Final = ("at", "seen", "true", "set_right", "until", "part", "count", "unit")
_AT_ITS_TIME: Final = "clock_check"  # it happened at its true time: else an old one would be no late entry


class _Reader:
    """Reads what was typed, and collects what is wrong with it."""

    def __init__(self, acting: Acting, act: NoteInstrumentEvent, zone: str) -> None:
        self.acting, self.act, self.zone = acting, act, zone
        self.problems: list[Problem] = []

    def wrong(self, code: str, what: str, remedy: str) -> None:
        """Note a problem of this event."""
        self.problems.append(Problem(code, f"{COMMAND} {self.act.instrument}", what, remedy))

    def moment(self, option: str, text: str) -> str:
        """UTC of a typed time of the instrument's zone, or one with its own offset; empty with a problem."""
        try:
            typed = datetime.fromisoformat(text)
        except ValueError:
            what = f"--{option} {text!a} is no time."
            self.wrong("instrument.time", what, "Write it as 2026-03-02T08:15:00.")
            return ""
        if typed.tzinfo is None:
            first, second = (typed.replace(tzinfo=ZoneInfo(self.zone), fold=nth).astimezone(UTC) for nth in (0, 1))
            if first != second:
                what = f"--{option} {text} occurs twice, or not at all, in {self.zone}: clocks were changed."
                self.wrong("instrument.time", what, "Write it with its offset, as 2026-10-25T02:15:00+01:00.")
                return ""
            typed = first
        return f"{typed.astimezone(UTC):%Y-%m-%dT%H:%M:%S}Z"

    def day(self, option: str, text: str) -> str:
        """A typed day; empty with a problem."""
        try:
            return date.fromisoformat(text).isoformat()
        except ValueError:
            self.wrong("instrument.time", f"--{option} {text!a} is no day.", "Write it as 2026-03-02.")
            return ""

    def event(self) -> InstrumentEvent:
        """The event, which counts only where no problem was found."""
        act = self.act
        self._fits()
        now = f"{self.acting.at[:19]}Z"
        seen, true = (
            self.moment(name, text) if text else "" for name, text in (("seen", act.seen), ("true", act.true))
        )
        at = self.moment("at", act.at) if act.at else true or now
        offset = int((_of(seen) - _of(true)).total_seconds()) if seen and true else 0
        if max(at, true) > f"{self.acting.moment.astimezone(UTC) + _AHEAD:%Y-%m-%dT%H:%M:%S}Z":
            self.wrong("instrument.future", f"{max(at, true)} is still to come.", "Put the time right.")
        if act.count and not is_plain_decimal(act.count):
            self.wrong("instrument.count", f"--count {act.count!a} is no number.", "Write it as 1250 or 12.5.")
        return InstrumentEvent(
            schema="instrument-event/1",
            instrument=act.instrument,
            kind=act.kind,  # type: ignore[arg-type]  # ``_fits`` says so where it is none
            at=at,
            by=_person(self.acting.tx, act.by) or self.acting.first.person,
            text=act.text.strip(),
            until=self.day("until", act.until) if act.until else "",
            seen=seen,
            true=true,
            offset_seconds=offset,
            set_right=act.set_right,
            part=act.part.strip(),
            count=act.count,
            unit=act.unit.strip(),
        )

    def _fits(self) -> None:
        kind, act = self.act.kind, self.act
        if kind not in KINDS:
            self.wrong("instrument.event-kind", f"{kind!a} is no kind of event.", f"Known: {', '.join(KINDS)}.")
            return
        needs, takes = _OWN.get(kind, ()), (*_OWN.get(kind, ()), *_MAY.get(kind, ()))
        lacking = [name for name in needs if not getattr(act, name)]
        lacking += ["text"] if not act.text.strip() and kind not in {"clock_check", "calibration_due"} else []
        lacking += ["unit"] if act.count and not act.unit.strip() else []
        if lacking:
            what = f"a {kind} needs {_options(lacking)}."
            self.wrong("instrument.event-lacks", what, "Give what is missing.")
        takes = takes if kind == _AT_ITS_TIME else ("at", *takes)
        foreign = [name for name in _OPTIONS if getattr(act, name) and name not in takes]
        if foreign:
            what = f"a {kind} takes no {_options(foreign)}."
            self.wrong("instrument.event-foreign", what, "Leave it out, or name the kind that was meant.")


def note_event(acting: Acting, act: NoteInstrumentEvent) -> Receipt:
    """Put one event on record. Who puts an instrument back in service reviews or approves."""
    require_instrument(acting.tx, act.instrument)
    row = acting.tx.row("instrument", instrument=act.instrument)
    zone = load(acting.tx, Instrument, row["record"]).zone if row else "UTC"
    reader = _Reader(acting, act, zone)
    event = reader.event()
    where = f"{COMMAND} {act.instrument}"
    happened = _of(event.at) if event.at else acting.moment
    problems = [*reader.problems, *late_problems(acting, where, happened, act.late_because)]
    if problems:
        raise Stopped(*problems)
    _require_order(acting, event)
    kept = acting.tx.keep(record_bytes(event))
    facts = {"kind": event.kind, "at": event.at, "by": event.by, "until": event.until}
    subject = f"instrument/{event.instrument}"
    entry = acting.write("instrument.event", subject, facts={**facts}, digests={"record": kept}, reason=event.text)
    note_late(acting, entry, subject, happened, act.late_because)
    return Receipt(
        (f"{event.instrument}: {event_words(event)}",),
        {"instrument": event.instrument, "event": entry, "offset_seconds": event.offset_seconds},
        tuple(clock_findings(acting.tx, event)),
    )


def _require_order(acting: Acting, event: InstrumentEvent) -> None:
    """Out of service once, back by somebody who checks others' work; both only where they change something."""
    if event.kind not in {"out_of_service", "back_in_service"}:
        return
    out = out_since(event.at, events_of(acting.tx, event.instrument))
    where = f"{COMMAND} {event.instrument}"
    if event.kind == "out_of_service" and out is not None:
        what = f"it is out of service already, from {out.at} on."
        raise Stopped(Refusal("instrument.already-out", where, what, "Nothing needs to be done."))
    if event.kind == "back_in_service" and out is None:
        what = f"it was not out of service at {event.at}."
        raise Stopped(Refusal("instrument.not-out", where, what, "Look with `benchseal instrument show`."))
    if event.kind == "back_in_service" and not acting.first.roles & {Role.REVIEWER, Role.APPROVER}:
        what = f"{acting.first.person} neither reviews nor approves."
        raise Stopped(Refusal("instrument.back-by", where, what, "A reviewer or approver puts it back in service."))


def clock_findings(view: Reading, event: InstrumentEvent) -> list[Finding]:
    """A clock that was off by more than the rules of the site allow, and was left so."""
    allowed = rules_in_force(view).clock_tolerance_seconds
    if event.kind != "clock_check" or event.set_right or not allowed or abs(event.offset_seconds) <= allowed:
        return []
    what = f"its clock was off by {event.offset_seconds} s at {event.true}; the rules of the site allow {allowed} s."
    remedy = "Put it right, then record it with --set-right. Times of runs are corrected by the check until then."
    return [Finding("instrument.clock-off", event.instrument, what, remedy)]


def event_words(event: InstrumentEvent) -> str:
    """One event in one line."""
    words = {
        "clock_check": f"clock checked: it showed {event.seen}, it was {event.true}, offset {event.offset_seconds:+d} s"
        + ("; set right" if event.set_right else ""),
        "calibration_due": f"calibrated until {event.until}",
        "original_record": f"its own files live at: {event.text}",
        "lamp": f"lamp {event.part}",
        "tube": f"tube {event.part}",
    }.get(event.kind, event.kind.replace("_", " "))
    words += f", counter {event.count} {event.unit}" if event.count else ""
    words += f", until {event.until}" if event.until and event.kind == "qualification" else ""
    words += f": {event.text}" if event.text and event.kind != "original_record" else ""
    return f"{words} ({event.at}, {event.by})"


def _person(view: Reading, name: str) -> str:
    """The user id of a name where it is one here; else the name itself: people from outside service instruments."""
    person = person_id(name) if name else ""
    return person if isinstance(person, str) and view.row("person", person=person) is not None else name.strip()


def _options(names: list[str]) -> str:
    return ", ".join("a text" if name == "text" else f"--{name.replace('_', '-')}" for name in names)


def _of(text: str) -> datetime:
    return datetime.fromisoformat(text)
