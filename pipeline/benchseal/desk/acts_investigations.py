"""Acts on investigations of results outside their limit: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, ActRow, anyone, signing
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """Answer one line of the checklist. evidence: bytes of a file or a text; evidence_name: the file's, or empty."""

    investigation: str
    line: str
    answer: str
    evidence: bytes
    evidence_name: str


@dataclass(frozen=True, slots=True)
class StateAsAnalyst:
    """What the analyst of the original result says about it. reason: why somebody else states, where so."""

    investigation: str
    text: str
    reason: str


@dataclass(frozen=True, slots=True)
class NoteTold:
    """Put on record that the customer or the quality unit was told."""

    investigation: str
    who: str
    how: str


@dataclass(frozen=True, slots=True)
class PlanReadings:
    """Sign a plan before anything is read by it. sample: empty for the original one."""

    investigation: str
    kind: str
    readings: int
    analyst: str
    sample: str
    rule: str
    rationale: str
    same_analyst_reason: str
    evidence: bytes
    evidence_name: str


@dataclass(frozen=True, slots=True)
class FindCause:
    """Say that a specific laboratory error made the result, with evidence. also: further runs it explains."""

    investigation: str
    category: str
    cause: str
    evidence: bytes
    evidence_name: str
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RefuseCause:
    """Send a cause back: it does not explain the result."""

    investigation: str
    reason: str


@dataclass(frozen=True, slots=True)
class InvalidateResult:
    """Accept the cause: the result is set aside, stays on record, and the test is repeated by plan."""

    investigation: str
    reason: str


@dataclass(frozen=True, slots=True)
class FindNoCause:
    """Say that the laboratory phase found no error; the full investigation begins."""

    investigation: str
    conclusion: str


@dataclass(frozen=True, slots=True)
class EvaluateResults:
    """Weigh the original and every further result once the plan is complete."""

    investigation: str
    text: str


@dataclass(frozen=True, slots=True)
class CloseInvestigation:
    """Decide: confirmed, inconclusive, or invalidated after the planned repeat."""

    investigation: str
    outcome: str
    conclusion: str


@dataclass(frozen=True, slots=True)
class ExtendInvestigation:
    """Hold another lot with it."""

    investigation: str
    lot: str
    reason: str


INVESTIGATIONS: tuple[ActRow, ...] = (
    ActRow(
        AnswerLine,
        "investigation answer",
        anyone(REVIEWER),
        ("investigation.answered",),
        "investigations:answer_line",
        "answer one line of an investigation's checklist, with evidence",
    ),
    ActRow(
        StateAsAnalyst,
        "investigation statement",
        signing(ANALYST, Meaning.PERFORMED),
        ("investigation.stated",),
        "investigations:state_as_analyst",
        "sign what the analyst has to say about the result",
    ),
    ActRow(
        NoteTold,
        "investigation notified",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("investigation.told",),
        "investigations:note_told",
        "say that the customer or the quality unit was told, and how",
    ),
    ActRow(
        PlanReadings,
        "investigation plan",
        signing(APPROVER, Meaning.APPROVED),
        ("investigation.planned",),
        "investigation_plans:plan_readings",
        "sign a plan of further readings before the first of them",
    ),
    ActRow(
        FindCause,
        "investigation cause",
        signing(REVIEWER, Meaning.REVIEWED),
        ("investigation.cause_found",),
        "investigations:find_cause",
        "sign that a laboratory error made the result, with evidence",
    ),
    ActRow(
        RefuseCause,
        "investigation refuse-cause",
        signing(APPROVER, Meaning.RETURNED),
        ("investigation.cause_refused",),
        "investigations:refuse_cause",
        "send a cause back that does not explain the result",
    ),
    ActRow(
        InvalidateResult,
        "investigation invalidate",
        signing(APPROVER, Meaning.APPROVED),
        ("investigation.invalidated",),
        "investigations:invalidate_result",
        "sign that the cause is accepted and the result set aside",
    ),
    ActRow(
        FindNoCause,
        "investigation no-cause",
        signing(REVIEWER, Meaning.REVIEWED),
        ("investigation.no_cause",),
        "investigations:find_no_cause",
        "sign that the laboratory phase found no error",
    ),
    ActRow(
        EvaluateResults,
        "investigation evaluate",
        signing(REVIEWER, Meaning.REVIEWED),
        ("investigation.evaluated",),
        "investigation_plans:evaluate_results",
        "weigh the original and all further results, and sign it",
    ),
    ActRow(
        CloseInvestigation,
        "investigation close",
        signing(APPROVER, Meaning.APPROVED),
        ("investigation.closed",),
        "investigation_plans:close_investigation",
        "decide an investigation and sign it",
    ),
    ActRow(
        ExtendInvestigation,
        "investigation extend",
        anyone(REVIEWER, APPROVER),
        ("investigation.extended",),
        "investigations:extend_investigation",
        "hold another lot with an investigation",
    ),
)
