"""Results outside their limit: what a calculation opens by itself, and what a further result of the same lot is.

Called by the acts that calculate, in their transaction: nobody chooses whether an investigation is opened. 21 CFR
211.192; FDA guidance on out-of-specification results, III.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from benchseal.desk.cases import ENDED, EXCEEDS, Case, case_of, line_of, planned, registered_at, result_digest
from benchseal.desk.instrument_time import corrected
from benchseal.identity.names import person_id
from benchseal.problems import Finding, Notice
from benchseal.records.ids import investigation_number
from benchseal.records.people import Role
from benchseal.review.repeats import Classed, Measured, classify

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.desk.acting import Acting
    from benchseal.records.canonical import Json
    from benchseal.records.results import RunWork, WorkedResult
    from benchseal.records.run import Run
    from benchseal.store.protocol import Reading, Row

_SET_ASIDE: Final = frozenset({"invalidated", "repeat planned", "closed"})


@dataclass(frozen=True, slots=True)
class Noted:
    """What to say of a calculation's results: lines, and findings."""

    said: tuple[str, ...] = ()
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True)
class _New:
    """One result just calculated, and whose it is. cases: of its lot and line, oldest first."""

    run: str
    result: WorkedResult
    sample: Row
    measured: Measured
    cases: tuple[Case, ...]

    def mark(self, case: Case) -> Row | None:
        """Its row in a case, if it has one."""
        key = (self.run, self.result.result_id)
        return next((one for one in case.results if (one["run"], one["result_id"]) == key), None)


def operator_of(view: Reading, run: Run) -> str:
    """The person the file names as operator, where it names somebody enrolled: who measured never reviews."""
    person = person_id(run.document.facts.operator)
    return person if isinstance(person, str) and view.row("person", person=person) is not None else ""


def note_results(acting: Acting, number: str, run: Run, work: RunWork) -> Noted:
    """Open what has to be opened and say what each further result is. Once for each calculation of a run."""
    tx = acting.tx
    rows = tx.rows("investigation", element=run.method.element)
    said: list[str] = []
    notices: list[Notice] = []
    for result in work.results:
        outside = result.verdict in EXCEEDS and result.exceedance_means != "report"
        means = result.exceedance_means
        if not rows and not outside:
            continue
        sample = tx.row("sample", sample=result.sample)
        if sample is None:
            raise AssertionError("a result is of a registered sample")
        cases = _cases(tx, rows, sample, result, "investigate")
        new = _New(number, result, sample, _measured(tx, number, run, result), cases)
        if means == "notify" and outside:
            said += _notice(acting, replace(new, cases=_cases(tx, rows, sample, result, means)))
        found = _investigated(acting, new, outside=outside and means == "investigate")
        said += found.said
        notices += found.notices
        if found.said and outside:
            rows = tx.rows("investigation", element=run.method.element)
    return Noted(tuple(said), tuple(notices))


def to_open(view: Reading, number: str, run: Run, work: RunWork) -> Iterator[WorkedResult]:
    """Results of a calculation not yet on record for which ``note_results`` would open an investigation and hold."""
    rows = view.rows("investigation", element=run.method.element)
    for result in work.results:
        sample = view.row("sample", sample=result.sample)
        if sample is None or result.verdict not in EXCEEDS or result.exceedance_means != "investigate":
            continue
        cases = _cases(view, rows, sample, result, "investigate")
        new = _New(number, result, sample, _measured(view, number, run, result), cases)
        if not _placed(view, new, [case for case in cases if case.state not in ENDED])[1]:
            yield result


def _cases(view: Reading, rows: Sequence[Row], sample: Row, result: WorkedResult, means: str) -> tuple[Case, ...]:
    """Cases of a result's lot and line, whatever the specification says of an exceedance by now."""
    wanted, line = (sample["lot"], sample["customer"]), (line_of(result), means)
    return tuple(
        case_of(view, row["investigation"])
        for row in rows
        if (row["line"], row["means"]) == line
        and (row["sample"] == sample["sample"] or (row["lot"], row["customer"]) == wanted)
    )


def _measured(view: Reading, number: str, run: Run, result: WorkedResult) -> Measured:
    analyst = operator_of(view, run)
    if not analyst:
        people = [row["person"] for row in view.rows("contribution", subject=f"run/{number}", act="operate")]
        analysts = [one for one in people if view.row("role", person=one, role=Role.ANALYST.value) is not None]
        analyst = analysts[0] if len(analysts) == 1 else ""
    return Measured(result.sample, analyst, corrected(view, run.instrument, run.measured_at))


def _notice(acting: Acting, new: _New) -> list[str]:
    """The customer is told at once; nothing is held. One notice for each calculation's result."""
    if any(new.mark(case) is not None for case in new.cases):
        return []
    name = _open(acting, new, "to tell")
    what = f"{new.result.element} of lot {new.sample['lot']} is outside its limit"
    return [f"  {name}: {what}; tell the customer at once, then run `benchseal investigation notified {name}`"]


def _investigated(acting: Acting, new: _New, *, outside: bool) -> Noted:
    """An investigation is opened, or the result joins one, or it is nothing to any."""
    open_ones = [case for case in new.cases if case.state not in ENDED]
    classed, covered = _placed(acting.tx, new, open_ones)
    notices = () if classed is None else _join(acting, new, open_ones[-1], classed)
    if outside and not covered:
        name = _open(acting, new, "open")
        words = f"  {name} is opened: {new.result.element} of lot {new.sample['lot']} is outside its limit and held"
        return Noted((words,), notices)
    after = new.cases and not open_ones and not outside and not _known(new)
    if after and not _own_test(acting.tx, new, new.cases[-1]):
        last = new.cases[-1]
        notices = _join(acting, new, last, classify(last.state, (), new.measured))
    return Noted((), notices)


