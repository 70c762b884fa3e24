"""Standard additions of whatever comes as a run: what ``validate`` sees to in a file, asked again before computing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.run_numbers import fraction_of
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.preparation import Portion
    from benchseal.records.run import Run

_OF_A_SAMPLE = {"sample", "duplicate", "spiked_sample"}


def addition_problems(run: Run, portion: Portion, place: int) -> Iterator[Problem]:
    """Why the solution at ``place``, which is of ``portion``, cannot stand in a series of additions, or without one."""
    position, label = run.document.solutions.position[place], run.document.solutions.label[place]
    fault = _fault(run, portion, place, label)
    if fault:
        where = f"{run.document.source_name}, {run.method.element}, position {position}"
        remedy = "Correct the preparation, the entry at the instrument or the method."
        yield Problem("compute.additions", where, f"{label!r} {fault}.", remedy)


def _fault(run: Run, portion: Portion, place: int, label: str) -> str:
    plan, dilution = run.method.calibration, run.document.solutions.dilution[place] or "1"
    added = {one.label: one.added for one in portion.additions.get(run.method.element, ())}
    if not added:
        due = plan.additions == "required" and portion.kind in _OF_A_SAMPLE
        return f"has no additions, which method {run.method.id} requires" if due else ""
    if label not in added:
        return f"is none of the tubes of portion {portion.portion}: {', '.join(added)}"
    if not plan.additions:
        more = fraction_of(added[label]) > 0
        return f"holds an addition, which method {run.method.id} does not evaluate" if more else ""
    if fraction_of(dilution) != 1:
        return f"is diluted {dilution} times, and additions are entered for the solution measured"
    return "was read before in this run" if _read_before(run, place) else ""


def _read_before(run: Run, place: int) -> bool:
    labels = run.document.solutions.label
    return any(run.portion[at] == run.portion[place] and labels[at] == labels[place] for at in range(place))
