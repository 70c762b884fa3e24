"""Results outside their limit: what opens by itself, what nobody can do about it, and how it ends."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from tests.desk.investigating import (
    APPROVER,
    FIRST_ANALYST,
    GOOD,
    HIGH,
    PROOF,
    REVIEWER,
    SECOND_APPROVER,
    TRACE_ANALYST,
    World,
    copied,
    only_run,
    plan,
    specification,
    world_of,
)
from tests.journeys.commands import ADMINISTRATOR

from benchseal.desk.acts_certificates import (
    ApproveCertificate,
    DraftCertificate,
    ReleaseCertificate,
    ReturnCertificate,
)
from benchseal.desk.acts_corrections import CorrectPreparation, CorrectSample
from benchseal.desk.acts_investigations import (
    AnswerLine,
    CloseInvestigation,
    EvaluateResults,
    ExtendInvestigation,
    FindCause,
    FindNoCause,
    InvalidateResult,
    NoteTold,
    RefuseCause,
    StateAsAnalyst,
)
from benchseal.desk.acts_people import ChangeRole
from benchseal.desk.acts_runs import CancelRun, RecalculateRun, ReopenRun
from benchseal.desk.case_facts import facts_of
from benchseal.desk.cases import age_days, case_of, overdue
from benchseal.desk.checking import verify_site
from benchseal.desk.clock import stamp
from benchseal.desk.correcting import plan as planned_change
from benchseal.desk.corrections import wanted_by
from benchseal.desk.founding import trust_of
from benchseal.desk.investigation_patterns import of_lot, of_site
from benchseal.desk.reading import load
from benchseal.desk.sealing import finish
from benchseal.problems import Stopped
from benchseal.records.evidence import Evidence
from benchseal.records.investigation import LINES, CaseRecord
from benchseal.records.people import Role
from benchseal.records.results import Quantified, RunWork
from benchseal.upkeep.doctor import examine
from benchseal.upkeep.status import status
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.demo.play import Played

ONE = "I-00002"  # the demo opens the first


@pytest.fixture(scope="module")
def grounds(played: Played, tmp_path_factory: pytest.TempPathFactory) -> dict[str, World]:
    """Sites made once and copied for each test: nothing measured; a run above the limit; no cause found."""
    folder = tmp_path_factory.mktemp("grounds")
    made = {"empty": world_of(played, folder / "empty")}
    for name, before in (("high", "empty"), ("full", "high")):
        world = copied(made[before], folder / name)
        if name == "high":
            world.measured(HIGH)
        else:
            world.no_cause()
        made[name] = world
    for each in made.values():
        each.site.store.close()
    return made


@pytest.fixture
def world(grounds: dict[str, World], tmp_path: Path) -> Iterator[World]:
    """Nothing of the lot is measured."""
    made = copied(grounds["empty"], tmp_path / "site")
    yield made
    made.site.store.close()


@pytest.fixture
def high(grounds: dict[str, World], tmp_path: Path) -> Iterator[World]:
    """A reviewed run above the limit."""
    made = copied(grounds["high"], tmp_path / "site")
    yield made
    made.site.store.close()


@pytest.fixture
def full(grounds: dict[str, World], tmp_path: Path) -> Iterator[World]:
    """No cause was found."""
    made = copied(grounds["full"], tmp_path / "site")
    yield made
    made.site.store.close()


# ------------------------------------------------------------------ opening


@pytest.mark.clause("OOS III")
@pytest.mark.clause("P211.192")
def test_a_result_above_the_limit_opens_one_and_holds_the_lot(world: World) -> None:
    done = world.ingest(world.file(world.prepared(), HIGH, FIRST_ANALYST))
    assert any("I-00002 is opened" in line for line in done.said)
    case = world.case()
    assert (case.state, case.row["means"], case.row["lot"], case.row["limit_text"]) == (
        "open",
        "investigate",
        "C-1",
        "at most 0.8",
    )
    assert [(one["kind"], one["verdict"], one["analyst"]) for one in case.results] == [
        ("original", "fail", FIRST_ANALYST)
    ]
    assert "I-00002" in world.blockers()["certificate.held"]
    assert "a reviewer to answer" in world.blockers()["certificate.held"]
    assert verify_site(world.site).findings == ()


@pytest.mark.parametrize(("means", "opened"), [("report", 0), ("notify", 1)])
def test_where_nothing_is_investigated_nothing_is_held(world: World, means: str, opened: int) -> None:
    world.document(specification(means), "ware.yaml")
    world.measured(HIGH)
    with world.site.store.reading() as view:
        cases = view.rows("investigation", lot="C-1")
    assert len(cases) == opened
    assert world.blockers() == {}
    assert world.conclusion() == "does not comply with the specification"


@pytest.mark.clause("OOS V.C")
def test_a_customer_to_tell_at_once_is_told_once(world: World) -> None:
    world.document(specification("notify"), "ware.yaml")
    world.measured(HIGH)
    assert world.case().state == "to tell"
    assert world.refusals(FindNoCause(ONE, "all well"), REVIEWER) == ["investigation.notice-only"]
    assert world.refusals(NoteTold(ONE, "", "by telephone"), FIRST_ANALYST) == ["investigation.empty"]
    world.do(NoteTold(ONE, "A. Selby", "by telephone, 9:40"), FIRST_ANALYST)
    case = world.case()
    assert (case.state, case.row["told_who"]) == ("told", "A. Selby")
    assert world.refusals(NoteTold(ONE, "A. Selby", "again"), FIRST_ANALYST) == ["notice.wrong-state"]
    assert verify_site(world.site).findings == ()


def test_a_result_within_the_limit_opens_nothing(world: World) -> None:
    world.measured(GOOD)
    assert world.blockers() == {}
    assert world.refusals(FindNoCause(ONE, "all well"), REVIEWER) == ["investigation.unknown"]


def test_calculated_again_it_stays_one_investigation(world: World) -> None:
    run = world.measured(HIGH, review=False)
    world.do(RecalculateRun(run, "to try"), FIRST_ANALYST)
    world.document(specification("report"), "ware.yaml")
    world.do(RecalculateRun(run, "the specification is milder now"), FIRST_ANALYST)
    world.document(specification(upper="1.2"), "ware.yaml")
    world.do(RecalculateRun(run, "the limit is higher now"), FIRST_ANALYST)
    assert world.kinds() == [(run, "original")]
    assert world.case().state == "open"
    assert "certificate.held" in world.blockers()


def corrected(world: World, change: str, *people: str) -> tuple[tuple[str, ...], list[str]]:
    """Holds told before, and lines said after, one plate of the first batch is corrected."""
    wrong = CorrectPreparation("WR-41/B-1", (change,), "the ruler was read wrongly", "")
    with world.site.store.reading() as view:
        shown = planned_change(view, world.site.ledger, stamp(world.site.clock()), wanted_by(wrong))
    return shown.effect.holds, [*world.do(replace(wrong, effect=shown.figures), *people).said]


@pytest.mark.clause("OOS III")
def test_a_correction_that_leaves_the_limit_is_told_before_and_opens_one(world: World) -> None:
    run = world.measured(GOOD)
    holds, said = corrected(world, "area_dm2=0.25", FIRST_ANALYST, REVIEWER)
    assert holds == ("C-1, Pb",)
    assert any("I-00002 is opened" in line for line in said)
    assert world.kinds() == [(run, "original")]
    assert "certificate.held" in world.blockers()
    assert verify_site(world.site).findings == ()


@pytest.mark.refuses("OOS III")
def test_a_correction_back_within_the_limit_closes_nothing(world: World) -> None:
    run = world.measured(HIGH, review=False)
    holds, _ = corrected(world, "area_dm2=25.00", FIRST_ANALYST)
    assert holds == ()
    with world.site.store.reading() as view:
        assert [row["verdict"] for row in view.rows("result", run=run)] == ["pass"]
    assert world.case().state == "open"
    world.reviewed(run)
    assert world.case().state == "open"
    assert "certificate.held" in world.blockers()


@pytest.mark.clause("OOS IV.C.1")
def test_a_plate_outside_its_own_limit_opens_one_though_the_mean_is_within(world: World) -> None:
    world.document(specification(single="1.0"), "ware.yaml")
    run = world.measured(GOOD, last=6.0)
    with world.site.store.reading() as view:
        (row,) = view.rows("result", run=run)
    assert float(row["value_text"]) < 0.8
    assert row["verdict"] == "fail"
    case = world.case()
    assert case.row["limit_text"] == "at most 0.8; outside the limit of single portions: B-4"
    assert "certificate.held" in world.blockers()
    world.no_cause()
    world.evaluated()
    world.closed("confirmed")
    assert world.conclusion() == "does not comply with the specification"
    assert verify_site(world.site).findings == ()


@pytest.mark.refuses("OOS IV.C.1")
def test_good_plates_of_another_run_do_not_outweigh_a_plate_outside_its_limit(world: World) -> None:
    """NEG: more plates until the mean and every one of them is within; the first run stays the result."""
    world.document(specification(single="1.0"), "ware.yaml")
    first = world.measured(GOOD, last=6.0)
    again = world.measured(GOOD)
    assert world.kinds() == [(first, "original"), (again, "unplanned")]
    world.no_cause()
    world.evaluated()
    world.closed("inconclusive")
    assert world.conclusion() == "does not comply with the specification"


@pytest.mark.refuses("OOS IV.C.2")
def test_an_outlying_plate_is_counted_like_every_other(world: World) -> None:
    """NEG: three plates agree and the fourth does not; nothing takes it out, and no act offers to."""
    run = world.measured(GOOD, last=6.0)
    with world.site.store.reading() as view:
        row = view.row("run", run=run)
        assert row is not None
        (worked,) = load(view, RunWork, row["work"]).results
    values = [float(one.value) for one in worked.portions]
    assert [one.why for one in worked.portions] == [""] * 4
    assert isinstance(worked.outcome, Quantified)
    assert float(worked.outcome.value) == pytest.approx(sum(values) / 4, rel=1e-11)
    assert max(values) > 2 * sorted(values)[2]


# ------------------------------------------------------------------ nobody lifts it by hand


@pytest.mark.refuses("OOS III")
def test_no_act_but_the_decision_lifts_what_is_held(high: World) -> None:
    """NEG: closing or deleting the flag by hand. Every act of the program is looked at."""
    from benchseal.desk.acts import ROWS  # noqa: PLC0415
    from benchseal.store.project_investigations import INVESTIGATIONS  # noqa: PLC0415

    writers = {row.act for row in ROWS for kind in row.kinds if kind in INVESTIGATIONS}
    assert CloseInvestigation in writers
    for outcome in ("confirmed", "inconclusive", "invalidated"):
        act = CloseInvestigation(ONE, outcome, "let it go")
        assert high.refusals(act, APPROVER) == ["investigation.wrong-state"]
    assert high.case().holds[0]["is_open"] == 1


@pytest.mark.refuses("P211.192")
def test_a_flag_lifted_with_sql_is_found_and_does_not_help_for_long(high: World) -> None:
    with high.site.store.writing() as tx:
        tx._connection.exec_driver_sql("UPDATE hold SET is_open = 0 WHERE lot = 'C-1'")  # noqa: SLF001
    found = verify_site(high.site).findings
    assert [(one.code, one.where.split()[0]) for one in found] == [("integrity.derived-row", "hold")]


@pytest.mark.refuses("OOS III")
def test_a_run_with_an_exceedance_is_not_cancelled_away(world: World) -> None:
    run = world.measured(HIGH, review=False)
    assert world.refusals(CancelRun(run, "wrong lamp"), FIRST_ANALYST, REVIEWER) == ["run.investigated"]


@pytest.mark.refuses("P211.192")
def test_a_certificate_approved_before_is_not_released_while_held(world: World) -> None:
    world.measured(GOOD)
    number = str(world.do(DraftCertificate("C-1", ""), FIRST_ANALYST).data["number"])
    world.do(ApproveCertificate(number), APPROVER)
    world.measured(HIGH)
    assert world.kinds()[1][1] == "earlier"
    assert world.refusals(ReleaseCertificate(number), SECOND_APPROVER) == ["certificate.held"]
    world.do(ReturnCertificate(number, "held"), APPROVER)
    assert world.refusals(ApproveCertificate(number), APPROVER) == ["certificate.held"]
    world.no_cause()
    world.evaluated()
    world.closed("confirmed")
    assert world.refusals(ApproveCertificate(number), APPROVER) == ["certificate.retests-only"]


# ------------------------------------------------------------------ the laboratory phase


@pytest.mark.clause("OOS III.B")
@pytest.mark.clause("OOS III")
def test_each_line_is_answered_with_evidence_by_somebody_else(high: World) -> None:
    done = high.do(AnswerLine(ONE, "dilution", "as written", PROOF, ""), REVIEWER)
    assert "solutions" in done.data["open_lines"]  # type: ignore[operator]
    case = high.case()
    assert case.state == "phase 1"
    assert case.row["started_at"]
    assert case.answers["dilution"]["person"] == REVIEWER
    high.do(AnswerLine(ONE, "dilution", "as written, checked twice", PROOF, ""), REVIEWER)
    assert high.case().answers["dilution"]["answer"] == "as written, checked twice"
    assert verify_site(high.site).findings == ()


@pytest.mark.refuses("OOS III")
@pytest.mark.parametrize(
    ("act", "person", "code"),
    [
        (AnswerLine(ONE, "dilution", "as written", PROOF, ""), FIRST_ANALYST, "act.role"),
        (AnswerLine(ONE, "dilution", "as written", PROOF, ""), APPROVER, "act.role"),
        (AnswerLine(ONE, "dilution", "as written", b" ", ""), REVIEWER, "investigation.no-evidence"),
        (AnswerLine(ONE, "dilution", "as written", b"as written", ""), REVIEWER, "investigation.no-evidence"),
        (AnswerLine(ONE, "dilution", " ", PROOF, ""), REVIEWER, "investigation.empty"),
        (AnswerLine(ONE, "moon", "full", PROOF, ""), REVIEWER, "investigation.line"),
        (AnswerLine(ONE, "production", "nothing found", PROOF, ""), REVIEWER, "investigation.wrong-state"),
        (AnswerLine("I-00099", "dilution", "as written", PROOF, ""), REVIEWER, "investigation.unknown"),
        (FindNoCause(ONE, "all in order"), REVIEWER, "investigation.wrong-state"),
        (StateAsAnalyst(ONE, "", ""), FIRST_ANALYST, "investigation.empty"),
        (StateAsAnalyst(ONE, "nothing seen", ""), TRACE_ANALYST, "investigation.not-the-analyst"),
    ],
)
def test_what_is_no_answer(high: World, act: object, person: str, code: str) -> None:
    assert high.refusals(act, person) == [code]


@pytest.mark.refuses("OOS III.B")
@pytest.mark.refuses("OOS III")
def test_whoever_measured_assesses_nothing_with_whatever_role(high: World) -> None:
    for role in (Role.REVIEWER, Role.APPROVER):
        high.do(ChangeRole(FIRST_ANALYST, role, gives=True, reason="to try"), ADMINISTRATOR)
    own = ["duty.own-work"]
    assert high.refusals(AnswerLine(ONE, "dilution", "as written", PROOF, ""), FIRST_ANALYST) == own
    assert high.refusals(plan("hypothesis"), FIRST_ANALYST) == own
    high.no_cause()
    assert high.refusals(plan("retest"), FIRST_ANALYST) == own


@pytest.mark.refuses("OOS III")
def test_who_assessed_does_not_decide(high: World) -> None:
    high.do(ChangeRole(REVIEWER, Role.APPROVER, gives=True, reason="to try"), ADMINISTRATOR)
    high.no_cause()
    assert high.refusals(plan("retest"), REVIEWER) == ["duty.same-checker"]
    high.do(ChangeRole(APPROVER, Role.REVIEWER, gives=True, reason="to try"), ADMINISTRATOR)
    high.do(plan("retest"), APPROVER)
    assert high.refusals(AnswerLine(ONE, "production", "nothing", PROOF, ""), APPROVER) == ["duty.same-checker"]


@pytest.mark.refuses("OOS III")
def test_the_phase_does_not_end_with_a_line_left(high: World) -> None:
    high.answer_all()
    with high.site.store.writing() as tx:
        tx._connection.exec_driver_sql("DELETE FROM investigation_answer WHERE line = 'blanks'")  # noqa: SLF001
    assert high.refusals(FindNoCause(ONE, "all in order"), REVIEWER) == ["investigation.unanswered"]


@pytest.mark.clause("OOS III.A")
def test_the_first_question_is_what_was_kept_and_its_answer_is_signed(high: World) -> None:
    assert LINES[0].name == "solutions"
    assert LINES[0].asks.startswith("Are the digests, dilutions and standards still kept")
    high.do(AnswerLine(ONE, "solutions", "all four in rack 4, blank discarded at noon", PROOF, ""), REVIEWER)
    high.no_cause_but("solutions")
    with high.site.store.reading() as view:
        rows = view.rows("signature", subject=f"investigation/{ONE}", meaning="reviewed")
        record = load(view, CaseRecord, rows[0]["digest"])
    kept = [one.answer for one in record.answers if one.line == "solutions"]
    assert kept == ["all four in rack 4, blank discarded at noon"]


@pytest.mark.refuses("OOS III.A", "OOS III.B")
def test_nothing_is_decided_or_repeated_before_it_is_said_what_was_kept(high: World) -> None:
    """NEG: every other question is answered."""
    for line in LINES:
        if line.phase == 1 and line.name != "solutions":
            high.do(AnswerLine(ONE, line.name, "as it should be", PROOF, ""), REVIEWER)
    high.state()
    assert high.refusals(FindNoCause(ONE, "all in order"), REVIEWER) == ["investigation.unanswered"]
    cause = FindCause(ONE, "dilution", "diluted 1 to 5", PROOF, "")
    assert high.refusals(cause, REVIEWER) == ["investigation.unanswered"]
    assert high.refusals(plan("retest"), APPROVER) == ["investigation.wrong-state"]
    assert high.refusals(InvalidateResult(ONE, "so be it"), APPROVER) == ["investigation.wrong-state"]


def test_somebody_states_in_the_analyst_s_place_with_a_reason(high: World) -> None:
    high.do(StateAsAnalyst(ONE, "the log shows nothing", "maren is on leave"), TRACE_ANALYST)
    assert "maren is on leave" in high.case().row["statement"]


# ------------------------------------------------------------------ a cause


@pytest.mark.refuses("DI Q2")
@pytest.mark.parametrize(
    ("evidence", "cause", "category", "code"),
    [
        (b"", "diluted 1 to 5", "dilution", "investigation.no-evidence"),
        (b"diluted 1 to 5", "diluted 1 to 5", "dilution", "investigation.no-evidence"),
        (PROOF, "", "dilution", "investigation.empty"),
        (PROOF, "diluted 1 to 5", "bad luck", "investigation.category"),
        (PROOF, "diluted 1 to 5", "dilution", "investigation.no-statement"),
    ],
)
def test_a_cause_without_evidence_category_or_statement(
    high: World, evidence: bytes, cause: str, category: str, code: str
) -> None:
    high.answer_all()
    assert high.refusals(FindCause(ONE, category, cause, evidence, ""), REVIEWER) == [code]
    assert high.case().state == "phase 1"


@pytest.mark.clause("DI Q2")
def test_a_documented_error_sets_the_result_aside_and_the_repeat_is_reported(high: World) -> None:
    (original, _) = high.kinds()[0]
    high.cause()
    assert high.refusals(InvalidateResult(ONE, "so be it"), REVIEWER) == ["act.role"]
    high.do(InvalidateResult(ONE, "the log proves it"), APPROVER)
    assert high.refusals(CloseInvestigation(ONE, "invalidated", "done"), APPROVER) == ["investigation.no-repeat"]
    assert "certificate.held" in high.blockers()
    high.do(plan("repeat", analyst=FIRST_ANALYST), APPROVER)
    repeat = high.measured(GOOD)
    assert high.kinds() == [(original, "original"), (repeat, "repeat")]
    high.closed("invalidated")
    assert high.blockers() == {}
    assert high.conclusion() == "complies with the specification"
    with high.site.store.reading() as view:
        (drafted,) = view.rows("certificate", lot="C-1")
        content = load(view, Evidence, drafted["content"])
        assert view.row("run", run=original) is not None
    assert [one.run for one in content.runs] == [repeat]
    assert any("set aside for a laboratory error" in text for text in content.certificate.comments)
    assert not any("I-0" in text for text in content.certificate.comments)
    assert high.case().results[0]["value_text"], "the invalidated value stays with the investigation"
    assert verify_site(high.site).findings == ()


def test_a_cause_sent_back(high: World) -> None:
    high.cause()
    assert high.refusals(RefuseCause(ONE, " "), APPROVER) == ["act.reason"]
    high.do(RefuseCause(ONE, "the log shows the right dilution"), APPROVER)
    assert high.case().state == "phase 1"
    high.do(FindNoCause(ONE, "none then"), REVIEWER)
    assert high.case().state == "phase 2"


def test_a_result_set_aside_comes_back_if_it_is_calculated_otherwise_and_is_still_outside(high: World) -> None:
    (run, _) = high.kinds()[0]
    high.invalidated()
    high.do(ReopenRun(run, "another limit"), FIRST_ANALYST, REVIEWER)
    high.do(RecalculateRun(run, "the same again"), FIRST_ANALYST)
    with high.site.store.reading() as view:
        assert view.row("investigation", investigation="I-00003") is None
    high.document(specification(upper="0.7"), "ware.yaml")
    high.do(RecalculateRun(run, "the limit is lower now"), FIRST_ANALYST)
    assert high.kinds("I-00003") == [(run, "original")]


def test_a_corrected_calculation_ends_an_investigation_without_a_repeat(high: World) -> None:
    """As where a wrong limit or mass was entered: what was wrong is put right, calculated and reviewed again."""
    (run, _) = high.kinds()[0]
    high.invalidated()
    high.do(ReopenRun(run, "another limit"), FIRST_ANALYST, REVIEWER)
    high.document(specification(upper="1.2"), "ware.yaml")
    high.do(RecalculateRun(run, "the limit was entered wrongly"), FIRST_ANALYST)
    assert high.refusals(CloseInvestigation(ONE, "invalidated", "done"), APPROVER) == ["investigation.no-repeat"]
    high.reviewed(run)
    high.closed("invalidated")
    assert high.conclusion() == "complies with the specification"


@pytest.mark.refuses("OOS V")
def test_a_repeat_outside_the_limit_is_a_new_exceedance(high: World) -> None:
    high.invalidated()
    high.do(plan("repeat", analyst=FIRST_ANALYST), APPROVER)
    repeat = high.measured(HIGH)
    high.closed("invalidated")
    assert high.kinds("I-00003") == [(repeat, "original")]
    assert "I-00003" in high.blockers()["certificate.held"]


@pytest.mark.refuses("OOS V")
def test_a_cause_does_not_carry_off_other_results_outside_the_limit(high: World) -> None:
    other = high.measured(HIGH)
    assert high.kinds()[1] == (other, "unplanned")
    high.cause()
    assert high.refusals(InvalidateResult(ONE, "so be it"), APPROVER) == ["investigation.others-outside"]
    high.do(RefuseCause(ONE, "it names one run"), APPROVER)
    strange = FindCause(ONE, "dilution", "the flask was wrong", PROOF, "", ("R-00001",))
    assert high.refusals(strange, REVIEWER) == ["investigation.also"]
    high.do(FindCause(ONE, "dilution", "the flask was wrong", PROOF, "", (other,)), REVIEWER)
    high.do(InvalidateResult(ONE, "both were diluted with it"), APPROVER)
    assert all(one["set_aside"] for one in high.case().results)


# ------------------------------------------------------------------ readings without a plan


@pytest.mark.refuses("OOS III.B")
@pytest.mark.clause("OOS III")
@pytest.mark.refuses("OOS IV.B")
def test_a_second_run_while_the_laboratory_phase_is_open_is_data_and_never_a_result(high: World) -> None:
    """NEG: accepted as data, marked, not reported, and a finding."""
    done = high.ingest(high.file(high.prepared(), GOOD, FIRST_ANALYST))
    second = only_run(done)
    assert [(one.code, type(one).__name__) for one in done.notices] == [("investigation.unplanned-repeat", "Finding")]
    high.reviewed(second)
    assert high.kinds()[1] == (second, "unplanned")
    high.no_cause()
    high.evaluated()
    high.closed("confirmed")
    assert high.conclusion() == "does not comply with the specification"


@pytest.mark.refuses("OOS V.A")
@pytest.mark.refuses("OOS IV.B")
def test_a_run_after_the_decision_is_unplanned_too(high: World) -> None:
    high.no_cause()
    high.evaluated()
    high.closed("inconclusive")
    later = high.measured(GOOD)
    assert high.kinds()[1] == (later, "unplanned")
    assert high.conclusion() == "does not comply with the specification"


@pytest.mark.refuses("OOS IV.B")
def test_a_new_sample_of_the_lot_is_no_way_round(high: World) -> None:
    number = high.another_sample()
    run = high.measured(GOOD, sample=number)
    assert high.kinds()[1] == (run, "unplanned")
    assert "certificate.held" in high.blockers(number)
    high.no_cause()
    high.evaluated()
    high.closed("confirmed")
    assert list(high.blockers(number)) == ["certificate.retests-only"]


def test_a_sample_registered_before_is_its_own_test_and_held_all_the_same(world: World) -> None:
    number = world.another_sample()
    world.measured(HIGH)
    world.measured(GOOD, sample=number)
    assert len(world.kinds()) == 1
    assert list(world.blockers(number)) == ["certificate.held"]


def renamed(world: World, sample: str, lot: str, *people: str) -> tuple[str, ...]:
    """The lot of a sample is put right; which investigations the effect named before."""
    wrong = CorrectSample(sample, (f"lot={lot}",), "misread", "")
    with world.site.store.reading() as view:
        shown = planned_change(view, world.site.ledger, stamp(world.site.clock()), wanted_by(wrong))
    world.do(replace(wrong, effect=shown.figures), *people)
    return shown.effect.investigations


@pytest.mark.refuses("OOS III")
def test_another_name_for_a_lot_takes_it_out_of_nothing(high: World) -> None:
    """NEG: one analyst calls the held lot otherwise, so that its hold is looked for in vain."""
    with pytest.raises(Stopped) as stop:
        renamed(high, high.sample, "C-1x", FIRST_ANALYST)
    assert [one.code for one in stop.value.notices] == ["correction.consent-needed"]
    assert renamed(high, high.sample, "C-1x", FIRST_ANALYST, REVIEWER) == (ONE,)
    assert "certificate.held" in high.blockers("C-1x")
    assert high.refusals(DraftCertificate("C-1x", ""), FIRST_ANALYST) == ["certificate.held"]
    again = high.measured(GOOD)
    assert high.kinds()[1] == (again, "unplanned")
    assert "certificate.held" in high.blockers(high.another_sample("C-1"))
    high.no_cause()
    high.evaluated()
    high.closed("confirmed")
    assert high.conclusion("C-1x") == "does not comply with the specification"
    assert verify_site(high.site).findings == ()


@pytest.mark.refuses("OOS IV.B")
def test_what_passed_under_another_name_does_not_become_the_lot_by_one_person(high: World) -> None:
    other = high.another_sample("C-7")
    high.measured(GOOD, sample=other)
    with pytest.raises(Stopped) as stop:
        renamed(high, other, "C-1", FIRST_ANALYST)
    assert [one.code for one in stop.value.notices] == ["correction.consent-needed"]
    assert renamed(high, other, "C-8", FIRST_ANALYST) == ()  # no investigation is about either


def test_a_resample_is_of_the_lot_as_it_is_called_now(full: World) -> None:
    renamed(full, full.sample, "C-1x", FIRST_ANALYST, REVIEWER)
    new = full.another_sample("C-1x")
    unfit = plan("resample", analyst=TRACE_ANALYST, sample=new, evidence=PROOF, evidence_name="log.txt")
    full.do(unfit, APPROVER)
    assert [row["sample"] for row in full.case().plans] == [new]


def test_an_earlier_result_is_shown_and_does_not_replace_it(world: World) -> None:
    first = world.measured(GOOD)
    second = world.measured(HIGH)
    assert world.kinds() == [(second, "original"), (first, "earlier")]
    world.no_cause()
    world.evaluated()
    world.closed("confirmed")
    assert world.conclusion() == "does not comply with the specification"


@pytest.mark.clause("OOS III")
def test_a_hypothesis_reading_is_planned_first_and_never_reported(high: World) -> None:
    high.do(plan("hypothesis", analyst="", rule="", rationale="the tube was dirty"), APPROVER)
    reading = high.measured(GOOD)
    assert high.kinds()[1] == (reading, "hypothesis")
    second = high.measured(GOOD)
    assert high.kinds()[2] == (second, "unplanned"), "one was planned"
    high.no_cause()
    high.evaluated()
    high.closed("confirmed")
    assert high.conclusion() == "does not comply with the specification"


# ------------------------------------------------------------------ retests


@pytest.mark.refuses("OOS IV.B.1")
@pytest.mark.refuses("OOS IV.B")
@pytest.mark.parametrize(
    ("act", "codes"),
    [
        (plan("retest", 0), ["investigation.plan-number"]),
        (plan("retest", 21), ["investigation.plan-number"]),
        (plan("retest", rule=" "), ["investigation.empty"]),
        (plan("retest", rationale=""), ["investigation.empty"]),
        (plan("retest", analyst=""), ["investigation.plan-analyst"]),
        (plan("retest", analyst="p-nobody"), ["investigation.plan-analyst"]),
        (plan("retest", analyst=REVIEWER), ["investigation.plan-analyst"]),
        (plan("retest", analyst=FIRST_ANALYST), ["investigation.same-analyst"]),
        (plan("retest", sample="S-00001"), ["investigation.other-sample"]),
        (plan("resample", sample="S-00099", evidence=PROOF), ["investigation.resample-sample"]),
        (plan("resample", sample="S-00001", evidence=PROOF), ["investigation.other-sample"]),
        (plan("resample", evidence=PROOF), ["investigation.resample-sample"]),
        (plan("repeat"), ["investigation.wrong-state"]),
        (plan("hypothesis"), ["investigation.wrong-state"]),
        (plan("lottery"), ["investigation.plan-kind"]),
        (
            plan("retest", 0, rule="", sample="S-00001"),
            ["investigation.empty", "investigation.plan-number", "investigation.other-sample"],
        ),
    ],
)
def test_what_is_no_plan(full: World, act: object, codes: list[str]) -> None:
    assert full.refusals(act, APPROVER) == codes


@pytest.mark.refuses("OOS IV.B.2")
@pytest.mark.refuses("OOS IV.B")
def test_a_resample_without_evidence(full: World) -> None:
    number = full.another_sample()
    assert full.refusals(plan("resample", sample=number), APPROVER) == ["investigation.no-evidence"]
    words = plan("resample", sample=number, evidence=b"enough is left of the sample")
    assert full.refusals(words, APPROVER) == ["investigation.no-evidence"]


@pytest.mark.clause("OOS IV")
@pytest.mark.clause("OOS V.A")
@pytest.mark.clause("OOS IV.B")
@pytest.mark.clause("OOS V")
@pytest.mark.parametrize("outcome", ["confirmed", "inconclusive"])
def test_passing_retests_do_not_replace_the_original(full: World, outcome: str) -> None:
    """NEG: a certificate that shows only passing retests; NEG: an inconclusive outcome that passes by itself."""
    (original, _) = full.kinds()[0]
    full.do(plan("retest", 2), APPROVER)
    retests = [full.measured(GOOD, TRACE_ANALYST) for _ in range(2)]
    assert full.kinds() == [(original, "original"), *((one, "retest") for one in retests)]
    full.evaluated()
    full.closed(outcome)
    assert full.blockers() == {}
    assert full.conclusion() == "does not comply with the specification"
    with full.site.store.reading() as view:
        (drafted,) = view.rows("certificate", lot="C-1")
        content = load(view, Evidence, drafted["content"])
    assert [one.run for one in content.runs] == [original]
    assert "2 further measurements were made and do not replace it" in " ".join(content.certificate.comments)
    number = drafted["number"]
    full.do(ApproveCertificate(number), APPROVER)
    full.do(ReleaseCertificate(number), SECOND_APPROVER)
    finish(full.site, number)
    trust = read_trust(trust_of(full.site))
    assert isinstance(trust, Trust)
    assert verify_certificate((full.site.certificates / f"{number}.pdf").read_bytes(), trust).word == "GENUINE"
    assert verify_site(full.site).findings == ()


@pytest.mark.refuses("OOS V")
def test_a_certificate_cannot_be_made_to_comply_by_another_limit(full: World) -> None:
    (run, _) = full.kinds()[0]
    full.evaluated()
    full.closed("confirmed")
    full.document(specification(upper="1.2"), "ware.yaml")
    full.do(ReopenRun(run, "another limit"), FIRST_ANALYST, REVIEWER)
    full.do(RecalculateRun(run, "another limit"), FIRST_ANALYST)
    assert full.refusals(CancelRun(run, "to try"), FIRST_ANALYST, REVIEWER) == ["run.investigated"]
    full.reviewed(run)
    assert list(full.blockers()) == ["certificate.exceedance-stands"]


@pytest.mark.refuses("OOS IV.B")
def test_a_reading_before_its_plan_is_unplanned(full: World) -> None:
    """NEG: the plan comes after the reading. The run began an hour before the signature."""
    letter = full.prepared()
    early = full.file(letter, GOOD, TRACE_ANALYST)
    full.do(plan("retest"), APPROVER)
    done = full.ingest(early, TRACE_ANALYST)
    assert [one.code for one in done.notices] == ["investigation.unplanned-repeat"]
    assert "before the retest plan was signed" in full.case().results[1]["why"]


@pytest.mark.refuses("OOS IV.B")
def test_one_more_than_planned_is_unplanned(full: World) -> None:
    """NEG: n + 1."""
    full.do(plan("retest"), APPROVER)
    full.measured(GOOD, TRACE_ANALYST)
    full.measured(GOOD, TRACE_ANALYST)
    assert [kind for _, kind in full.kinds()] == ["original", "retest", "unplanned"]
    assert "fixed 1; this is number 2" in full.case().results[2]["why"]


@pytest.mark.refuses("OOS IV.B")
def test_stopping_before_the_planned_number(full: World) -> None:
    """NEG: stop before n. A retest that is not reviewed does not count either."""
    full.do(plan("retest", 2), APPROVER)
    full.answer_all(phase=2)
    full.measured(GOOD, TRACE_ANALYST)
    assert full.refusals(EvaluateResults(ONE, "enough"), REVIEWER) == ["investigation.plan-incomplete"]
    second = full.measured(GOOD, TRACE_ANALYST, review=False)
    assert full.refusals(EvaluateResults(ONE, "enough"), REVIEWER) == ["investigation.plan-incomplete"]
    assert full.refusals(CancelRun(second, "to try"), TRACE_ANALYST, REVIEWER) == ["run.investigated"]
    full.reviewed(second, TRACE_ANALYST)
    full.do(EvaluateResults(ONE, "enough now"), REVIEWER)


@pytest.mark.refuses("OOS IV.B", "P11 11.10(g)")
def test_whoever_measured_the_retest_does_not_weigh_it(full: World) -> None:
    """The second analyst reviews too, and had no part in the original."""
    full.do(ChangeRole(TRACE_ANALYST, Role.REVIEWER, True, "trained"), ADMINISTRATOR)
    full.do(plan("retest", 1), APPROVER)
    full.answer_all(phase=2)
    full.measured(GOOD, TRACE_ANALYST)
    assert full.refusals(EvaluateResults(ONE, "mine agrees with me"), TRACE_ANALYST) == ["duty.own-work"]
    full.do(EvaluateResults(ONE, "weighed"), REVIEWER)


@pytest.mark.refuses("OOS IV.B")
def test_a_plan_with_readings_is_not_changed(full: World) -> None:
    """NEG: the plan is edited after the first reading. Before it, a new one takes its place, and both stay."""
    full.do(plan("retest", 3), APPROVER)
    full.do(plan("retest", 2), APPROVER)
    assert [(one["plan"], one["state"]) for one in full.case().plans] == [("1", "replaced"), ("2", "in force")]
    full.measured(HIGH, TRACE_ANALYST)
    assert full.refusals(plan("retest", 6), APPROVER) == ["investigation.plan-started"]
    full.measured(GOOD, TRACE_ANALYST)
    assert full.refusals(plan("retest", 6), APPROVER) == ["investigation.plan-started"]


@pytest.mark.refuses("OOS IV.B.1")
@pytest.mark.refuses("OOS IV.B")
def test_another_sample_or_analyst_than_planned_is_unplanned(full: World) -> None:
    """NEG: a different sample under a retest."""
    number = full.another_sample()
    full.do(plan("retest", 2), APPROVER)
    full.measured(GOOD, TRACE_ANALYST, sample=number)
    full.measured(GOOD, FIRST_ANALYST)
    whys = [one["why"] for one in full.case().results[1:]]
    assert [kind for _, kind in full.kinds()[1:]] == ["unplanned"] * 2
    assert f"not {number}" in whys[0]
    assert f"names {TRACE_ANALYST}" in whys[1]


@pytest.mark.clause("OOS IV.B.2")
def test_a_resample_with_evidence_is_held_and_reported_by_nobody(full: World) -> None:
    number = full.another_sample()
    full.do(plan("resample", sample=number, evidence=PROOF), APPROVER)
    full.measured(GOOD, TRACE_ANALYST, sample=number)
    assert full.kinds()[1][1] == "resample"
    full.evaluated()
    full.closed("inconclusive")
    assert list(full.blockers(number)) == ["certificate.retests-only"]
    assert full.conclusion(full.sample) == "does not comply with the specification"


@pytest.mark.clause("OOS IV.B.1")
def test_the_same_analyst_with_a_signed_reason(full: World) -> None:
    full.do(plan("retest", analyst=FIRST_ANALYST, same_analyst_reason="nobody else is trained"), APPROVER)
    full.measured(GOOD, FIRST_ANALYST)
    assert full.kinds()[1][1] == "retest"


@pytest.mark.refuses("OOS V.A")
@pytest.mark.refuses("OOS IV")
def test_the_full_investigation_needs_the_review_outside_and_the_approver(full: World) -> None:
    """NEG: close without the quality approver's signature."""
    assert full.refusals(EvaluateResults(ONE, "clear"), REVIEWER) == ["investigation.unanswered"]
    full.evaluated()
    assert full.refusals(CloseInvestigation(ONE, "confirmed", "so be it"), REVIEWER) == ["act.role"]
    assert full.refusals(CloseInvestigation(ONE, "passed", "so be it"), APPROVER) == ["investigation.outcome"]
    assert full.refusals(CloseInvestigation(ONE, "confirmed", ""), APPROVER) == ["investigation.empty"]
    assert full.refusals(CloseInvestigation(ONE, "invalidated", "so"), APPROVER) == ["investigation.wrong-state"]
    assert full.refusals(InvalidateResult(ONE, "so be it"), APPROVER) == ["investigation.wrong-state"]


