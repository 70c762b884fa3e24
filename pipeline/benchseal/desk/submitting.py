"""What must be in order before runs are submitted: training of who submits and who measured, and typed values seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.confirmations import typed_refusals
from benchseal.desk.instrument_time import corrected
from benchseal.desk.reading import load
from benchseal.desk.site_rules import rules_in_force
from benchseal.desk.trained import today, training_refusals
from benchseal.identity.names import person_id
from benchseal.problems import Refusal, Stopped
from benchseal.records.people import Role
from benchseal.records.run import Run

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.store.protocol import Reading, Row


def require_submittable(view: Reading, rows: Sequence[Row], person: str, at: str) -> None:
    """Raise Stopped with everything the rules of the site still want of these runs. at: now, as an entry time."""
    refusals = [refusal for row in rows for refusal in submit_refusals(view, row, person, at)]
    if refusals:
        raise Stopped(*dict.fromkeys(refusals))


def submit_refusals(view: Reading, row: Row, person: str, at: str) -> Iterator[Refusal]:
    """What keeps one run from being submitted by ``person``."""
    if rules_in_force(view).training == "required":
        yield from _untrained(view, row, person, today(view, at))
    yield from typed_refusals(view, row)


def _untrained(view: Reading, row: Row, person: str, day: str) -> Iterator[Refusal]:
    """Whoever submits is trained for the method today; whoever measured was, for method and instrument, that day."""
    run = load(view, Run, row["bound"])
    where, method = f"run {row['run']}", f"method/{run.method_ref.id}@{run.method_ref.version}"
    yield from training_refusals(view, person, method, day, where)
    measured_on = today(view, corrected(view, run.instrument, run.measured_at))
    for operator in operators(view, row, run):
        for subject in (method, f"instrument/{run.instrument}"):
            yield from training_refusals(view, operator, subject, measured_on, where)


def operators(view: Reading, row: Row, run: Run) -> list[str]:
    """Who measured: whom the file names where enrolled here, else whoever brought it in unless that is a service."""
    named = person_id(run.document.facts.operator)
    if isinstance(named, str) and view.row("person", person=named) is not None:
        return [named]
    brought = [each["person"] for each in view.rows("contribution", subject=f"run/{row['run']}", act="operate")]
    return [one for one in brought if not view.rows("role", person=one, role=Role.SERVICE, active=1)]
