"""Which version of the program calculated what, and who received it. Versions but the first are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import ADMIN, APPROVER, FLAME, bring_in, do, entries, kinds
from tests.desk.test_accounts import refused
from tests.desk.test_instruments import whole

from benchseal import __version__
from benchseal.desk import acting
from benchseal.desk.acts_people import UnlockPerson
from benchseal.desk.acts_periodic import SignPeriodic
from benchseal.desk.acts_runs import RecalculateRun
from benchseal.desk.impact import Impact, impact_of, periods_of
from benchseal.desk.periodic import listed, report_of

if TYPE_CHECKING:
    from tests.conftest import Stage


def impact(stage: Stage, program: str) -> Impact:
    with stage.site.store.reading() as view:
        return impact_of(view, program)


def upgrade(monkeypatch: pytest.MonkeyPatch, version: str = "0.2.0") -> None:
    monkeypatch.setattr(acting, "__version__", version)


@pytest.mark.clause("P11 11.10(e)", "A11 13")
def test_every_result_and_certificate_of_a_version_with_lots_and_recipients(stage: Stage) -> None:
    found = impact(stage, __version__)
    with stage.site.store.reading() as view:
        assert len(found.results) == len(view.rows("result"))
        lots = {row["sample"]: row["lot"] for row in view.rows("sample")}
        numbers = [row["number"] for row in view.rows("certificate")]
        customers = {row["customer"]: row["name"] for row in view.rows("customer")}
    assert all(one.lot == lots[one.sample] for one in found.results)
    assert [one.number for one in found.certificates] == numbers
    assert all(one.runs and one.page for one in found.certificates)
    assert all(one.recipient.startswith(customers[one.customer]) for one in found.certificates)
    assert any(one.deliveries for one in found.certificates)


def test_a_version_that_wrote_nothing_is_said(stage: Stage) -> None:
    assert refused(lambda: impact(stage, "9.9.9")) == "impact.version-unknown"


def test_another_version_notes_itself_once_before_it_acts(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    before = len(entries(stage))
    upgrade(monkeypatch)
    for _ in range(2):
        do(stage, UnlockPerson(FLAME, "asked"), ADMIN)
    assert kinds(stage, last=3) == ["program.changed", "person.unlocked", "person.unlocked"]
    assert [(one.program, one.first, one.last) for one in periods_of(entries(stage))] == [
        (__version__, 1, before),
        ("0.2.0", before + 1, 0),
    ]
    assert whole(stage)


def test_a_version_that_was_refused_leaves_no_note(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    upgrade(monkeypatch)
    before = len(entries(stage))
    assert refused(lambda: do(stage, UnlockPerson("nobody.here", "asked"), ADMIN)) == "person.unknown"
    assert len(entries(stage)) == before


@pytest.mark.clause("A11 13")
def test_a_later_version_answers_for_what_it_calculated_alone(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    first = impact(stage, __version__)
    upgrade(monkeypatch)
    runs = bring_in(stage)
    second = impact(stage, "0.2.0")
    assert {one.run for one in second.results} == set(runs)
    assert second.certificates == ()
    assert impact(stage, __version__).results == first.results


def test_a_calculation_repeated_by_two_versions_is_of_both(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    (run, *_) = bring_in(stage)
    upgrade(monkeypatch)
    do(stage, RecalculateRun(run, "new version"), FLAME)
    for program in (__version__, "0.2.0"):
        assert run in {one.run for one in impact(stage, program).results}
    assert whole(stage)


# ------------------------------------------------------------------ the periodic review


def report(stage: Stage, *amiss: str) -> dict[str, object]:
    with stage.site.store.reading() as view:
        return {**report_of(view, view.size(), amiss)}


def figures(stage: Stage, *amiss: str) -> str:
    with stage.site.store.reading() as view:
        return listed(report_of(view, view.size(), amiss))


@pytest.mark.clause("A11 11")
def test_the_report_holds_versions_incidents_changes_and_what_was_last_done(
    stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    upgrade(monkeypatch)
    do(stage, UnlockPerson(FLAME, "asked"), ADMIN)
    found = report(stage, "doctor.backup backup")
    programs = found["programs"]
    assert isinstance(programs, list)
    assert [one["program"] for one in programs] == [__version__, "0.2.0"]
    incidents, changes = found["incidents"], found["changes"]
    assert isinstance(incidents, list)
    assert isinstance(changes, list)
    assert {"file.refused", "investigation.opened"} <= {one["kind"] for one in incidents}
    assert {"document.approved", "program.changed"} <= {one["kind"] for one in changes}
    assert found["amiss"] == ["doctor.backup backup"]
    counts = found["counts"]
    assert isinstance(counts, dict)
    assert sum(counts.values()) == len(entries(stage))


@pytest.mark.clause("A11 11")
def test_signing_keeps_what_was_looked_at_and_the_next_report_begins_after_it(stage: Stage) -> None:
    amiss = ("doctor.backup backup",)
    seen, upto = figures(stage, *amiss), len(entries(stage))
    do(stage, UnlockPerson(FLAME, "work goes on meanwhile"), ADMIN)
    do(stage, SignPeriodic(seen, amiss, "backup to be made today"), APPROVER)
    assert report(stage)["since"] == upto + 1
    with stage.site.store.reading() as view:
        (row,) = view.rows("periodic_review")
        kept = view.bytes_of(row["report"])
    assert b'"amiss":["doctor.backup backup"]' in kept
    assert row["person"] == APPROVER
    assert whole(stage)


@pytest.mark.refuses("A11 11")
@pytest.mark.parametrize(
    ("amiss", "comment", "person", "code"),
    [
        pytest.param((), "all right", APPROVER, "periodic.changed", id="something else is amiss now"),
        pytest.param(("doctor.backup backup",), " ", APPROVER, "act.reason", id="no comment"),
        pytest.param(("doctor.backup backup",), "all right", FLAME, "act.role", id="an analyst"),
    ],
)
def test_what_is_no_periodic_review(stage: Stage, amiss: tuple[str, ...], comment: str, person: str, code: str) -> None:
    act = SignPeriodic(figures(stage, "doctor.backup backup"), amiss, comment)
    assert refused(lambda: do(stage, act, person)) == code


@pytest.mark.refuses("A11 11")
@pytest.mark.parametrize("named", ["", "1", "0-1a2b3c4d", "99999-1a2b3c4d", "-3-1a2b3c4d", "²-1a2b3c4d"])
def test_figures_of_no_report(stage: Stage, named: str) -> None:
    assert refused(lambda: do(stage, SignPeriodic(named, (), "all right"), APPROVER)) == "periodic.changed"