@pytest.mark.refuses("OOS IV.C.2")
def test_no_outlier_test_is_on_the_way_to_a_result() -> None:
    """NEG: no setting makes an outlier change a result. The statistic is known to typed calculations alone."""
    from pathlib import Path as Folder  # noqa: PLC0415

    import benchseal  # noqa: PLC0415

    users = [
        path.name
        for path in Folder(benchseal.__file__).parent.rglob("*.py")
        if "compute.outliers" in path.read_text(encoding="utf-8")
    ]
    assert users == ["calc_more_quality.py"] or all(name.startswith("calc") for name in users), users


# ------------------------------------------------------------------ other lots


@pytest.mark.clause("P211.192")
def test_another_lot_is_held_with_it_and_let_go_with_it(high: World) -> None:
    act = ExtendInvestigation(ONE, "B-2", "fired in the same kiln")
    before = set(high.blockers("B-2"))
    assert high.refusals(ExtendInvestigation(ONE, "B-2", " "), REVIEWER) == ["act.reason"]
    assert high.refusals(ExtendInvestigation(ONE, "Z-9", "same kiln"), REVIEWER) == ["lot.unknown"]
    assert high.refusals(act, FIRST_ANALYST) == ["act.role"]
    high.do(act, REVIEWER)
    assert high.refusals(act, REVIEWER) == ["investigation.held-already"]
    assert "fired in the same kiln" in high.blockers("B-2")["certificate.held"]
    high.no_cause()
    high.evaluated()
    high.closed("confirmed")
    assert set(high.blockers("B-2")) == before
    assert verify_site(high.site).findings == ()


