"""Holders of preliminary figures that are others now: named until somebody says that they were told. All invented."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.desk.test_corrections import do, seen
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, Line
from tests.journeys.test_sums import measured

from benchseal.desk.acts_certificates import (
    ApproveCertificate,
    DraftCertificate,
    GivePreliminary,
    NoteHolderTold,
    ReleaseCertificate,
)
from benchseal.desk.acts_corrections import CorrectPreparation
from benchseal.desk.acts_runs import AcceptRuns, ReopenRun, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.preliminary_told import ToTell, to_be_told
from benchseal.desk.rebuilding import rebuild_site
from benchseal.desk.sealing import finish
from benchseal.problems import Stopped
from benchseal.upkeep.doctor import examine

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.desk.acting import Receipt

TO = "J. Reed, purchasing"


def given(stage: Stage) -> str:
    """Reviewed figures of the plates, in somebody's hand."""
    measured(stage)
    act = GivePreliminary("C-1", TO, "the plates wait at the gate")
    return str(perform(stage.site, act, stage.key(APPROVER)).data["number"])


def area(stage: Stage, text: str) -> CorrectPreparation:
    """The area of the first plate, put right."""
    with stage.site.store.reading() as view:
        sample = view.rows("sample", lot="C-1")[0]["sample"]
        row = view.rows("portion", sample=sample)[0]
    return CorrectPreparation(f"{row['batch']}/{row['portion']}", (f"area_dm2={text}",), "read from the other side", "")


def reviewed(stage: Stage) -> Receipt:
    with stage.site.store.reading() as view:
        runs = tuple(str(row["run"]) for row in view.rows("run", correcting=1))
    perform(stage.site, SubmitRuns(runs), stage.key(ANALYST))
    return perform(stage.site, AcceptRuns(runs), stage.key(REVIEWER))


def waiting(stage: Stage) -> list[ToTell]:
    with stage.site.store.reading() as view:
        return to_be_told(view)


def tell(stage: Stage, number: str, who: str = TO, how: str = "by telephone") -> Receipt:
    return perform(stage.site, NoteHolderTold(number, who, how), stage.key(ANALYST))


def refused(stage: Stage, number: str, who: str = TO, how: str = "by telephone") -> str:
    with pytest.raises(Stopped) as stop:
        tell(stage, number, who, how)
    return stop.value.notices[0].code


def released(stage: Stage) -> Receipt:
    number = str(perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(number), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(number), stage.key(APPROVER))
    return finish(stage.site, number)


def named(stage: Stage) -> list[str]:
    return [one.where for one in examine(stage.site) if one.code == "doctor.to-be-told"]


@pytest.mark.clause("17025 7.8.1.1")
def test_a_correction_names_them_from_the_review_until_they_were_told(stage: Stage) -> None:
    number = given(stage)
    assert waiting(stage) == []
    act = area(stage, "2.00")
    do(stage, act, ANALYST, REVIEWER)
    assert waiting(stage) == []  # what it comes to is not reviewed yet
    said = reviewed(stage).said
    (one,) = waiting(stage)
    assert (one.row["number"], one.row["given_to"]) == (number, TO)
    assert [line.split()[0] for line in one.lines] == ["Pb", "Cd"]
    assert all(" was " in line and ", now " in line for line in one.lines)
    assert one.said in said
    assert named(stage) == [number]
    assert tell(stage, number).said == (f"{number}: {TO} told: {'; '.join(one.lines)}",)
    assert waiting(stage) == []
    assert named(stage) == []
    assert verify_site(stage.site).findings == ()
    assert rebuild_site(stage.site) == 0


