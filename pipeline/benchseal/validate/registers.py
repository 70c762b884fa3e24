"""The instrument, the time and the standard lots of a run."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Literal, TypeAlias
from zoneinfo import ZoneInfo

from benchseal.problems import Problem
from benchseal.validate.instants import instants
from benchseal.validate.instrument_state import offset_at
from benchseal.validate.places import at_reading, at_run, nearest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.known import Known
    from benchseal.records.method import Method
    from benchseal.records.registers import Instrument, StandardLot
    from benchseal.records.run import RunDocument

Fold: TypeAlias = "Literal[0, 1] | None"
Purpose: TypeAlias = Literal["calibration", "second_source"]
_WITHOUT_TWO_CHANGES = timedelta(days=7)
_CHECK_CLOCK = "Check the instrument's clock and its time zone in the register."
_WHICH_HOUR = "Let a new version of the layout say which of the two hours a start means: doubled_hour: first or second."


def instrument_of(document: RunDocument, known: Known) -> Instrument | Problem:
    """The registered instrument whose serial number the file states."""
    serial = document.facts.instrument_serial
    found = [instrument for instrument in known.instruments if instrument.serial == serial]
    if len(found) == 1:
        return found[0]
    near = nearest(serial, (instrument.serial for instrument in known.instruments))
    said = "more than one registered instrument" if found else f"no registered instrument; known: {near}"
    what = f"Serial number '{serial}' is that of {said}."
    remedy = "Register the instrument, or export from the right one."
    return Problem("validate.instrument-unknown", at_run(document), what, remedy)


def instrument_problems(document: RunDocument, instrument: Instrument) -> Iterator[Problem]:
    """An instrument of another technique, or not yet in service."""
    facts = document.facts
    if instrument.technique != facts.technique:
        what = f"{instrument.instrument} is registered for {instrument.technique}; the file says {facts.technique}."
        yield Problem(
            "validate.instrument-technique", at_run(document), what, "Correct the register or the file's source."
        )
    if facts.started_at and facts.started_at[:10] < instrument.in_service_from:
        since = instrument.in_service_from
        what = f"{instrument.instrument} is in service from {since}; the run began {facts.started_at}."
        yield Problem("validate.instrument-not-in-service", at_run(document), what, _CHECK_CLOCK)


def measured_at(document: RunDocument, instrument: Instrument, known: Known, fold: Fold) -> str | Problem:
    """UTC time the run began, by the instrument's clock as it showed; ahead of now is told by the corrected time.

    fold: which of two equal local hours is meant, as the layout says; None: unknown.
    """
    started = document.facts.started_at
    if not started:
        what = "The file does not say when the run began."
        return Problem("validate.time-missing", at_run(document), what, "The layout must read a day and a time.")
    moment = _utc(started, instrument.zone, fold)
    if isinstance(moment, str):
        remedy = _WHICH_HOUR if fold is None and _comes_twice(started, instrument.zone) else _CHECK_CLOCK
        return Problem("validate.time-impossible", at_run(document), moment, remedy)
    last = next(filter(None, reversed(document.readings.taken_at)), started)  # not the greatest: clocks are put back
    ended = _utc(last, instrument.zone, 1)
    if isinstance(ended, datetime) and _comes_twice(last, instrument.zone):
        taken = instants(document.readings.taken_at, moment, instrument.zone)
        ended = next(filter(None, reversed(taken)), ended)
    latest = max(moment, ended) if isinstance(ended, datetime) else moment
    if latest - _ahead(latest, instrument, known) > _now(known):
        what = (
            f"The run lies in the future: it began {started} and its last reading is of {last}, now it is {known.now}."
        )
        return Problem("validate.time-future", at_run(document), what, _CHECK_CLOCK)
    return f"{moment:%Y-%m-%dT%H:%M:%S}Z"


def reading_time_problems(document: RunDocument, instrument: Instrument) -> Iterator[Problem]:
    """The first reading of an hour the instrument's zone leaves out, and how many there are.

    An hour that comes twice is no problem of a reading: only the start of the run is turned into UTC.
    """
    taken = document.readings.taken_at
    if not clock_changed(document, instrument):
        return
    wrong = [nth for nth, text in enumerate(taken) if text and isinstance(_utc(text, instrument.zone, 0), str)]
    if wrong:
        more = f" So are {len(wrong) - 1} more of the {len(taken)} readings." if len(wrong) > 1 else ""
        what = f"The reading is of a time that never was: {_utc(taken[wrong[0]], instrument.zone, 0)}{more}"
        yield Problem("validate.time-impossible", at_reading(document, wrong[0]), what, _CHECK_CLOCK)


def put_back_problems(document: RunDocument, instrument: Instrument, fold: Fold) -> Iterator[Problem]:
    """Times that go back where the clock of the instrument's zone was not put back, or once more after it was.

    Between two times of which the later is less, clocks were put back exactly where both occur twice: the one read
    before it in the first of the two hours, the one after in the second. fold: of the start, as ``measured_at``.
    """
    before = document.facts.started_at
    back = second = fold == 1 and _comes_twice(before, instrument.zone)
    for nth, text in enumerate(document.readings.taken_at):
        if not text:
            continue
        if text < before:
            if back or not (_comes_twice(before, instrument.zone) and _comes_twice(text, instrument.zone)):
                why = "had been put back before" if back else "were not put back there"
                what = f"The time goes back: {text} after {before}; in {instrument.zone} clocks {why}."
                began = " Or let the layout say doubled_hour: first, if the run began in that hour." if second else ""
                yield Problem("validate.time-backwards", at_reading(document, nth), what, f"{_CHECK_CLOCK}{began}")
                return
            back = True
        before = text


def _comes_twice(local: str, zone_name: str) -> bool:
    """Whether a local time occurs twice in a zone. An hour left out has two readings too, the first of them later."""
    try:
        zone, plain = ZoneInfo(zone_name), datetime.fromisoformat(local)
        first, second = (plain.replace(tzinfo=zone, fold=nth).astimezone(UTC) for nth in (0, 1))
    except (OSError, ValueError, KeyError, OverflowError):
        return False
    return first < second


def clock_changed(document: RunDocument, instrument: Instrument) -> bool:
    """Whether some readings bear times between which the clock of the instrument's zone changes, or may do so."""
    times = set(filter(None, document.readings.taken_at))
    return bool(times) and not keeps_its_clock(min(times), max(times), instrument.zone)