# ------------------------------------------------------------------ patterns, age, what stands beside a question


def test_a_voided_exceedance_is_named_before_anything_is_approved(world: World) -> None:
    """The check standard that closes the bracket fails, whatever was read in it; the repeat is within the limit."""
    lost = only_run(world.ingest(world.file(world.prepared(), HIGH, FIRST_ANALYST, check=0.7)))
    world.reviewed(lost)
    assert world.blockers().keys() == {"certificate.no-result"}, "a check that failed voids; nothing is opened"
    again = world.measured(GOOD)
    with world.site.store.reading() as view:
        found = of_lot(view, world.sample)
        assert of_site(view) == found
    assert [one.code for one in found] == ["pattern.voided-exceedance"]
    assert f"{lost} read about 0.9" in found[0].what
    assert f"{again} gives 0.31" in found[0].what
    drafted = world.do(DraftCertificate("C-1", ""), FIRST_ANALYST)
    assert any(line.startswith("Look first: ") and lost in line for line in drafted.said)


@pytest.mark.clause("OOS V.C")
def test_age_is_counted_in_working_days_and_named_when_it_is_too_long(high: World) -> None:
    high.clock.now = high.clock.now.replace(hour=8)
    opened = high.clock.now
    high.later(days=28)
    with high.site.store.reading() as view:
        case = case_of(view, ONE)
        assert age_days(view, case, high.clock.now) in {19, 20, 21}
        late = overdue(view, case, opened + timedelta(days=31))
    assert late
    high.later(days=3)
    assert any(one.code == "doctor.investigation-overdue" and one.where == ONE for one in examine(high.site))
    looked = status(high.site)
    assert looked.investigations_overdue >= 1
    assert "overdue" in looked.line
    high.no_cause()
    high.evaluated()
    high.closed("confirmed")
    assert not any(one.where == ONE for one in examine(high.site) if one.code == "doctor.investigation-overdue")


