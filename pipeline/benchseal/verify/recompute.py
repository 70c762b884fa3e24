"""The calculation again, from the readings shown, by the functions the laboratory calculates with.

Solutions of other samples stay hidden: only their place is known, which is all that brackets need. What rests on
hidden solutions alone (checks made on them) cannot be calculated again and is left as it was signed.
"""

from __future__ import annotations

from dataclasses import fields
from itertools import accumulate
from typing import TYPE_CHECKING

from benchseal.compute.run_work import work_each
from benchseal.records.elements import element_name
from benchseal.records.known import Bench
from benchseal.records.results import CALCULATION_RULES, BelowLimit, NotReportable, Quantified, RunWork
from benchseal.records.run import (
    MeanColumns,
    ReadingColumns,
    Run,
    RunDocument,
    SolutionColumns,
)
from benchseal.records.species import stated_as
from benchseal.verify.contents import Doubt
from benchseal.verify.parts import portions_of, run_of
from benchseal.verify.sums import sum_differences

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.evidence import Evidence, EvidenceRun, LeafSolution
    from benchseal.records.manifest import ResultBasis
    from benchseal.records.results import CheckVerdict, Outcome, WorkedResult
    from benchseal.verify.contents import Case, Faults


def recalculation(case: Case) -> Faults:
    """Each run's curve, checks and results come out as the evidence states them."""
    evidence = case.evidence
    if evidence.calculation_rules != CALCULATION_RULES:
        yield Doubt(f"not calculated again: rules {evidence.calculation_rules}, here {CALCULATION_RULES}.")
        return
    yield from sum_differences(evidence)
    held = [(run_of(evidence, basis), basis) for basis in evidence.results]
    asked = [(run, [basis for holder, basis in held if holder is run]) for run in evidence.runs]
    for run, _ in asked:
        if run.method.signal_is == "instrument_concentration":
            yield Doubt(f"{run.run}: calibration not recomputable, the instrument gave concentrations.")
    asked = [pair for pair in asked if pair[0].method.signal_is != "instrument_concentration"]
    again = work_each([(rebuilt(run), bench_of(evidence, run, bases)) for run, bases in asked])
    for (run, bases), work in zip(asked, again, strict=True):
        if isinstance(work, RunWork):
            yield from (f"{run.run}: {fault}" for fault in _differences(bases, run, work))
        else:
            yield f"{run.run} cannot be calculated: {' '.join(problem.what for problem in work)}"


def rebuilt(run: EvidenceRun) -> Run:
    """The run as the evidence shows it; hidden solutions hold nothing but their place."""
    shown = {one.solution.position: one.solution for one in run.clear}
    positions = tuple(range(1, run.facts.solutions + 1))
    solutions = [shown.get(position) for position in positions]
    return Run(
        document=RunDocument(
            schema="run-document/1",
            source_name=run.run,  # the evidence names no file
            source_sha256=run.facts.source_sha256,
            source_bytes=0,
            layout=run.facts.layout,
            facts=run.facts.facts,
            solutions=_solutions(positions, solutions),
            readings=_readings([one for one in solutions if one is not None]),
            means=MeanColumns((), (), ()),
        ),
        method=run.method,
        method_ref=run.facts.method,
        instrument=run.facts.instrument,
        measured_at=run.facts.measured_at,
        portion=tuple((one.batch, one.portion) if one else ("", "") for one in solutions),
        hidden=tuple(one is None for one in solutions),
        standard_lots=run.facts.standard_lots,
        stored_curve=run.facts.stored_curve,
    )


def _solutions(positions: tuple[int, ...], solutions: Sequence[LeafSolution | None]) -> SolutionColumns:
    counts = tuple(len(one.readings) if one else 0 for one in solutions)
    return SolutionColumns(
        position=positions,
        label=tuple(one.label if one else "" for one in solutions),
        kind=tuple(one.kind if one else "sample" for one in solutions),
        nominal=tuple(one.nominal if one else "" for one in solutions),
        dilution=tuple(one.dilution if one else "1" for one in solutions),
        first_reading=tuple(accumulate(counts[:-1], initial=0)),
        reading_count=counts,
    )