def _placed(view: Reading, new: _New, open_ones: Sequence[Case]) -> tuple[Classed | None, bool]:
    """What a result new to the open case of its lot and line is there, and whether some case answers for it."""
    if not open_ones or _known(new) or _own_test(view, new, open_ones[-1]):
        return None, _covered(new)
    classed = classify(open_ones[-1].state, planned(view, open_ones[-1]), new.measured)
    return classed, classed.kind != "repeat" and open_ones[-1].state not in _SET_ASIDE


def _known(new: _New) -> bool:
    return any(new.mark(case) is not None for case in new.cases)


def _own_test(view: Reading, new: _New, case: Case) -> bool:
    """Another sample of the lot that came before anybody knew of the exceedance: its own test, held all the same."""
    return (
        new.result.sample != case.row["sample"]
        and registered_at(view, new.sample) < case.row["opened_at"]
        and not any(plan["sample"] == new.result.sample for plan in case.plans)
    )


def _covered(new: _New) -> bool:
    """Whether an investigation already answers for this result outside its limit."""
    now = result_digest(new.result)
    for case in new.cases:
        mark = new.mark(case)
        if mark is None or mark["kind"] == "repeat":
            continue
        if mark["kind"] == "original":
            stays = now in {mark["result"], mark["set_aside"]} or case.row["outcome"] in {"confirmed", "inconclusive"}
            if stays or case.state not in _SET_ASIDE:
                return True
        elif case.state not in ENDED | _SET_ASIDE:
            return True
    return False


def _join(acting: Acting, new: _New, case: Case, classed: Classed) -> tuple[Notice, ...]:
    facts: dict[str, Json] = {**_facts(new), "kind": classed.kind, "plan": classed.plan, "why": classed.why}
    acting.write("investigation.result", f"investigation/{case.name}", facts=facts)
    if classed.kind != "unplanned":
        return ()
    what = f"unplanned repeat under {case.name}: {classed.why}."
    remedy = "It is kept and shown with the investigation, and is never reported. A plan is signed before readings."
    where = f"{new.run}, lot {new.sample['lot']}, {new.result.element}"
    return (Finding("investigation.unplanned-repeat", where, what, remedy),)


def _open(acting: Acting, new: _New, state: str) -> str:
    """A new case with its original, and what was already reported of the same result by other runs."""
    result, run = new.result, acting.tx.row("run", run=new.run)
    if run is None:
        raise AssertionError("the run was written a moment ago")
    count = acting.count("investigation")
    name = investigation_number(count)
    facts: dict[str, Json] = {
        "count": count,
        "means": result.exceedance_means,
        "state": state,
        "sample": result.sample,
        "lot": new.sample["lot"],
        "customer": new.sample["customer"],
        "element": result.element,
        "line": line_of(result),
        "run": new.run,
        "result_id": result.result_id,
        "limit_text": limit_text(result),
        "unit": result.unit,
        "why": f"{result.element} is outside its limit in {new.run}; {name} is to explain it.",
        "original": {**_facts(new), "kind": "original", "plan": "", "why": ""},
    }
    acting.write(
        "investigation.opened",
        f"investigation/{name}",
        facts=facts,
        digests={"work": run["work"], "bound": run["bound"]},
    )
    if state == "open":
        _earlier(acting, new, name)
    return name


def _earlier(acting: Acting, new: _New, name: str) -> None:
    """Results of other runs for the same sample and line: they are shown with the case and do not replace it."""
    for row in acting.tx.rows("result", result_id=new.result.result_id):
        run = acting.tx.row("run", run=row["run"])
        if row["run"] == new.run or run is None or run["state"] == "cancelled" or row["outcome"] == "not_reportable":
            continue
        if acting.tx.rows("investigation_result", run=row["run"], result_id=row["result_id"]):
            continue
        facts: dict[str, Json] = {
            **{each: row[each] for each in ("run", "result_id", "sample", "value_text", "expanded_text", "verdict")},
            "kind": "earlier",
            "plan": "",
            "result": "",
            "analyst": "",
            "measured_at": run["measured_at"],
            "why": "it was on record before the result outside its limit",
        }
        acting.write("investigation.result", f"investigation/{name}", facts=facts)


def _facts(new: _New) -> dict[str, Json]:
    outcome = new.result.outcome
    return {
        "run": new.run,
        "result_id": new.result.result_id,
        "sample": new.result.sample,
        "result": result_digest(new.result),
        "value_text": "" if outcome.kind == "not_reportable" else outcome.value_text,
        "expanded_text": outcome.expanded_text if outcome.kind == "quantified" else "",
        "verdict": new.result.verdict,
        "analyst": new.measured.analyst,
        "measured_at": new.measured.measured_at,
    }


def limit_text(result: WorkedResult) -> str:
    """``0.90 to 1.10``, ``at most 0.50``, ``at least 90.0``; and which portions lie outside a limit of their own."""
    said = f"at most {result.upper}" if result.upper else f"at least {result.lower}"
    if result.lower and result.upper:
        said = f"{result.lower} to {result.upper}"
    outside = [one.portion for one in result.portions if one.verdict == "fail"]
    return f"{said}; outside the limit of single portions: {', '.join(outside)}" if outside else said
