"""What the runs of a plan take from each tube, added over the methods, held against what it is made up to."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING

from benchseal.planning.labels import by_label, fits
from benchseal.records.quantities import PlainDecimal, plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.plan import PlannedRun, PlannedSolution, RunPlan
    from benchseal.records.preparation import Portion

_ONCE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Taken:
    """One solution and what is taken from it. what: which solution of the tube; by: volume in mL of each method.

    total_ml: their sum. made_up_ml: what there is of it, empty where the plan does not say.
    """

    label: str
    what: str
    by: tuple[tuple[str, PlainDecimal], ...]
    total_ml: PlainDecimal
    made_up_ml: PlainDecimal

    @property
    def short(self) -> bool:
        """Whether more is taken than there is."""
        return bool(self.made_up_ml) and Decimal(self.total_ml) > Decimal(self.made_up_ml)

    @property
    def words(self) -> str:
        """The remark on a tube that holds too little."""
        each = ", ".join(f"{method} {volume}" for method, volume in self.by)
        return f"{self.label}, {self.what}: made up to {self.made_up_ml} mL; {self.total_ml} mL are taken ({each})."


def taken_of(plan: RunPlan) -> tuple[Taken, ...]:
    """Every solution several runs draw from, and every one of which more is taken than is made up.

    Counted is what the instrument draws, and of a solution that is diluted the aliquot of the first step, once for each
    element. Not counted: what tubes keep and samplers waste, and what a post-spiked portion takes of another tube.
    """
    every = [*(one for portion in plan.portions for one in _of_portion(plan, portion)), *_own(plan)]
    return tuple(one for one in every if len(one.by) > 1 or one.short)


def _of_portion(plan: RunPlan, portion: Portion) -> Iterator[Taken]:
    """The solution made up, then each solution that is diluted from it."""
    digest: list[tuple[str, Decimal]] = []
    diluted: list[Taken] = []
    aliquots: dict[str, str] = {}
    by_element: dict[str, list[tuple[str, Decimal]]] = {}
    for run in plan.runs:
        own = [one for one in run.solutions if one.batch == portion.batch and one.label == portion.portion]
        drawn = _drawn(run, own)
        steps = portion.dilutions.get(run.element, ())
        if not own:
            continue
        if not steps:
            if drawn is not None:
                digest.append((run.method.id, drawn))
            continue
        if run.element not in aliquots:  # two methods for one element read the same diluted solution
            aliquots[run.element] = steps[0].aliquot_ml
            digest.append((f"{run.element} diluted", Decimal(steps[0].aliquot_ml)))
            diluted += _between(portion, run.element)
        if drawn is not None:
            by_element.setdefault(run.element, []).append((run.method.id, drawn))
    if digest:
        yield _taken(portion.portion, "the solution made up", digest, portion.volume_ml)
    yield from diluted
    for element, taken in by_element.items():
        last = portion.dilutions[element][-1].final_ml
        yield _taken(portion.portion, f"diluted for {element}", taken, last)


def _between(portion: Portion, element: str) -> Iterator[Taken]:
    """Solutions between two dilution steps, of which the later one takes its aliquot."""
    steps = portion.dilutions[element]
    for nth, (before, after) in enumerate(pairwise(steps), start=1):
        what = f"step {nth} for {element}"
        yield _taken(portion.portion, what, [(f"step {nth + 1}", Decimal(after.aliquot_ml))], before.final_ml)


def _own(plan: RunPlan) -> Iterator[Taken]:
    """Solutions of the laboratory's own that one tube holds for several runs, such as a mixed standard."""
    for label, places in by_label(plan).items():
        if not fits(places):
            continue  # of a plan of an earlier version: several tubes with one label
        drawn = [
            (run.method.id, _drawn(run, [one for each, one in places if each is run]))
            for run in plan.runs
            if any(each is run for each, _ in places)
        ]
        known = [(method, volume) for method, volume in drawn if volume is not None]
        if known:
            yield _taken(label, places[0][1].kind.replace("_", " "), known, "")


def _drawn(run: PlannedRun, own: Sequence[PlannedSolution]) -> Decimal | None:
    """What all readings take, mL; a part of it where it is diluted at the instrument. None where nobody stated it."""
    if not run.drawn_ml:
        return None
    share = sum((_ONCE / Decimal(one.dilution or "1") for one in own), Decimal(0))
    return Decimal(run.drawn_ml) * run.readings * share


def _taken(label: str, what: str, by: Sequence[tuple[str, Decimal]], made_up_ml: str) -> Taken:
    total = sum((volume for _, volume in by), Decimal(0))
    return Taken(label, what, tuple((name, _ml(volume)) for name, volume in by), _ml(total), made_up_ml)


def _ml(volume: Decimal) -> PlainDecimal:
    return plain(volume.normalize())
