"""The laboratory phase of an investigation: answers with evidence, the analyst's statement, a cause or none.

Whoever measured or prepared the original assesses and decides nothing; who assesses and who decides are two people
(FDA guidance on out-of-specification results, III; 21 CFR 211.192).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.acting import Receipt, as_json
from benchseal.desk.cases import (
    EXCEEDS,
    case_of,
    hands_on,
    now_of,
    record_of_case,
    result_digest,
    situation,
)
from benchseal.desk.reading import sample_of_lot
from benchseal.desk.runs import require_reason
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.records.investigation import CATEGORIES, LINES
from benchseal.records.people import Role
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning
from benchseal.review.cycles import INVESTIGATION, NOTICE, decide

if TYPE_CHECKING:
    from benchseal.desk.acting import Acting
    from benchseal.desk.acts_investigations import (
        AnswerLine,
        ExtendInvestigation,
        FindCause,
        FindNoCause,
        InvalidateResult,
        NoteTold,
        RefuseCause,
        StateAsAnalyst,
    )
    from benchseal.desk.cases import Case
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading


def answer_line(acting: Acting, act: AnswerLine) -> Receipt:
    """Answer one line; a later answer takes its place, and both stay in the ledger."""
    line = next((one for one in LINES if one.name == act.line), None)
    if line is None:
        what = f"{act.line!r} is no line of the checklist."
        raise Stopped(Problem("investigation.line", act.investigation, what, f"One of: {_names()}."))
    require_text(act.answer, "investigation answer", "--answer")
    require_evidence(act.investigation, act.evidence, act.answer)
    step = "answer" if line.phase == 1 else "answer outside"
    case, state = moved(acting, act.investigation, step, "assess")
    acting.write(
        "investigation.answered",
        subject_of(case),
        facts={**moves(case, state), "line": act.line, "evidence_name": act.evidence_name},
        digests={"evidence": acting.tx.keep(act.evidence)},
        reason=act.answer,
    )
    left = [name for name in case.unanswered(line.phase) if name != act.line]
    rest = f"Still to answer: {', '.join(left)}." if left else "Every line of this phase is answered."
    return Receipt((f"{case.name}, {act.line}: answered.", rest), {"investigation": case.name, "open_lines": [*left]})


def state_as_analyst(acting: Acting, act: StateAsAnalyst) -> Receipt:
    """The statement of whoever had a part in the original; somebody else says why it is not theirs."""
    require_text(act.text, "investigation statement", "--text")
    case, state = moved(acting, act.investigation, "state", "state")
    person = acting.first.person
    if person not in hands_on(acting.tx, case) and not act.reason.strip():
        what = f"{person} had no part in the original result."
        remedy = "Its analyst states. Where that cannot be, say why with --reason."
        raise Stopped(Refusal("investigation.not-the-analyst", case.name, what, remedy))
    text = act.text if not act.reason.strip() else f"{act.text} (in the analyst's place: {act.reason})"
    signed = sign_step(acting, case, "statement", text, Role.ANALYST, Meaning.PERFORMED)
    acting.write("investigation.stated", subject_of(case), facts={**moves(case, state), **signed[0]},
                 digests={"record": signed[1]}, reason=text)  # fmt: skip
    return Receipt((f"{case.name}: the statement is signed.",), {"investigation": case.name})


def note_told(acting: Acting, act: NoteTold) -> Receipt:
    """Somebody was told. A notice is done with it; an investigation goes on."""
    require_text(act.who, "investigation notified", "--who")
    require_text(act.how, "investigation notified", "--how")
    case = case_of(acting.tx, act.investigation)
    cycle = NOTICE if case.row["means"] == "notify" else INVESTIGATION
    state = decide(cycle, "tell", situation(acting.tx, case, "tell"), acting.first.person)
    if isinstance(state, Refusal):
        raise Stopped(state)
    facts: dict[str, Json] = {**moves(case, state), "who": act.who, "how": act.how}
    facts["starts"] = False
    acting.write("investigation.told", subject_of(case), facts=facts)
    return Receipt((f"{case.name}: {act.who} told.",), {"investigation": case.name, "state": state})


def find_cause(acting: Acting, act: FindCause) -> Receipt:
    """A specific error with its evidence; every line is answered and the analyst has stated."""
    if act.category not in CATEGORIES:
        what = f"{act.category!r} is no category."
        raise Stopped(Problem("investigation.category", act.investigation, what, f"One of: {', '.join(CATEGORIES)}."))
    require_text(act.cause, "investigation cause", "--cause")
    require_evidence(act.investigation, act.evidence, act.cause)
    case, state = moved(acting, act.investigation, "find cause", "assess")
    _require_answers(case)
    if not case.row["statement"]:
        what = "its analyst has not stated anything."
        remedy = "The analyst signs `benchseal investigation statement`."
        raise Stopped(Refusal("investigation.no-statement", case.name, what, remedy))
    _require_runs(case, act.also)
    evidence = acting.tx.keep(act.evidence)
    said = {"category": act.category, "evidence": evidence}
    signed = sign_step(acting, case, "cause", act.cause, Role.REVIEWER, Meaning.REVIEWED, **said)
    facts = {**moves(case, state), **signed[0], "category": act.category, "evidence_name": act.evidence_name}
    facts["also"] = as_json([*act.also])
    digests = {"record": signed[1], "evidence": evidence}
    acting.write("investigation.cause_found", subject_of(case), facts=facts, digests=digests, reason=act.cause)
    said_now = f"{case.name}: the cause is signed. An approver accepts it or sends it back."
    return Receipt((said_now,), {"investigation": case.name, "state": state})


def refuse_cause(acting: Acting, act: RefuseCause) -> Receipt:
    """Back to the laboratory phase."""
    require_reason(act.reason, "investigation refuse-cause")
    case, state = moved(acting, act.investigation, "refuse cause", "decide")
    signed = sign_step(acting, case, "cause refused", act.reason, Role.APPROVER, Meaning.RETURNED)
    write_step(acting, case, "investigation.cause_refused", state, signed, act.reason)
    return Receipt((f"{case.name}: the cause is sent back.",), {"investigation": case.name, "state": state})


def invalidate_result(acting: Acting, act: InvalidateResult) -> Receipt:
    """The original is set aside, by the calculation that stands now; it stays on record and with the case."""
    require_reason(act.reason, "investigation invalidate")
    case, state = moved(acting, act.investigation, "invalidate", "decide")
    also = str(case.row["also"]).split()
    require_explained(acting.tx, case)
    signed = sign_step(acting, case, "invalidation", act.reason, Role.APPROVER, Meaning.APPROVED)
    results: list[Json] = []
    for mark in (one for one in case.results if one["kind"] == "original" or one["run"] in also):
        now = now_of(acting.tx, mark)
        same = now is not None and now.verdict in EXCEEDS
        results.append(
            {
                "run": mark["run"],
                "result_id": mark["result_id"],
                "result": result_digest(now) if now is not None and same else mark["result"],
            }
        )
    facts: dict[str, Json] = {**moves(case, state), **signed[0], "results": results}
    acting.write("investigation.invalidated", subject_of(case), facts=facts, digests={"record": signed[1]},
                 reason=act.reason)  # fmt: skip
    said = f"{case.name}: the result is set aside and stays on record. Plan the repeat, or correct what was wrong."
    return Receipt((said,), {"investigation": case.name, "state": state})


def require_explained(view: Reading, case: Case) -> None:
    """No other result of the case is outside the limit, or the accepted cause names its run too. Raises Stopped."""
    also = str(case.row["also"]).split()
    left = []
    for mark in case.results:
        if mark["kind"] in {"original", "hypothesis", "repeat"} or mark["run"] in also:
            continue
        now = now_of(view, mark)
        if mark["verdict"] in EXCEEDS or (now is not None and now.verdict in EXCEEDS):
            left.append(f"{mark['run']} ({mark['kind']})")
    if left:
        what = f"{', '.join(left)} is outside the limit too; the cause does not name it."
        remedy = "Send the cause back. One that explains every such result names its runs with --also."
        raise Stopped(Refusal("investigation.others-outside", case.name, what, remedy))


def find_no_cause(acting: Acting, act: FindNoCause) -> Receipt:
    """The laboratory phase is over without an error found."""
    require_text(act.conclusion, "investigation no-cause", "--conclusion")
    case, state = moved(acting, act.investigation, "find no cause", "assess")
    _require_answers(case)
    signed = sign_step(acting, case, "no cause", act.conclusion, Role.REVIEWER, Meaning.REVIEWED)
    write_step(acting, case, "investigation.no_cause", state, signed, act.conclusion)
    said = f"{case.name}: the full investigation begins. An approver plans retests."
    return Receipt((said,), {"investigation": case.name, "state": state})


def extend_investigation(acting: Acting, act: ExtendInvestigation) -> Receipt:
    """Another lot is held for the same element, until the case is closed."""
    require_reason(act.reason, "investigation extend")
    case, state = moved(acting, act.investigation, "extend", "extend")
    sample = sample_of_lot(acting.tx, act.lot)
    if any(hold["sample"] == sample["sample"] for hold in case.holds):
        what = f"lot {sample['lot']} is held with it already."
        raise Stopped(Refusal("investigation.held-already", case.name, what, "Nothing needs to be done."))
    facts: dict[str, Json] = {
        **moves(case, state),
        **{name: sample[name] for name in ("sample", "lot", "customer")},
        "element": case.row["element"],
    }
    facts["starts"] = False
    acting.write("investigation.extended", subject_of(case), facts=facts, reason=act.reason)
    said = f"{case.name}: lot {sample['lot']} is held for {case.row['element']} too."
    return Receipt((said,), {"investigation": case.name, "sample": sample["sample"]})


def moved(acting: Acting, investigation: str, step: str, act_as: str) -> tuple[Case, str]:
    """The case, and its state after ``step`` by the person acting. Raises Stopped where that is not allowed."""
    case = case_of(acting.tx, investigation)
    if case.row["means"] == "notify":
        what = "nothing is investigated here; the customer is told."
        remedy = f"`benchseal investigation notified {case.name}` says that it was done."
        raise Stopped(Refusal("investigation.notice-only", case.name, what, remedy))
    state = decide(INVESTIGATION, step, situation(acting.tx, case, act_as), acting.first.person)
    if isinstance(state, Refusal):
        raise Stopped(state)
    return case, state


def require_evidence(where: str, evidence: bytes, words: str) -> None:
    """Something beside the words themselves. Raises Stopped."""
    given = evidence.strip()
    if not given or given == words.strip().encode():
        what = "no evidence is given." if not given else "the evidence repeats the words it is to support."
        remedy = "Give a file or a text that shows it: a record, a picture, a printout, who saw it and when."
        raise Stopped(Refusal("investigation.no-evidence", where, what, remedy))


def sign_step(  # noqa: PLR0913, PLR0917  what a signed step holds
    acting: Acting, case: Case, step: str, text: str, role: Role, meaning: Meaning, **said: str
) -> tuple[dict[str, Json], str]:
    """Sign a step: the signature as facts, and the digest of the record it covers."""
    record = acting.tx.keep(record_bytes(record_of_case(acting.tx, case, step, text, **said)))
    signature = acting.sign(acting.first, role, meaning, subject_of(case), version=1, digest=record)
    return {"signature": signature}, record


def write_step(  # noqa: PLR0913, PLR0917  the parts of a step
    acting: Acting, case: Case, kind: str, state: str, signed: tuple[dict[str, Json], str], reason: str
) -> None:
    """Append the entry of a signed step."""
    facts = {**moves(case, state), **signed[0]}
    acting.write(kind, subject_of(case), facts=facts, digests={"record": signed[1]}, reason=reason)


def moves(case: Case, state: str) -> dict[str, Json]:
    """Facts of every step: the state it leads to, and whether work on the case begins with it."""
    return {"state": state, "starts": not case.row["started_at"]}


def _require_answers(case: Case) -> None:
    left = case.unanswered(1)
    if left:
        what = f"not answered yet: {', '.join(left)}."
        remedy = "A reviewer answers each with `benchseal investigation answer`."
        raise Stopped(Refusal("investigation.unanswered", case.name, what, remedy))


def require_text(text: str, command: str, option: str) -> None:
    """Raise Stopped where a text says nothing."""
    if not text.strip():
        raise Stopped(Problem("investigation.empty", command, f"{option} says nothing.", "Say it in words."))


def _require_runs(case: Case, also: tuple[str, ...]) -> None:
    known = {str(one["run"]) for one in case.results}
    strange = [run for run in also if run not in known]
    if strange:
        what = f"{', '.join(strange)} has no result in it."
        remedy = "Name runs that `benchseal investigation show` lists."
        raise Stopped(Problem("investigation.also", case.name, what, remedy))


def _names() -> str:
    return ", ".join(line.name for line in LINES)


def subject_of(case: Case) -> str:
    """Subject of a case's entries."""
    return f"investigation/{case.name}"
