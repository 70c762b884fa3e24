"""The sums a specification asks for, made of the results a certificate draws on, and what they put in its way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.sums import Addend, worked_sum
from benchseal.desk.reading import load
from benchseal.problems import Refusal
from benchseal.records.results import NotReportable
from benchseal.records.run import Run

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from benchseal.records.results import WorkedResult
    from benchseal.records.run import DocumentRef
    from benchseal.records.specification import Specification
    from benchseal.records.sums import WorkedSum
    from benchseal.store.protocol import Reading


def sums_of(
    view: Reading,
    sample: str,
    ref: DocumentRef,
    specification: Specification,
    results: Sequence[tuple[str, WorkedResult]],
) -> tuple[WorkedSum, ...]:
    """Every sum of the specification, from the reviewed results found, each with its run; those lacking take theirs."""
    if not specification.sums:
        return ()
    ledger = str(view.rows("site")[0]["ledger"])
    addends = [Addend(result, _factor(view, run)) for run, result in results]
    return tuple(worked_sum(ledger, sample, asked, ref, addends) for asked in specification.sums)


def sum_refusals(lot: str, sums: Sequence[WorkedSum], comment: str, settled: Collection[str] = ()) -> Iterator[Refusal]:
    """What keeps a certificate back because of its sums. settled: names of those an investigation let stand."""
    for one in sums:
        where = f"lot {lot}, sum {one.name}"
        if isinstance(one.outcome, NotReportable):
            what = f"not determined: {one.outcome.why}"
            yield Refusal("certificate.no-sum", where, what, "Settle what keeps its parts back.")
        elif one.verdict == "fail" and one.exceedance_means == "investigate" and one.name not in settled:
            what = (
                f"the sum of {' and '.join(one.elements)} is outside its limit; the specification asks to investigate."
            )
            remedy = "An investigation has to explain it; it is opened when the last of its parts is reviewed."
            yield Refusal("certificate.sum-held", where, what, remedy)
        elif one.comment_required and not comment.strip():
            remedy = "Weigh it, then draft with --comment."
            yield Refusal("certificate.comment-required", where, one.comment_required, remedy)


def sum_lines(sums: Sequence[WorkedSum]) -> Iterator[str]:
    """Each sum as it is worked, in one line: ``sum pb-cd (upper bound), ug/g: Pb 0.30 + Cd 0.05 (below) = 0.35``."""
    for one in sums:
        parts = " + ".join(f"{part.element} {part.counted}{' (below)' if part.is_below else ''}" for part in one.parts)
        words = {"pass": "complies", "fail": "does not comply"}.get(one.verdict, one.verdict)
        verdict = words if one.upper else "no limit"
        text = "" if isinstance(one.outcome, NotReportable) else one.outcome.value_text
        yield f"sum {one.name} ({one.bound.replace('_', ' ')}), {one.unit}: {parts} = {text}; {verdict}"


def _factor(view: Reading, run: str) -> str:
    """The coverage factor of the method a reviewed run was calculated by."""
    row = view.row("run", run=run)
    if row is None:
        raise AssertionError(f"{run} was found a moment ago")
    return load(view, Run, row["reviewed_bound"]).method.uncertainty.coverage_factor
