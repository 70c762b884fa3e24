"""The tubes of a plan: what stands on each label, and how much of each solution the runs take."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.planning.labels import by_label, fits
from benchseal.records.quantities import PlainDecimal, plain, unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.planning.labels import Place
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

    A standard that holds elements of two runs is one tube. In a plan of an earlier version checks of two runs may have
    one label and be two tubes: see ``shared_labels``.
    """
    prepared = [
        Tube(one.portion, f"{_words(one.kind)} {one.sample}".strip(), f"{plan.batch} · {' '.join(one.elements)}")
        for one in plan.portions
    ]
    return (*prepared, *(tube for places in by_label(plan).values() for tube in _own(plan, places)))


def shared_labels(tubes: Iterable[Tube]) -> tuple[str, ...]:
    """Labels that stand on more than one of these tubes."""
    return tuple(label for label, count in Counter(tube.label for tube in tubes).items() if count > 1)


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


def _own(plan: RunPlan, places: Sequence[Place]) -> Iterator[Tube]:
    """The tube of a label; each of them where one tube cannot be all that the label stands for."""
    if not fits(places):
        yield from dict.fromkeys(tube for each in places for tube in _own(plan, [each]))
        return
    held = dict.fromkeys((run.element, one.concentration, unit_shown(run.solution_unit)) for run, one in places)
    elements = list(dict.fromkeys(element for element, _, _ in held))
    kind = places[0][1].kind
    mixed = len(elements) > 1
    holds = ", ".join(f"{f'{element} ' if mixed else ''}{amount} {unit}" for element, amount, unit in held)
    what = f"{_words(kind)} {holds}" if kind != "rinse" else _words(kind)
    yield Tube(places[0][1].label, what, f"{plan.plan} · {' '.join(elements)}")


def _words(kind: str) -> str:
    return kind.replace("_", " ")