def keeps_its_clock(first: str, last: str, zone_name: str) -> bool:
    """Whether no clock is put forward or back between two local times that exist in a zone; True only where sure.

    Sure within days alone: over months a zone may go forward and back again. In an hour left out the later one of
    ``zoneinfo``'s two readings (fold 1) has the offset after the change, so an end inside it is told too.
    """
    try:
        zone, begin, end = ZoneInfo(zone_name), datetime.fromisoformat(first), datetime.fromisoformat(last)
        before, after = begin.replace(tzinfo=zone).utcoffset(), end.replace(tzinfo=zone, fold=1).utcoffset()
    except (OSError, ValueError, KeyError, OverflowError):
        return False
    return before == after and end - begin <= _WITHOUT_TWO_CHANGES


def _ahead(moment: datetime, instrument: Instrument, known: Known) -> timedelta:
    """What the instrument's clock was ahead when it showed ``moment``, by its last check."""
    events = known.instrument_events.get(instrument.instrument, ())
    return timedelta(seconds=offset_at(f"{moment:%Y-%m-%dT%H:%M:%S}Z", events))


def _now(known: Known) -> datetime:
    return datetime.fromisoformat(known.now)


def _utc(local: str, zone_name: str, fold: Fold) -> datetime | str:
    """UTC of local text, or why there is none. zoneinfo accepts an hour that does not exist: a round trip shows it."""
    try:
        zone, plain = ZoneInfo(zone_name), datetime.fromisoformat(local)
        first, second = (plain.replace(tzinfo=zone, fold=nth).astimezone(UTC) for nth in (0, 1))
        back = first.astimezone(zone).replace(tzinfo=None)
    except (OSError, ValueError, KeyError, OverflowError):
        return f"'{local}' in zone '{zone_name}' is no time."
    if back != plain:
        return f"{local} does not exist in {zone_name}: clocks were put forward over it."
    if first != second and fold is None:
        return (
            f"{local} occurs twice in {zone_name}: clocks were put back. The layout does not say which hour is meant."
        )
    return second if fold == 1 else first


def lot_of(document: RunDocument, method: Method, known: Known, purpose: Purpose) -> StandardLot | Problem:
    """The one lot of the element in use on the day of the run."""
    day = document.facts.started_at[:10]
    lots = [lot for lot in known.standard_lots if lot.element == method.element and lot.purpose == purpose]
    in_use = [lot for lot in lots if lot.in_use_from <= day <= lot.expires_on]
    if len(in_use) == 1:
        return in_use[0]
    where, called = at_run(document), f"{method.element} standard for {purpose.replace('_', ' ')}"
    if in_use:
        names = ", ".join(lot.lot for lot in in_use)
        what = f"More than one {called} was in use on {day}: {names}."
        return Problem("validate.lot-several", where, what, "Correct from when to when each lot is in use.")
    expired = [lot for lot in lots if lot.expires_on < day]
    if expired:
        last = max(expired, key=lambda lot: lot.expires_on)
        what = f"The {called}, lot {last.lot}, expired on {last.expires_on}; the run is of {day}."
        return Problem("validate.lot-expired", where, what, "Measure again with a lot that has not expired.")
    what = f"No {called} was in use on {day}."
    return Problem("validate.lot-missing", where, what, "Register the lot that was used, with its certificate.")


def same_lot_problems(document: RunDocument, lots: tuple[StandardLot, ...]) -> Iterator[Problem]:
    """A second source that is none."""
    if len(lots) == 2 and (lots[0].lot, lots[0].maker) == (lots[1].lot, lots[1].maker):
        what = f"Calibration and second source are the same lot, {lots[0].lot}."
        yield Problem(
            "validate.lot-same", at_run(document), what, "A second source is another lot, best of another maker."
        )
