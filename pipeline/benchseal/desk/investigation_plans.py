"""Plans signed before readings, the evaluation once they are complete, and the decision.

No test of outliers and no passing retest takes a value away: nothing here marks a result as not counting but an
accepted cause. Where there is none, the original is the result of record, whatever the retests gave.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.cases import (
    EXCEEDS,
    hands_on,
    incomplete,
    is_sum,
    now_of,
    result_digest,
    reviewed,
    stands,
    sum_line,
)
from benchseal.desk.gathering import sums_now
from benchseal.desk.investigations import moved, moves, require_evidence, require_text, sign_step, subject_of
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.investigation import CONFIRMED, INCONCLUSIVE, INVALIDATED, OUTCOMES, PlanRecord
from benchseal.records.people import Role
from benchseal.records.said import some
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_investigations import CloseInvestigation, EvaluateResults, PlanReadings
    from benchseal.desk.cases import Case
    from benchseal.problems import Notice
    from benchseal.records.canonical import Json
    from benchseal.records.investigation import PlanKind
    from benchseal.store.protocol import Reading, Row

_KINDS: Final[dict[str, PlanKind]] = {
    "hypothesis": "hypothesis",
    "retest": "retest",
    "resample": "resample",
    "repeat": "repeat",
}
_MOST_READINGS: Final = 20  # ours: a plan of more is a typing error


def plan_readings(acting: Acting, act: PlanReadings) -> Receipt:
    """Sign a plan. Every objection at once."""
    kind = _KINDS.get(act.kind)
    if kind is None:
        what = f"{act.kind!r} is no kind of plan."
        raise Stopped(Problem("investigation.plan-kind", act.investigation, what, f"One of: {', '.join(_KINDS)}."))
    case, state = moved(acting, act.investigation, f"plan {kind}", "decide")
    if is_sum(case):
        what = "a sum is not measured; its parts are results of their own."
        remedy = "Look at the parts. An error in one is corrected or repeated there; else the sum is evaluated."
        raise Stopped(Refusal("investigation.sum-plan", case.name, what, remedy))
    found = tuple(_objections(acting.tx, case, act, kind))
    if found:
        raise Stopped(*found)
    evidence = acting.tx.keep(act.evidence) if act.evidence.strip() else ""
    plan = PlanRecord(
        schema="investigation-plan/1",
        investigation=case.name,
        number=len(case.plans) + 1,
        kind=kind,
        sample=act.sample or case.row["sample"],
        readings=act.readings,
        analyst=act.analyst,
        rule=act.rule,
        rationale=act.rationale,
        same_analyst_reason=act.same_analyst_reason,
        evidence=evidence,
    )
    kept = acting.tx.keep(record_bytes(plan))
    signature = acting.sign(acting.first, Role.APPROVER, Meaning.APPROVED, subject_of(case), version=1, digest=kept)
    replaces = [one["plan"] for one in case.in_force(kind) if not case.of_plan(one) and kind != "hypothesis"]
    facts: dict[str, Json] = {
        **moves(case, state),
        "signature": signature,
        "plan": str(plan.number),
        **{name: getattr(plan, name) for name in ("kind", "sample", "analyst", "readings")},
        "replaces": as_json(replaces),
        "evidence_name": act.evidence_name,
    }
    digests = {"plan": kept, "evidence": evidence} if evidence else {"plan": kept}
    acting.write("investigation.planned", subject_of(case), facts=facts, digests=digests, reason=act.rationale)
    many = f"{plan.readings} result{'s' if plan.readings > 1 else ''}"
    said = f"{case.name}: {kind} plan {plan.number} is signed: {many} of {plan.sample}, read from now on."
    return Receipt((said,), {"investigation": case.name, "plan": str(plan.number), "state": state})


def _objections(view: Reading, case: Case, act: PlanReadings, kind: PlanKind) -> Iterator[Notice]:
    for text, option in ((act.rationale, "--rationale"), (act.rule, "--rule")):
        if not text.strip() and not (kind == "hypothesis" and option == "--rule"):
            yield Problem("investigation.empty", "investigation plan", f"{option} says nothing.", "Say it in words.")
    most = 1 if kind == "repeat" else _MOST_READINGS
    if not 1 <= act.readings <= most:
        what = f"{act.readings} readings are planned; a {kind} plan has 1 to {most}."
        yield Problem("investigation.plan-number", case.name, what, "Fix the number in advance.")
    yield from _started(case, kind)
    yield from _plan_sample(view, case, act, kind)
    yield from _plan_analyst(view, case, act, kind)
    if kind == "resample":
        yield from _resample(act)


def _started(case: Case, kind: PlanKind) -> Iterator[Refusal]:
    """A plan that was read by is neither changed nor followed by another of its kind."""
    if kind == "hypothesis":
        return
    started = [plan for plan in case.in_force(kind) if case.of_plan(plan)]
    if started:
        plan = started[-1]
        what = f"{kind} plan {plan['plan']} has readings; its {plan['readings']} are fixed."
        remedy = "Complete it as signed, then have it evaluated. No second plan of its kind is made."
        yield Refusal("investigation.plan-started", case.name, what, remedy)


def _plan_sample(view: Reading, case: Case, act: PlanReadings, kind: PlanKind) -> Iterator[Refusal]:
    """A retest is of the original sample; a resample is of another one of the same lot."""
    original, wanted = str(case.row["sample"]), act.sample or str(case.row["sample"])
    if kind != "resample":
        if wanted != original:
            what = f"a {kind} is of the original sample {original}, not of {wanted}."
            yield Refusal("investigation.other-sample", case.name, what, "A new sample needs a resample plan.")
        return
    row = view.row("sample", sample=wanted)
    if wanted == original or row is None:
        what = f"{wanted} is {'the original sample' if row is not None else 'not registered'}."
        yield Refusal("investigation.resample-sample", case.name, what, "Register the new sample, then name it.")
    elif (row["lot"], row["customer"]) not in _lots(view, case):
        what = f"{wanted} is of lot {row['lot']} of {row['customer']}, the original of {case.row['lot']}."
        yield Refusal("investigation.other-sample", case.name, what, "A resample is of the same lot.")


def _lots(view: Reading, case: Case) -> set[tuple[str, str]]:
    """The lot of the original as it was called then, and as it is called now."""
    now = view.row("sample", sample=case.row["sample"])
    return {(row["lot"], row["customer"]) for row in (case.row, now) if row is not None}


def _plan_analyst(view: Reading, case: Case, act: PlanReadings, kind: PlanKind) -> Iterator[Notice]:
    if not act.analyst and kind == "hypothesis":
        return
    role = view.row("role", person=act.analyst, role=Role.ANALYST.value)
    if role is None or not role["active"]:
        what = f"{act.analyst or 'nobody'} is no analyst here."
        yield Problem("investigation.plan-analyst", case.name, what, "Name who will measure with --analyst.")
        return
    same = kind in {"retest", "resample"} and act.analyst in hands_on(view, case)
    if same and not act.same_analyst_reason.strip():
        what = f"{act.analyst} measured or prepared the original."
        remedy = "Name another analyst, or say why it is the same with --same-analyst-reason."
        yield Refusal("investigation.same-analyst", case.name, what, remedy)


def _resample(act: PlanReadings) -> Iterator[Notice]:
    try:
        require_evidence(act.investigation, act.evidence, act.rationale)
    except Stopped as stop:
        yield from stop.notices


def evaluate_results(acting: Acting, act: EvaluateResults) -> Receipt:
    """Weigh everything; what was planned is complete and the review outside the laboratory is answered."""
    require_text(act.text, "investigation evaluate", "--text")
    case, state = moved(acting, act.investigation, "evaluate", "assess")
    found: list[Notice] = []
    for plan in incomplete(acting.tx, case):
        what = f"{plan.kind} plan {plan.number} fixed {plan.readings} results; fewer are reviewed."
        remedy = "Measure what is left, and have every run of it reviewed. The number is not changed."
        found.append(Refusal("investigation.plan-incomplete", case.name, what, remedy))
    if left := case.unanswered(2):
        what = f"not answered yet: {', '.join(left)}."
        remedy = "A reviewer answers it with `benchseal investigation answer`."
        found.append(Refusal("investigation.unanswered", case.name, what, remedy))
    if found:
        raise Stopped(*found)
    signature, record = sign_step(acting, case, "evaluation", act.text, Role.REVIEWER, Meaning.REVIEWED)
    acting.write("investigation.evaluated", subject_of(case), facts={**moves(case, state), **signature},
                 digests={"record": record}, reason=act.text)  # fmt: skip
    said = f"{case.name}: evaluated with {some(len(case.results), 'result')}. An approver decides."
    return Receipt((said,), {"investigation": case.name, "state": state})


def close_investigation(acting: Acting, act: CloseInvestigation) -> Receipt:
    """Decide, and lift what it held. Confirmed and inconclusive leave the original as the result of record."""
    if act.outcome not in OUTCOMES:
        what = f"{act.outcome!r} is no outcome."
        raise Stopped(Problem("investigation.outcome", act.investigation, what, f"One of: {', '.join(OUTCOMES)}."))
    require_text(act.conclusion, "investigation close", "--conclusion")
    step = "close invalidated" if act.outcome == INVALIDATED else "close"
    case, state = moved(acting, act.investigation, step, "decide")
    if act.outcome == INVALIDATED:
        _require_repeat(acting.tx, case)
    signature, record = sign_step(
        acting, case, "decision", act.conclusion, Role.APPROVER, Meaning.APPROVED, outcome=act.outcome
    )
    facts: dict[str, Json] = {
        **moves(case, state),
        **signature,
        "outcome": act.outcome,
        "holds": as_json([[hold["sample"], hold["element"]] for hold in case.holds if hold["is_open"]]),
    }
    acting.write("investigation.closed", subject_of(case), facts=facts, digests={"record": record},
                 reason=act.conclusion)  # fmt: skip
    said = [f"{case.name} is closed: {act.outcome}.", _MEANS[act.outcome]]
    return Receipt(tuple(said), {"investigation": case.name, "outcome": act.outcome})


_MEANS: Final = {
    CONFIRMED: "The original result is the result of record; a certificate says that it does not comply.",
    INCONCLUSIVE: "The original result stays the result of record; it is not turned into one that complies.",
    INVALIDATED: "The original stays on record, set aside; the repeat or the corrected result is reported.",
}


def _require_repeat(view: Reading, case: Case) -> None:
    """The planned repeat stands in a reviewed run, or the original was calculated anew from corrected data."""
    if is_sum(case) and _sum_within(view, case):
        return
    for plan in case.in_force("repeat"):
        if any(stands(view, one) and reviewed(view, one) for one in case.of_plan(plan)):
            return
    if any(_corrected(view, one) for one in case.results if one["kind"] == "original"):
        return
    what = "neither a reviewed result of its repeat plan nor a corrected and reviewed calculation is on record."
    remedy = "Measure the repeat as planned, or correct what was wrong; have the run reviewed."
    raise Stopped(Refusal("investigation.no-repeat", case.name, what, remedy))


def _sum_within(view: Reading, case: Case) -> bool:
    """Whether the sum, made of the results reviewed by now, has a value within its limit."""
    sample = view.row("sample", sample=case.row["sample"])
    sums = sums_now(view, sample) if sample is not None else []
    return any(
        sum_line(one.name) == case.row["line"] and one.outcome.kind != "not_reportable" and one.verdict not in EXCEEDS
        for one, _ in sums
    )


def _corrected(view: Reading, mark: Row) -> bool:
    now = now_of(view, mark)
    if now is None or now.outcome.kind == "not_reportable" or not reviewed(view, mark):
        return False
    return result_digest(now) not in {mark["result"], mark["set_aside"]} and now.verdict not in EXCEEDS