def _readings(shown: Sequence[LeafSolution]) -> ReadingColumns:
    rows = [reading for solution in shown for reading in solution.readings]
    return ReadingColumns(
        signal=tuple(row.signal for row in rows),
        as_read=tuple(row.signal for row in rows),
        line=tuple(row.line for row in rows),
        column=(0,) * len(rows),
        replicate=tuple(row.replicate for row in rows),
        taken_at=tuple(row.taken_at for row in rows),
        background=tuple(row.background for row in rows),
        flag=tuple(row.flag for row in rows),
    )


def bench_of(evidence: Evidence, run: EvidenceRun, bases: Sequence[ResultBasis]) -> Bench:
    """What the solutions of one run are: portions it read, and those its results name though they were not read."""
    keys = {(one.solution.batch, one.solution.portion) for one in run.clear}
    keys |= {(row.batch, row.portion) for basis in bases for row in basis.result.portions}
    sample = evidence.certificate.sample
    return Bench(
        ledger=evidence.ledger,
        portions={key: portion for key, portion in portions_of(evidence).items() if key in keys},
        samples={sample.sample: sample},
        specifications={evidence.specification.id: (evidence.specification_ref, evidence.specification)},
        lots={lot.lot: lot for lot in evidence.standard_lots},
    )


def _differences(bases: Sequence[ResultBasis], run: EvidenceRun, work: RunWork) -> Iterator[str]:
    results = {result.result_id: result for result in work.results}
    for basis in bases:
        yield from _result_differences(basis.result, results.get(basis.result.result_id))
    if work.calibration != run.calibration:
        yield f"the calibration comes out otherwise ({_fields_that_differ(work.calibration, run.calibration)})."
    again, stated = _recomputable(work.checks, run), _recomputable(run.checks, run)
    for one in again:
        if one not in stated:
            yield f"check {one.rule} at {_places(one)} comes out as {one.verdict} ({one.found} {one.unit})."
    for one in stated:
        if one not in again:
            yield f"check {one.rule} at {_places(one)} is stated as {one.verdict} ({one.found} {one.unit})."


def _recomputable(checks: Sequence[CheckVerdict], run: EvidenceRun) -> list[CheckVerdict]:
    """Checks that rest on shown solutions only.

    That a check on samples was not read at all can be known only when no sample is hidden.
    """
    shown = {one.solution.position for one in run.clear}
    all_shown = len(shown) == run.facts.solutions
    return [
        check
        for check in checks
        if not check.made_on_sample or (set(check.positions) <= shown and (check.positions or all_shown))
    ]


def _result_differences(stated: WorkedResult, again: WorkedResult | None) -> Iterator[str]:
    on = stated_as(stated.basis, stated.expressed_as)
    name = f"{element_name(stated.element)}, {stated.quantity.replace('_', ' ')}{on}"
    if again is None:
        yield f"{name}: the readings give no such result."
    elif again.outcome != stated.outcome:
        yield f"{name}: stated is {_outcome(stated.outcome)}, the readings give {_outcome(again.outcome)}."
    elif again.verdict != stated.verdict:
        yield f"{name}: stated is {stated.verdict!r}, the readings give {again.verdict!r}."
    elif again != stated:
        yield f"{name} comes out otherwise ({_fields_that_differ(again, stated)})."


def _outcome(outcome: Outcome) -> str:
    match outcome:
        case Quantified():
            same = f"{outcome.value_text} ± {outcome.expanded_text}"
            return f"{same} (unrounded {outcome.value}, u {outcome.u})"
        case BelowLimit():
            return f"{outcome.value_text} (limit {outcome.limit})"
        case NotReportable():
            return f"no value: {outcome.why}"


def _places(check: CheckVerdict) -> str:
    return f"position {', '.join(map(str, check.positions))}" if check.positions else "no position"


def _fields_that_differ(one: object, other: object) -> str:
    names = [field.name for field in fields(one) if getattr(one, field.name) != getattr(other, field.name)]  # type: ignore[arg-type]
    return ", ".join(name.replace("_", " ") for name in names)
