"""A sum of the demo's plates outside its limit: opened by the review that completes its parts. All invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER
from tests.journeys.test_sums import asking, measured

from benchseal.desk.acts_certificates import DraftCertificate
from benchseal.desk.acts_investigations import (
    AnswerLine,
    CloseInvestigation,
    EvaluateResults,
    FindCause,
    FindNoCause,
    InvalidateResult,
    NoteTold,
    PlanReadings,
    StateAsAnalyst,
)
from benchseal.desk.acts_runs import AcceptRuns, CancelRun, RecalculateRun, ReopenRun, SubmitRuns
from benchseal.desk.case_facts import facts_of
from benchseal.desk.cases import case_of
from benchseal.desk.checking import verify_site
from benchseal.desk.gathering import look
from benchseal.desk.perform import perform
from benchseal.desk.reading import sample_of_lot
from benchseal.problems import Stopped
from benchseal.records.investigation import LINES

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.desk.cases import Case

ONE = "I-00002"


def case(stage: Stage, name: str = ONE) -> Case:
    with stage.site.store.reading() as view:
        return case_of(view, name)


def blockers(stage: Stage) -> list[str]:
    with stage.site.store.reading() as view:
        refusals, _ = look(view, sample_of_lot(view, "C-1"))
    return [one.code for one in refusals]


def answered(stage: Stage, *phases: int) -> None:
    for line in LINES:
        if line.phase in phases:
            perform(stage.site, AnswerLine(ONE, line.name, "in order", b"seen in the log", ""), stage.key(REVIEWER))


def refused(stage: Stage, act: object, *people: str) -> str:
    with pytest.raises(Stopped) as stop:
        perform(stage.site, act, *map(stage.key, people))
    return stop.value.notices[0].code


@pytest.mark.clause("P211.192")
def test_a_sum_outside_its_limit_is_investigated_like_a_result(stage: Stage) -> None:
    asking(stage, upper="0.10", means="investigate")
    measured(stage)
    opened = case(stage)
    assert (opened.row["line"], opened.row["element"], opened.state) == ("sum pb-cd", "sum pb-cd", "open")
    runs = [one["run"] for one in opened.results]
    assert len(set(runs)) == 2, "one of each part"
    assert "certificate.held" in blockers(stage)
    with stage.site.store.reading() as view:
        assert len(facts_of(view, opened)["calculation"]) == 2
    plan = PlanReadings(ONE, "retest", 1, ANALYST, "", "each", "two", "nobody else", b"", "")
    answered(stage, 1)
    perform(stage.site, FindNoCause(ONE, "all in order"), stage.key(REVIEWER))
    assert refused(stage, plan, APPROVER) == "investigation.sum-plan"
    answered(stage, 2)
    perform(stage.site, EvaluateResults(ONE, "both parts are right"), stage.key(REVIEWER))
    perform(stage.site, CloseInvestigation(ONE, "confirmed", "so it is"), stage.key(APPROVER))
    assert blockers(stage) == []
    drafted = perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST))
    assert drafted.data["conclusion"] == "does not comply with the specification"
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("P211.192")
def test_its_parts_are_not_cancelled_away_and_another_limit_does_not_make_it_comply(stage: Stage) -> None:
    asking(stage, upper="0.10", means="investigate")
    measured(stage)
    run = case(stage).results[0]["run"]
    answered(stage, 1)
    perform(stage.site, FindNoCause(ONE, "all in order"), stage.key(REVIEWER))
    answered(stage, 2)
    perform(stage.site, EvaluateResults(ONE, "both parts are right"), stage.key(REVIEWER))
    perform(stage.site, CloseInvestigation(ONE, "inconclusive", "nothing explains it"), stage.key(APPROVER))
    asking(stage, upper="0.90", means="investigate")
    runs = tuple(one["run"] for one in case(stage).results)
    for each in runs:
        perform(stage.site, ReopenRun(each, "another limit"), stage.key(ANALYST), stage.key(REVIEWER))
        perform(stage.site, RecalculateRun(each, "another limit"), stage.key(ANALYST))
    assert refused(stage, CancelRun(run, "to try"), ANALYST, REVIEWER) == "run.investigated"
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))
    assert blockers(stage) == ["certificate.exceedance-stands"]


def test_a_corrected_part_ends_it(stage: Stage) -> None:
    asking(stage, upper="0.10", means="investigate")
    measured(stage)
    answered(stage, 1)
    perform(stage.site, StateAsAnalyst(ONE, "nothing seen", "the analyst is on leave"), stage.key(ANALYST))
    cause = FindCause(ONE, "calculation", "the limit was typed wrongly", b"letter of the customer", "")
    perform(stage.site, cause, stage.key(REVIEWER))
    perform(stage.site, InvalidateResult(ONE, "the letter proves it"), stage.key(APPROVER))
    close = CloseInvestigation(ONE, "invalidated", "corrected")
    assert refused(stage, close, APPROVER) == "investigation.no-repeat"
    asking(stage, upper="0.90", means="investigate")
    runs = tuple(one["run"] for one in case(stage).results)
    for each in runs:
        perform(stage.site, ReopenRun(each, "the limit"), stage.key(ANALYST), stage.key(REVIEWER))
        perform(stage.site, RecalculateRun(each, "the limit"), stage.key(ANALYST))
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))
    perform(stage.site, close, stage.key(APPROVER))
    assert blockers(stage) == []


def test_a_sum_to_tell_at_once_holds_nothing(stage: Stage) -> None:
    asking(stage, upper="0.10", means="notify")
    measured(stage)
    assert case(stage).state == "to tell"
    assert blockers(stage) == []
    perform(stage.site, NoteTold(ONE, "A. Selby", "by telephone"), stage.key(ANALYST))
    assert case(stage).state == "told"
