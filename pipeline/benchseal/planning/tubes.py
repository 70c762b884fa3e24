"""The tubes of a plan: what stands on each label, and how much of each solution the runs take."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.records.quantities import PlainDecimal, plain, unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.plan import PlannedRun, PlannedSolution, RunPlan
    from benchseal.records.run import SolutionKind


@dataclass(frozen=True, slots=True)
class Tube:
    """One label: the code a file names the solution by, and two lines under it."""

    label: str
    what: str
    of: str


@dataclass(frozen=True, slots=True)
class Ready:
    """A solution to have ready for one run. times: read; least_ml: taken by all its readings, empty if not known."""

    label: str
    kind: SolutionKind
    concentration: PlainDecimal
    times: int
    least_ml: PlainDecimal


def tubes_of(plan: RunPlan) -> tuple[Tube, ...]:
    """A tube for each portion, then one for each of the laboratory's own solutions of each run, in reading order.

    Solutions of two runs may have one label; each has its tube.
    """
    prepared = [
        Tube(one.portion, f"{_words(one.kind)} {one.sample}".strip(), f"{plan.batch} · {' '.join(one.elements)}")
        for one in plan.portions
    ]
    own = [tube for run in plan.runs for tube in _own(plan, run)]
    return (*prepared, *dict.fromkeys(own))


def ready_of(run: PlannedRun) -> tuple[Ready, ...]:
    """Each of a run's solutions once, in the order of its first reading."""
    rows: dict[str, list[PlannedSolution]] = {}
    for one in run.solutions:
        rows.setdefault(one.label, []).append(one)
    return tuple(
        Ready(label, own[0].kind, own[0].concentration, len(own), _least_ml(run, own)) for label, own in rows.items()
    )


def _least_ml(run: PlannedRun, own: list[PlannedSolution]) -> PlainDecimal:
    if not run.drawn_ml:
        return ""
    return plain((Decimal(run.drawn_ml) * run.readings * len(own)).normalize())


def _own(plan: RunPlan, run: PlannedRun) -> Iterator[Tube]:
    for one in run.solutions:
        if not one.batch:
            holds = f" {one.concentration} {unit_shown(run.solution_unit)}" if one.kind != "rinse" else ""
            yield Tube(one.label, f"{_words(one.kind)}{holds}", f"{plan.plan} · {run.element}")


def _words(kind: str) -> str:
    return kind.replace("_", " ")
