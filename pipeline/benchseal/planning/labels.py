"""Labels of a plan: each belongs to one tube, and what one tube cannot hold has no label in common."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

from benchseal.problems import Problem
from benchseal.records.quantities import unit_factor, unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.method import Method
    from benchseal.records.plan import PlannedRun, PlannedSolution, RunPlan

_STANDARDS = {"calibration_blank", "standard"}
Place: TypeAlias = "tuple[PlannedRun, PlannedSolution]"


def run_marks(plan: str, methods: Sequence[Method]) -> dict[str, str]:
    """What begins the labels of each method's checks: the plan; with the element where it has several methods.

    Of several methods for one element each has its number too, in the order they were named.
    """
    if len(methods) == 1:
        return {methods[0].id: plan}
    of = Counter(method.element for method in methods)
    nth: Counter[str] = Counter()
    marks = {}
    for method in methods:
        nth[method.element] += 1
        marks[method.id] = f"{plan}-{method.element}{nth[method.element] if of[method.element] > 1 else ''}"
    return marks


def by_label(plan: RunPlan) -> dict[str, list[Place]]:
    """Every reading of the laboratory's own solutions with its run, by label, in the order they are read."""
    found: dict[str, list[Place]] = {}
    for run in plan.runs:
        for one in run.solutions:
            if not one.batch:
                found.setdefault(one.label, []).append((run, one))
    return found


def fits(places: Sequence[Place]) -> bool:
    """Whether one tube can be what a label stands for: one kind, one acid, one concentration of each element.

    Only standards may hold several elements: a mixed standard. Checks of two methods are two tubes.
    """
    held: dict[str, set[Fraction]] = {}
    for run, one in places:
        amount = Fraction(one.concentration or 0) * unit_factor(run.solution_unit, "mg/L")
        held.setdefault(run.element, set()).add(amount)
    kinds = {one.kind for _, one in places}
    acids = {(run.acid, Fraction(run.acid_percent or 0)) for run, _ in places}
    mixed = len(held) == 1 or kinds <= _STANDARDS
    return mixed and len(kinds) == len(acids) == 1 and all(len(amounts) == 1 for amounts in held.values())


def one_tube_each(plan: RunPlan) -> Iterator[Problem]:
    """Labels that would stand for two tubes: of standards of two methods, or of a standard called like a portion.

    Two elements under one label of standards are one tube, a mixed standard.
    """
    portions = {one.portion for one in plan.portions}
    for label, places in by_label(plan).items():
        named = "; ".join(dict.fromkeys(_words(*each) for each in places))
        if label in portions:
            what = f"the plan gives it to a portion, and it is {named}."
        elif not fits(places):
            what = f"one tube cannot be all of this: {named}."
        else:
            continue
        remedy = "Make a plan for each method, or give the standards other labels in a new version of a method."
        yield Problem("plan.label-twice", label, what, remedy)


def _words(run: PlannedRun, one: PlannedSolution) -> str:
    acid = f" in {run.acid_percent} % acid" if run.acid_percent else ""
    held = f"{run.element} {one.concentration} {unit_shown(run.solution_unit)}{acid}"
    return f"{one.kind.replace('_', ' ')} of {held}, by {run.method.id}"
