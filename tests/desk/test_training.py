"""Training: who enters it, and what is refused without it, with who can lift it. All invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import ADMIN, APPROVER, FLAME, REVIEWER, SECOND, TRACE, bring_in, do, rules
from tests.desk.test_accounts import refused
from tests.desk.test_corrections import MASS
from tests.desk.test_instruments import whole

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_runs import AcceptRuns, SubmitRuns
from benchseal.desk.acts_training import AddTraining, WithdrawTraining
from benchseal.desk.clock import stamp
from benchseal.desk.correcting import plan
from benchseal.desk.corrections import wanted_by
from benchseal.desk.perform import perform
from benchseal.desk.reading import load
from benchseal.desk.submitting import operators
from benchseal.problems import Stopped
from benchseal.records.run import Run
from benchseal.shipped import starter

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.desk.acts_corrections import CorrectPreparation

WHEN = "2099-12-31"
LONG_AGO = f"{datetime.now(UTC) - timedelta(days=60):%Y-%m-%d}"


def fact(person: str, subject: str, **changes: object) -> AddTraining:
    return AddTraining(person, subject, **{"until": WHEN, "evidence": "course sheet 14", **changes})  # type: ignore[arg-type]


def trained(stage: Stage, person: str, subject: str, **changes: object) -> str:
    by = SECOND if person == APPROVER else APPROVER
    return str(do(stage, fact(person, subject, **changes), by).data["training"])


def stopped(stage: Stage, act: object, person: str) -> list[tuple[str, str]]:
    with pytest.raises(Stopped) as stop:
        do(stage, act, person)
    return [(one.code, str(one)) for one in stop.value.notices]


def method_of(stage: Stage, run: str) -> str:
    with stage.site.store.reading() as view:
        row = view.row("run", run=run)
        assert row is not None
        return f"method/{row['method']}"


# ------------------------------------------------------------------ who enters what


@pytest.mark.clause("17025 6.2")
@pytest.mark.clause("P11 11.10(i)")
def test_an_approver_enters_training_and_says_who_may_train(stage: Stage) -> None:
    number = trained(stage, FLAME, "instrument/flame-1", trainer=True)
    assert number == "T-00001"
    assert do(stage, fact(TRACE, "instrument/flame-1"), FLAME).data["training"] == "T-00002"
    with stage.site.store.reading() as view:
        rows = view.rows("training")
    assert [(row["person"], row["entered_by"], row["may_train"]) for row in rows] == [
        (FLAME, APPROVER, 1),
        (TRACE, FLAME, 0),
    ]
    assert whole(stage)


@pytest.mark.refuses("P11 11.10(i)")
@pytest.mark.parametrize(
    ("person", "act", "code"),
    [
        pytest.param(APPROVER, fact(APPROVER, "role/approver"), "training.own", id="one's own"),
        pytest.param(FLAME, fact(TRACE, "role/analyst"), "training.not-trainer", id="nobody said they may"),
        pytest.param(
            FLAME, fact(TRACE, "instrument/flame-1", trainer=True), "training.not-trainer", id="makes trainers"
        ),
        pytest.param(ADMIN, fact(TRACE, "role/analyst"), "act.role", id="an administrator"),
        pytest.param(APPROVER, fact("nobody.here", "role/analyst"), "person.unknown", id="nobody of this name"),
        pytest.param(APPROVER, fact(TRACE, "role/wizard"), "training.subject", id="no role"),
        pytest.param(APPROVER, fact(TRACE, "method/zinc-by-eye"), "training.subject", id="no method in force"),
        pytest.param(APPROVER, fact(TRACE, "instrument/flame-9"), "training.subject", id="no instrument"),
        pytest.param(APPROVER, fact(TRACE, "role/analyst", evidence=" "), "training.evidence", id="no evidence"),
        pytest.param(APPROVER, fact(TRACE, "role/analyst", until="soon"), "training.days", id="no day"),
        pytest.param(APPROVER, fact(TRACE, "role/analyst", until="2001-01-01"), "training.days", id="ends first"),
        pytest.param(APPROVER, WithdrawTraining("T-00009", "changed"), "training.unknown", id="takes back nothing"),
        pytest.param(APPROVER, WithdrawTraining("T-00009", " "), "act.reason", id="takes back without a reason"),
    ],
)
def test_what_is_no_training_fact(stage: Stage, person: str, act: object, code: str) -> None:
    assert refused(lambda: do(stage, act, person)) == code


@pytest.mark.refuses("P11 11.10(i)")
def test_a_trainer_s_own_training_may_end(stage: Stage) -> None:
    number = trained(stage, FLAME, "instrument/flame-1", trainer=True)
    do(stage, WithdrawTraining(number, "instrument changed"), APPROVER)
    assert refused(lambda: do(stage, fact(TRACE, "instrument/flame-1"), FLAME)) == "training.not-trainer"
    assert refused(lambda: do(stage, WithdrawTraining(number, "again"), APPROVER)) == "training.withdrawn"


# ------------------------------------------------------------------ gates


def test_without_rules_nobody_is_asked(stage: Stage) -> None:
    runs = bring_in(stage)
    do(stage, SubmitRuns(tuple(runs)), FLAME)
    do(stage, AcceptRuns(tuple(runs)), REVIEWER)


@pytest.mark.refuses("17025 6.2")
@pytest.mark.refuses("P11 11.10(i)", "P11 11.10(g)")
def test_each_gate_names_what_lacks_and_who_can_enter_it(stage: Stage) -> None:
    runs = bring_in(stage)
    method = method_of(stage, runs[0])
    rules(stage, "training: required")
    submit, accept = SubmitRuns((runs[0],)), AcceptRuns((runs[0],))
    found = stopped(stage, submit, FLAME)
    assert {code for code, _ in found} == {"training.missing"}
    assert any(f"{method}@1" in words for _, words in found)
    assert any("instrument/flame-1" in words for _, words in found)
    assert all(APPROVER in words and SECOND in words for _, words in found)
    trained(stage, FLAME, method)
    assert len(stopped(stage, submit, FLAME)) == 2  # today, but neither method nor instrument on the day of the run
    trained(stage, FLAME, method, since=LONG_AGO)
    ((_, words),) = stopped(stage, submit, FLAME)
    assert "instrument/flame-1" in words
    trained(stage, FLAME, "instrument/flame-1", since=LONG_AGO)
    do(stage, submit, FLAME)
    ((code, words),) = stopped(stage, accept, REVIEWER)
    assert (code, "role/reviewer" in words) == ("training.missing", True)
    trained(stage, REVIEWER, "role/reviewer")
    do(stage, accept, REVIEWER)
    assert whole(stage)


@pytest.mark.refuses("17025 6.2")
@pytest.mark.refuses("P11 11.10(i)")
def test_training_counts_for_its_version_and_until_it_ends(stage: Stage) -> None:
    runs = bring_in(stage)
    method = method_of(stage, runs[0])
    rules(stage, "training: required")
    trained(stage, FLAME, "instrument/flame-1", since=LONG_AGO)
    yesterday = f"{datetime.now(UTC) - timedelta(days=1):%Y-%m-%d}"
    trained(stage, FLAME, method, since=LONG_AGO, until=yesterday)
    ((_, words),) = stopped(stage, SubmitRuns((runs[0],)), FLAME)
    assert f"the last held until {yesterday}" in words
    number = trained(stage, FLAME, f"{method}@1", since=LONG_AGO)
    do(stage, WithdrawTraining(number, "method changed"), APPROVER)
    assert stopped(stage, SubmitRuns((runs[0],)), FLAME)


@pytest.mark.refuses("P11 11.10(i)")
def test_an_approver_without_training_approves_nothing(stage: Stage) -> None:
    rules(stage, "training: required")
    text = starter("layouts/comma-list.yaml").replace("title: ", "title: Another ", 1)
    do(stage, AddDocument(text.encode(), "layout.yaml"), FLAME)
    assert stopped(stage, ApproveDocument("layout/comma-list"), APPROVER)[0][0] == "training.missing"
    trained(stage, APPROVER, "role/approver")
    do(stage, ApproveDocument("layout/comma-list"), APPROVER)


@pytest.mark.refuses("P11 11.10(i)", "17025 6.2")
def test_nobody_corrects_what_a_method_made_that_they_are_not_trained_for(stage: Stage) -> None:
    """NEG: the analyst of the run, the right roles and a consent; every method whose run would change is named."""
    rules(stage, "training: required")
    trained(stage, REVIEWER, "role/reviewer")
    with stage.site.store.reading() as view:
        shown = plan(view, stage.site.ledger, stamp(stage.site.clock()), wanted_by(MASS))
        methods = sorted({f"method/{one.worked.run.method_ref.id}" for one in shown.runs})
        before = view.size()
    act = replace(MASS, effect=shown.figures)
    assert methods
    for method in methods:
        found = missing(stage, act)
        assert any(method in words for words in found)
        assert all(APPROVER in words for words in found)
        with stage.site.store.reading() as view:
            assert view.size() == before
        trained(stage, FLAME, method, since=LONG_AGO)
        before += 1
    perform(stage.site, act, stage.key(FLAME), stage.key(REVIEWER))
    assert whole(stage)


def missing(stage: Stage, act: CorrectPreparation) -> list[str]:
    with pytest.raises(Stopped) as stop:
        perform(stage.site, act, stage.key(FLAME), stage.key(REVIEWER))
    assert {one.code for one in stop.value.notices} == {"training.missing"}
    return [str(one) for one in stop.value.notices]


def test_who_brought_a_file_in_counts_where_it_names_nobody(stage: Stage) -> None:
    runs = bring_in(stage)
    with stage.site.store.reading() as view:
        row = view.row("run", run=runs[0])
        assert row is not None
        bound = load(view, Run, row["bound"])
        assert operators(view, row, bound) == [FLAME]
        facts = replace(bound.document.facts, operator="somebody from elsewhere")
        other = replace(bound, document=replace(bound.document, facts=facts))
        assert operators(view, row, other) == [FLAME]