@pytest.mark.refuses("OOS V.C")
def test_no_work_on_it_makes_it_younger(high: World) -> None:
    """NEG: answers, a note that somebody was told, another lot held with it, a plan: it is overdue all the same."""
    high.later(days=40)
    high.do(AnswerLine(ONE, "dilution", "as written", PROOF, ""), REVIEWER)
    high.do(ExtendInvestigation(ONE, "B-2", "fired in the same kiln"), REVIEWER)
    high.no_cause()
    high.do(plan("retest"), APPROVER)
    assert any(one.code == "doctor.investigation-overdue" and one.where == ONE for one in examine(high.site))
    assert status(high.site).investigations_overdue >= 1


@pytest.mark.refuses("OOS V.C")
def test_a_customer_not_told_is_overdue_after_a_working_day(world: World) -> None:
    world.document(specification("notify"), "ware.yaml")
    world.measured(HIGH)
    world.later(days=4)
    assert any(one.code == "doctor.investigation-overdue" and one.where == ONE for one in examine(world.site))


@pytest.mark.clause("OOS III")
def test_facts_stand_beside_the_questions_and_none_beside_what_is_not_on_record(high: World) -> None:
    with high.site.store.reading() as view:
        facts = facts_of(view, case_of(view, ONE))
    assert any("standard lot" in line for line in facts["calibration"])
    assert any("check-standard" in line and "pass" in line for line in facts["checks"])
    assert any("method-blank" in line for line in facts["blanks"])
    assert any("made up to 350 mL" in line for line in facts["dilution"])
    assert any(FIRST_ANALYST in line for line in facts["preparation"])
    assert any("position" in line for line in facts["mix-up"])
    assert any("serial" in line for line in facts["instrument"])
    assert "solutions" not in facts
    assert "production" not in facts


def test_what_it_says_of_itself_is_what_was_signed(full: World) -> None:
    """The record under a signature holds every answer and result known by then."""
    with full.site.store.reading() as view:
        rows = view.rows("signature", subject=f"investigation/{ONE}", meaning="reviewed")
        record = load(view, CaseRecord, rows[0]["digest"])
    assert record.step == "no cause"
    assert {one.line for one in record.answers} == {line.name for line in LINES if line.phase == 1}
    assert [one.kind for one in record.results] == ["original"]
