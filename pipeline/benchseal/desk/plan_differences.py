"""A run against the plan of its batch: what was done otherwise, for the bench and for the reviewer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.planning.against import differences, prepared_otherwise
from benchseal.records.plan import RunPlan
from benchseal.records.preparation import Portion

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.planning.against import Difference
    from benchseal.records.run import Run
    from benchseal.store.protocol import Reading


def against_plans(view: Reading, run: Run) -> Iterator[tuple[RunPlan, tuple[Difference, ...]]]:
    """Each plan whose batch the run measured by a method of the plan, and what differs from it."""
    for batch in sorted({batch for batch, _ in run.portion if batch}):
        for row in view.rows("plan", batch=batch):
            plan = load(view, RunPlan, row["record"])
            planned = plan.run_of(run.method.id)
            if planned is not None:
                kept = {
                    str(each["portion"]): load(view, Portion, each["record"])
                    for each in view.rows("portion", batch=batch)
                }
                yield plan, (*differences(planned, run.document.solutions), *prepared_otherwise(plan, kept))


def plan_lines(view: Reading, run: Run) -> list[str]:
    """The same in words; none where no plan was made."""
    said = []
    for plan, found in against_plans(view, run):
        said.append(f"  against plan {plan.plan}: {'as planned' if not found else ''}".rstrip())
        said += [f"    {f'position {one.position}: ' if one.position else ''}{one.words}" for one in found]
    return said
