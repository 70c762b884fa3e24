"""Sums outside their limit: looked at when a review completes their parts, since no run alone makes one.

A sum has no readings of its own. So nothing is measured again for it: its parts are looked at, an error in one is
corrected there, and without one the sum stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal.desk.cases import ENDED, EXCEEDS, case_of, sum_line
from benchseal.desk.gathering import sums_now
from benchseal.desk.runs import accept_runs
from benchseal.records.ids import investigation_number
from benchseal.records.investigation import CONFIRMED, INCONCLUSIVE
from benchseal.records.shape import record_digest

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.acting import Acting, Receipt
    from benchseal.desk.acts_runs import AcceptRuns
    from benchseal.records.canonical import Json
    from benchseal.records.sums import WorkedSum
    from benchseal.store.protocol import Row


@dataclass(frozen=True, slots=True)
class _Outside:
    """A sum outside its limit, its sample, and the runs of its parts."""

    sample: Row
    worked: WorkedSum
    runs: tuple[str, ...]


def accept_and_note(acting: Acting, act: AcceptRuns) -> Receipt:
    """Sign runs as reviewed; a sum that now lies outside its limit opens what its line asks for."""
    done = accept_runs(acting, act)
    said = [_open(acting, one) for one in _outside(acting, act.runs) if not _known(acting, one)]
    return replace(done, said=(*done.said, *said)) if said else done


def _outside(acting: Acting, runs: Sequence[str]) -> Iterator[_Outside]:
    samples = dict.fromkeys(row["sample"] for run in runs for row in acting.tx.rows("result", run=run))
    for name in samples:
        sample = acting.tx.row("sample", sample=name)
        if sample is None:
            raise AssertionError("a result is of a registered sample")
        for worked, parts in sums_now(acting.tx, sample):
            if worked.verdict in EXCEEDS and worked.exceedance_means != "report":
                yield _Outside(sample, worked, parts)


def _known(acting: Acting, one: _Outside) -> bool:
    """Whether a case of this sum is open, stands, or is a notice of just this value."""
    name = record_digest(one.worked)
    for row in acting.tx.rows("investigation", sample=one.sample["sample"], line=sum_line(one.worked.name)):
        same = any(mark["result"] == name for mark in case_of(acting.tx, row["investigation"]).results)
        if (
            row["state"] not in ENDED
            or row["outcome"] in {CONFIRMED, INCONCLUSIVE}
            or (row["state"] == "told" and same)
        ):
            return True
    return False


def _open(acting: Acting, one: _Outside) -> str:
    """A new case; each run of a part is named with it, so that none is cancelled away."""
    count = acting.count("investigation")
    name, worked, first = investigation_number(count), one.worked, acting.tx.row("run", run=one.runs[0])
    if first is None:
        raise AssertionError("the run was reviewed a moment ago")
    originals = [_original(acting, one, run) for run in one.runs]
    label = f"sum {worked.name}"
    facts: dict[str, Json] = {
        "count": count,
        "means": worked.exceedance_means,
        "state": "open" if worked.exceedance_means == "investigate" else "to tell",
        **{each: one.sample[each] for each in ("sample", "lot", "customer")},
        "element": label,
        "line": sum_line(worked.name),
        "run": one.runs[0],
        "result_id": worked.sum_id,
        "limit_text": f"at most {worked.upper}",
        "unit": worked.unit,
        "why": f"{label} is outside its limit ({', '.join(one.runs)}); {name} is to explain it.",
        "original": originals[0],
    }
    digests = {"work": first["reviewed_work"], "bound": first["reviewed_bound"]}
    acting.write("investigation.opened", f"investigation/{name}", facts=facts, digests=digests)
    for original in originals[1:]:
        acting.write("investigation.result", f"investigation/{name}", facts=original)
    what = f"{label} of lot {one.sample['lot']} is outside its limit"
    if worked.exceedance_means == "investigate":
        return f"{name} is opened: {what} and held"
    return f"{name}: {what}; tell the customer at once, then run `benchseal investigation notified {name}`"


def _original(acting: Acting, one: _Outside, run: str) -> dict[str, Json]:
    row = acting.tx.row("run", run=run)
    outcome = one.worked.outcome
    return {
        "run": run,
        "result_id": one.worked.sum_id,
        "sample": one.sample["sample"],
        "kind": "original",
        "plan": "",
        "why": "",
        "result": record_digest(one.worked),
        "value_text": "" if outcome.kind == "not_reportable" else outcome.value_text,
        "expanded_text": outcome.expanded_text if outcome.kind == "quantified" else "",
        "verdict": one.worked.verdict,
        "analyst": "",
        "measured_at": row["measured_at"] if row is not None else "",
    }