def test_who_was_told_is_told_again_where_it_changes_again_even_back_to_what_it_was(stage: Stage) -> None:
    number = given(stage)
    with stage.site.store.reading() as view:
        first = view.rows("preliminary")[0]
    do(stage, area(stage, "2.00"), ANALYST, REVIEWER)
    reviewed(stage)
    (before,) = waiting(stage)
    tell(stage, number)
    do(stage, area(stage, "2.50"), ANALYST, REVIEWER)
    reviewed(stage)
    (again,) = waiting(stage)
    assert [line.split(" was ")[1].split(", now ") for line in again.lines] == [
        line.split(" was ")[1].split(", now ")[::-1] for line in before.lines
    ]
    assert again.row == first


def test_a_correction_says_beforehand_who_has_figures_it_changes(
    stage: Stage, capsys: pytest.CaptureFixture[str]
) -> None:
    number = given(stage)
    act = area(stage, "2.00")
    line = Line(stage.site.folder, capsys)
    shown = line("preparation", "correct", act.subject, "--set", "area_dm2=2.00", "--reason", "x", by=(ANALYST,))
    assert f"{number}: {TO} has figures of it" in shown.out
    figures = seen(stage, act).figures
    done = perform(stage.site, replace(act, effect=figures), stage.key(ANALYST), stage.key(REVIEWER))
    assert any(said.startswith(f"{number}: {TO} has figures of it") for said in done.said)


@pytest.mark.clause("17025 7.8.1.1")
def test_a_release_with_other_figures_names_them_and_one_with_the_same_does_not(stage: Stage) -> None:
    number = given(stage)
    do(stage, area(stage, "2.00"), ANALYST, REVIEWER)
    reviewed(stage)
    said = released(stage).said
    assert any(line.startswith(f"{number}: tell {TO}: Pb") for line in said)
    assert [one.row["number"] for one in waiting(stage)] == [number]
    tell(stage, number)
    assert waiting(stage) == []


def test_a_release_with_the_same_figures_names_nobody(stage: Stage) -> None:
    given(stage)
    said = released(stage).said
    assert not any(": tell " in line for line in said)
    assert waiting(stage) == []


def test_a_run_opened_again_and_cancelled_leaves_no_figure(stage: Stage) -> None:
    from benchseal.desk.acts_runs import CancelRun, ReturnRuns  # noqa: PLC0415

    number = given(stage)
    with stage.site.store.reading() as view:
        run = next(
            str(row["run"]) for row in view.rows("run", element="Cd") if row["method"].startswith("cadmium-flame")
        )
    perform(stage.site, ReopenRun(run, "the tube was another"), stage.key(ANALYST), stage.key(REVIEWER))
    assert waiting(stage) == []
    perform(stage.site, SubmitRuns((run,)), stage.key(ANALYST))
    perform(stage.site, ReturnRuns((run,), "it is no result"), stage.key(REVIEWER))
    perform(stage.site, CancelRun(run, "the tube was another"), stage.key(ANALYST), stage.key(REVIEWER))
    (one,) = waiting(stage)
    (line,) = one.lines
    assert line.startswith("Cd")
    assert ", now no figure: " in line
    assert one.row["number"] == number


@pytest.mark.refuses("17025 7.8.1.1")
@pytest.mark.parametrize(
    ("who", "how", "code"),
    [(" ", "by telephone", "preliminary.told-whom"), (TO, "", "preliminary.told-whom"), (TO, "x", "")],
)
def test_telling_says_whom_and_how_and_is_of_a_paper_that_changed(stage: Stage, who: str, how: str, code: str) -> None:
    number = given(stage)
    assert refused(stage, "P-2026-00099") == "preliminary.unknown"
    assert refused(stage, number) == "preliminary.nothing-to-tell"
    do(stage, area(stage, "2.00"), ANALYST, REVIEWER)
    assert refused(stage, number) == "preliminary.nothing-to-tell"  # nothing is reviewed yet
    reviewed(stage)
    if code:
        assert refused(stage, number, who, how) == code
    else:
        tell(stage, number, who, how)
        assert refused(stage, number) == "preliminary.nothing-to-tell"
