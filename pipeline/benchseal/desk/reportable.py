"""Which results of a lot may be reported once investigations are on record, and what a certificate has to say of them.

Held while open. Afterwards an invalidated original is not reported, a confirmed or inconclusive one is the result of
record, and whatever else was read in an investigation is never reported by itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeAlias

from benchseal.desk.cases import EXCEEDS, Case, case_of, line_of, result_digest, rows_about, sum_line
from benchseal.desk.reading import load
from benchseal.problems import Refusal, Stopped
from benchseal.records.elements import element_name
from benchseal.records.evidence import Evidence
from benchseal.records.investigation import CONFIRMED, INCONCLUSIVE, INVALIDATED
from benchseal.records.results import WorkedResult
from benchseal.records.shape import record_digest
from benchseal.records.sums import WorkedSum

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.store.protocol import Reading, Row

Line: TypeAlias = WorkedResult | WorkedSum
_STAYS: Final = frozenset({CONFIRMED, INCONCLUSIVE})
_KINDS: Final = {
    "earlier": "an earlier result",
    "hypothesis": "a hypothesis reading",
    "retest": "a retest",
    "resample": "a result of a resample",
    "unplanned": "an unplanned repeat",
}


def held(view: Reading, sample: Row) -> list[Refusal]:
    """What holds the lot of a sample, whichever of its samples it was found in, and who can lift it."""
    return [
        Refusal(
            "certificate.held",
            f"lot {sample['lot']}, {hold['element']}",
            f"held: {hold['why']}",
            f"{hold['investigation']} waits for {case_of(view, hold['investigation']).waits_for}; "
            f"see `benchseal investigation show {hold['investigation']}`.",
        )
        for hold in rows_about(view, "hold", sample, is_open=1)
    ]


def held_elements(view: Reading, sample: Row) -> dict[str, str]:
    """Element, or sum, to why it is held for the lot of a sample."""
    return {hold["element"]: hold["why"] for hold in rows_about(view, "hold", sample, is_open=1)}


def settled_sums(view: Reading, sample: Row) -> frozenset[str]:
    """Names of sums outside their limit that an investigation ended with: they are printed as what they are."""
    rows = view.rows("investigation", sample=sample["sample"], state="closed")
    return frozenset(
        row["line"].removeprefix("sum ") for row in rows if row["line"].startswith("sum ") and row["outcome"] in _STAYS
    )


def answered_sums(view: Reading, sample: Row) -> frozenset[str]:
    """Names of sums an investigation answers for: open, and so held, or settled."""
    held_now = (name.removeprefix("sum ") for name in held_elements(view, sample) if name.startswith("sum "))
    return settled_sums(view, sample) | frozenset(held_now)


def sum_contradictions(view: Reading, sample: Row, sums: Iterable[WorkedSum]) -> list[Refusal]:
    """Sums that would be printed as complying although an investigation let their exceedance stand."""
    settled = settled_sums(view, sample)
    where = f"lot {sample['lot']}, sum"
    remedy = "No certificate turns it into one that complies."
    return [
        Refusal(
            "certificate.exceedance-stands",
            f"{where} {one.name}",
            f"its investigation let the exceedance stand; the sum to be printed is judged {one.verdict}.",
            remedy,
        )
        for one in sums
        if one.name in settled and one.verdict not in EXCEEDS
    ]


def apart(view: Reading, run: str, result: WorkedResult) -> str:
    """Why a result is not reported whatever it says; empty for one that may be."""
    marks = _marks(view, run, result)
    if any(stays(mark, case) for mark, case in marks):
        return ""
    for mark, case in marks:
        if mark["kind"] in _KINDS:
            return f"{run} is {_KINDS[mark['kind']]} under {case['investigation']}"
        set_aside = result_digest(result) in {mark["result"], mark["set_aside"]}
        if mark["kind"] == "original" and case["outcome"] == INVALIDATED and set_aside:
            return f"{run} was set aside under {case['investigation']}"
    return ""


def of_record(view: Reading, run: str, result: WorkedResult) -> bool:
    """Whether a result is an exceedance that was confirmed, or that nothing explained."""
    return any(stays(mark, case) for mark, case in _marks(view, run, result))


def stays(mark: Row, case: Row) -> bool:
    """Whether a result of a case is its original, and the case ended without setting it aside."""
    return mark["kind"] == "original" and case["outcome"] in _STAYS


def _marks(view: Reading, run: str, result: WorkedResult) -> list[tuple[Row, Row]]:
    found = []
    for mark in view.rows("investigation_result", run=run, result_id=result.result_id):
        case = view.row("investigation", investigation=mark["investigation"])
        if case is not None and case["means"] == "investigate":
            found.append((mark, case))
    return found


def contradictions(view: Reading, sample: Row, served: Iterable[tuple[str, WorkedResult]]) -> list[Refusal]:
    """Results a certificate would print although an exceedance of their line stands, or that are never reported."""
    refusals = []
    for run, result in served:
        where = f"lot {sample['lot']}, {result.element}"
        if words := apart(view, run, result):
            refusals.append(retests_only(where, [words]))
            continue
        for case in _ended(view, sample["sample"], result):
            if case.row["outcome"] in _STAYS and result.verdict not in EXCEEDS:
                what = f"{case.name} ended {case.row['outcome']}; the result to be printed is judged {result.verdict}."
                remedy = "No certificate turns it into one that complies. The original is the result of record."
                refusals.append(Refusal("certificate.exceedance-stands", where, what, remedy))
    return refusals


def retests_only(where: str, whys: Sequence[str]) -> Refusal:
    """Nothing is left to report but results that are never reported by themselves."""
    what = f"{'; '.join(dict.fromkeys(whys))}; such a result is never reported by itself."
    remedy = "The original is reported, or after an accepted cause its planned repeat."
    return Refusal("certificate.retests-only", where, what, remedy)


def sentences(view: Reading, sample: Row, served: Iterable[Line]) -> tuple[str, ...]:
    """What the certificate says where an investigation lies behind a result. No number of it: that stays inside."""
    said: dict[str, None] = {}
    for result in served:
        for case in _ended(view, sample["sample"], result):
            said[_sentence(case, _name(result))] = None
    return tuple(said)


def _name(result: Line) -> str:
    if isinstance(result, WorkedSum):
        return f"the sum of {' and '.join(element_name(one) for one in result.elements)}"
    return element_name(result.element)


def _sentence(case: Case, name: str) -> str:
    more = sum(one["kind"] in {"earlier", "retest", "resample", "unplanned"} for one in case.results)
    name = name[:1].upper() + name[1:]
    if case.row["outcome"] == INVALIDATED:
        return (
            f"{name}: an earlier result was outside its limit and was set aside for a laboratory error that was found "
            "and documented; the result given here replaces it."
        )
    found = "was confirmed" if case.row["outcome"] == CONFIRMED else "was neither confirmed nor explained"
    others = (
        "no further measurement was made"
        if more == 0
        else f"{more} further measurement{'s were' if more > 1 else ' was'} made and "
        f"{'do' if more > 1 else 'does'} not replace it"
    )
    return f"{name}: the result given here is outside its limit. It was investigated and {found}; {others}."


def _ended(view: Reading, sample: str, result: Line) -> list[Case]:
    """Closed investigations of a sample's line."""
    line = sum_line(result.name) if isinstance(result, WorkedSum) else line_of(result)
    rows = view.rows("investigation", sample=sample, line=line, state="closed", means="investigate")
    return [case_of(view, row["investigation"]) for row in rows]


def require_still_reportable(view: Reading, certificate: Row) -> None:
    """Before a certificate is signed: nothing of its lot is held, and its results may still be reported. Stopped."""
    sample = view.row("sample", sample=certificate["sample"])
    if sample is None:
        raise AssertionError("a certificate is of a registered sample")
    refusals = held(view, sample)
    if not refusals and rows_about(view, "investigation", sample):
        content = load(view, Evidence, certificate["content"])
        refusals = [
            *contradictions(view, sample, _printed(content)),
            *sum_contradictions(view, sample, content.sums),
        ]
    if refusals:
        raise Stopped(*refusals)


def _printed(content: Evidence) -> list[tuple[str, WorkedResult]]:
    """The results of a certificate, each with its run."""
    runs = {name: run.run for run in content.runs for name in run.manifest.results}
    return [(runs[record_digest(basis)], basis.result) for basis in content.results]
