"""Methods and samples to a run plan: a value that says everything, or every reason why none can be made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.planning.labels import one_tube_each, run_marks
from benchseal.planning.order import solutions_of
from benchseal.planning.portions import portions_of
from benchseal.planning.reminders import reminders_for
from benchseal.problems import Problem
from benchseal.records.plan import PlannedRun, RunPlan
from benchseal.records.quantities import plain, round_to_significant

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.planning.portions import Foreseen
    from benchseal.records.method import Method
    from benchseal.records.plan import PlannedSolution, PlanRow
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Calibration
    from benchseal.records.run import DocumentRef

_SHOWN_DIGITS = 3  # an expectation, not a value
OTHERWISE = "Write the order of such a run by hand; the rules judge it as any other."


@dataclass(frozen=True, slots=True)
class PastCurve:
    """The curve of a reviewed run of the same method: what its instrument read last."""

    run: str
    calibration: Calibration


@dataclass(frozen=True, slots=True)
class Asked:
    """What a plan is made from. number: of the plan; mark: begins its labels. curves: by method, where there is one.

    drawn_ml: by the instrument for one reading where the method injects none, or empty.
    """

    number: str
    mark: str
    batch: str
    methods: tuple[tuple[DocumentRef, Method], ...]
    rows: tuple[PlanRow, ...]
    curves: Mapping[str, PastCurve]
    drawn_ml: PlainDecimal = ""


def plan_of(asked: Asked) -> RunPlan | tuple[Problem, ...]:
    """The plan, or every Problem that keeps it from being made."""
    methods = [method for _, method in asked.methods]
    problems = (*_cannot(methods), *_no_use(methods, asked.rows))
    if problems:
        return problems
    foreseen = portions_of(methods, asked.rows, asked.mark, asked.batch)
    marks = run_marks(asked.mark, methods)
    runs = tuple(_run(asked, ref, method, foreseen, marks[method.id]) for ref, method in asked.methods)
    plan = RunPlan(
        schema="run-plan/1",
        plan=asked.number,
        batch=asked.batch,
        runs=runs,
        portions=tuple(one.portion for one in foreseen),
        reminders=reminders_for(methods),
        cautions=tuple(dict.fromkeys(line for method in methods for line in method.cautions)),
    )
    return tuple(one_tube_each(plan)) or plan


def _cannot(methods: Sequence[Method]) -> Iterator[Problem]:
    for method in methods:
        calibration = method.calibration
        if calibration.bracketing:
            what = "it reads each sample between two standards close around it, and nobody knows them beforehand."
            yield Problem("plan.bracketing", method.id, what, OTHERWISE)
        if calibration.additions == "required":
            what = (
                "it evaluates each portion by its own standard additions, whose size depends on what the sample holds."
            )
            yield Problem("plan.additions", method.id, what, OTHERWISE)


def _no_use(methods: Sequence[Method], rows: Sequence[PlanRow]) -> Iterator[Problem]:
    """Methods named by a row that are none of the plan, and methods no sample is measured by."""
    known = {method.id for method in methods}
    for row in rows:
        for name in row.methods:
            if name not in known:
                whom, plan = row.sample or row.kind.replace("_", " "), ", ".join(sorted(known))
                what = f"the sheet names it for {whom}; the plan has {plan}."
                yield Problem("plan.method-not-named", name, what, "Name it with --method, or correct the sheet.")
    samples = [row for row in rows if row.kind == "sample"]
    for method in methods:
        if not any(not row.methods or method.id in row.methods for row in samples):
            what = "no sample of the sheet is measured by it."
            yield Problem("plan.no-sample", method.id, what, "Leave the method out, or name a sample for it.")


def _run(asked: Asked, ref: DocumentRef, method: Method, foreseen: Sequence[Foreseen], mark: str) -> PlannedRun:
    curve = asked.curves.get(method.id)
    own = [one for one in foreseen if method.id in one.methods]
    return PlannedRun(
        method=ref,
        title=method.title,
        element=method.element,
        technique=method.technique,
        solution_unit=method.solution_unit,
        signal_unit=method.signal_unit,
        readings=method.replicates.count,
        acid=method.conditions.acid,
        acid_percent=method.conditions.acid_percent,
        drawn_ml=_injected_ml(method) or asked.drawn_ml,  # one volume is asked for, of all methods together
        expected_from=curve.run if curve else "",
        solutions=tuple(_expected(one, curve) for one in solutions_of(method, own, mark)),
        not_planned=tuple(_left_out(method, own)),
    )


def _injected_ml(method: Method) -> PlainDecimal:
    """What a furnace takes for one reading, of the method; nothing where the method does not say."""
    volume = method.conditions.injection_ul
    return plain((Decimal(volume) / 1000).normalize()) if volume else ""


def _expected(one: PlannedSolution, curve: PastCurve | None) -> PlannedSolution:
    """The solution with the signal its concentration had on the last reviewed curve, or why it has none."""
    if not one.concentration:
        return replace(one, not_known="what it holds is to be measured")
    if curve is None:
        return replace(one, not_known="no reviewed run of this method")
    held = Decimal(one.concentration)
    if held > Decimal(curve.calibration.highest):
        return replace(one, not_known=f"above the curve of {curve.run}")
    return replace(one, signal=_signal(curve.calibration, held))


def _signal(calibration: Calibration, held: Decimal) -> PlainDecimal:
    """Ordinate of the curve; a line through zero has its slope alone."""
    terms = [Decimal(text) for text in calibration.coefficients]
    total = Decimal(0)
    for term in reversed(terms if len(terms) > 1 else [Decimal(0), *terms]):
        total = total * held + term
    return plain(round_to_significant(total, _SHOWN_DIGITS, "half_even")) if total else "0"


def _left_out(method: Method, own: Sequence[Foreseen]) -> Iterator[str]:
    """Rules of the method that nothing of the plan is read for, in words."""
    kinds = {one.portion.kind for one in own}
    for rule in method.checks:
        if rule.check == "reference_material" and "reference_material" not in kinds:
            yield f"{rule.id}: no reference material is named"
        if rule.check in {"spike", "spikes_agree"} and "spiked_sample" not in kinds:
            yield f"{rule.id}: the sheet asks for no spiked portion"
