"""What the registers say about the day a result was measured: training, the instrument, its clock, typed values."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.confirmations import typed_lot, typed_portion
from benchseal.desk.instrument_time import events_of
from benchseal.desk.instruments import event_words
from benchseal.desk.trained import facts_of, today
from benchseal.validate.instrument_state import calibrated_until, corrected, out_since

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.confirmations import Typed
    from benchseal.records.instrument_events import InstrumentEvent
    from benchseal.records.results import WorkedResult
    from benchseal.records.run import Run
    from benchseal.store.protocol import Reading


def register_lines(view: Reading, run: Run, result: WorkedResult, analyst: str) -> dict[str, tuple[str, ...]]:
    """Question to further lines beside what the calculation says; registers as they are now, about that day."""
    events = events_of(view, run.instrument)
    moment = corrected(run.measured_at, events)
    return {
        "procedure": tuple(_training(view, run, analyst, today(view, moment))),
        "instrument": (*_served(moment, events), *_clock(run.measured_at, moment, events)),
        "preparation": tuple(_portions(view, result)),
        "calibration": tuple(_lots(view, run)),
    }


def _training(view: Reading, run: Run, analyst: str, day: str) -> Iterator[str]:
    """For the method as it was, the instrument and the role, the analyst's facts that counted on the day."""
    if not analyst:
        yield "who measured is not on record: no training to look up"
        return
    evidence = {row["training"]: row["evidence"] for row in view.rows("training", person=analyst)}
    subjects = (f"method/{run.method_ref.id}@{run.method_ref.version}", f"instrument/{run.instrument}", "role/analyst")
    for subject in subjects:
        of = [one for one in facts_of(view, subject=subject) if one.person == analyst]
        counted = [one for one in of if one.counts_on(day)]
        for one in counted:
            held = f"{one.training}, {one.since} to {one.until}, {evidence[one.training]}"
            yield f"{analyst} was trained for {subject} on {day}: {held}"
        if not counted:
            other = "".join(f"; {one.training} is of {one.since} to {one.until}" for one in of)
            yield f"{analyst} had no training for {subject} on record for {day}{other}"


def _served(moment: str, events: Sequence[InstrumentEvent]) -> Iterator[str]:
    """Whether it was in service and calibrated, and what was last done to it before."""
    out, until = out_since(moment, events), calibrated_until(moment, events)
    yield f"out of service then: {event_words(out)}" if out else "no event says that it was out of service then"
    yield f"calibrated then until {until}" if until else "no end of a calibration was on record then"
    for kind in ("service", "qualification", "lamp", "tube"):
        before = [one for one in events if one.kind == kind and one.at <= moment]
        if before:
            yield f"last before: {event_words(max(before, key=lambda one: one.at))}"


def _clock(shown: str, moment: str, events: Sequence[InstrumentEvent]) -> Iterator[str]:
    """The checks of its clock on both sides of the run, and what they make of its time."""
    checks = sorted((one for one in events if one.kind == "clock_check"), key=lambda one: one.true)
    before = [one for one in checks if one.true <= moment]
    after = [one for one in checks if one.true > moment]
    yield f"before the run, {event_words(before[-1])}" if before else "its clock was not checked before the run"
    if after:
        yield f"after the run, {event_words(after[0])}"
    if moment != shown:
        yield f"it showed {shown} when the run began; corrected {moment}"


def _portions(view: Reading, result: WorkedResult) -> Iterator[str]:
    for each in result.portions:
        row = view.row("portion", batch=each.batch, portion=each.portion)
        if row is not None:
            yield _confirmed(typed_portion(view, row))


def _lots(view: Reading, run: Run) -> Iterator[str]:
    for lot in run.standard_lots:
        row = view.row("standard_lot", lot=lot)
        if row is not None:
            yield f"standard lot {_confirmed(typed_lot(view, row))}"


def _confirmed(one: Typed) -> str:
    if not one.values:
        return f"{one.name}: nothing typed in it needs a second person"
    seen = f"confirmed by {one.confirmed_by} at {one.confirmed_at}: {one.seen_words}" if one.seen_words else ""
    unseen = f"confirmed by nobody: {one.unseen_words}" if one.waits else ""
    return f"{one.name}: typed by {', '.join(sorted(one.by))}, {'; '.join(filter(None, (seen, unseen)))}"
