"""What a new run must bring beyond its readings: an instrument that served that day; in time, or with a reason."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from benchseal.desk.instrument_time import events_of
from benchseal.desk.late import late_problems, note_late
from benchseal.desk.reading import load
from benchseal.records.registers import Instrument
from benchseal.validate.instrument_state import corrected, fitness_problems
from benchseal.validate.places import at_run

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.acting import Acting
    from benchseal.problems import Problem
    from benchseal.records.run import Run
    from benchseal.store.protocol import Reading


def unfit_instrument(view: Reading, run: Run) -> Iterator[Problem]:
    """Why the instrument was not fit for a run when it was measured."""
    row, events = view.row("instrument", instrument=run.instrument), events_of(view, run.instrument)
    if row is not None and events:
        yield from fitness_problems(run, load(view, Instrument, row["record"]), events)


def late_run(acting: Acting, run: Run, because: str) -> Iterator[Problem]:
    """That a run comes late without a reason."""
    yield from late_problems(acting, at_run(run.document), _ended(acting, run), because)


def note_late_run(acting: Acting, number: str, run: Run, because: str) -> None:
    """Mark the entry just written for a run where it comes late."""
    note_late(acting, acting.tx.size(), f"run/{number}", _ended(acting, run), because)


def _ended(acting: Acting, run: Run) -> datetime:
    """When the last reading was taken, by corrected time; the beginning where readings bear no time."""
    began = datetime.fromisoformat(corrected(run.measured_at, events_of(acting.tx, run.instrument)))
    started = run.document.facts.started_at
    last = max((text for text in run.document.readings.taken_at if text), default=started)
    took = datetime.fromisoformat(last) - datetime.fromisoformat(started)
    return began + max(took, timedelta())
