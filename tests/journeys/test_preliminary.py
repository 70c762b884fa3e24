"""Figures before the certificate: reviewed only, marked as such, who gets them on record. All invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.desk.test_corrections import do
from tests.desk.test_preliminary_told import area, reviewed
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, Line
from tests.journeys.test_demo import trust
from tests.journeys.test_sums import measured

from benchseal.certificate.preliminary import paper_of
from benchseal.desk.acts_certificates import (
    ApproveCertificate,
    DraftCertificate,
    GivePreliminary,
    ReleaseCertificate,
)
from benchseal.desk.acts_runs import IngestFile
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.preliminary import preliminary_pdf
from benchseal.desk.reading import load
from benchseal.desk.sealing import finish
from benchseal.problems import Stopped
from benchseal.records.preliminary import Preliminary
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import Stage

TO, WHY = "J. Reed, purchasing", "the plates wait at the gate"


def given(stage: Stage, lot: str = "C-1") -> str:
    return str(perform(stage.site, GivePreliminary(lot, TO, WHY), stage.key(APPROVER)).data["number"])


def refusal(stage: Stage, lot: str, given_to: str = TO, why: str = WHY) -> tuple[str, str]:
    with pytest.raises(Stopped) as stop:
        perform(stage.site, GivePreliminary(lot, given_to, why), stage.key(APPROVER))
    (one,) = stop.value.notices
    return one.code, one.what


@pytest.mark.clause("17025 7.8.1.1", "P11 11.10(e)")
def test_reviewed_figures_go_out_once_with_who_got_them_until_the_certificate_takes_their_place(stage: Stage) -> None:
    measured(stage)
    number = given(stage)
    with stage.site.store.reading() as view:
        row = view.row("preliminary", number=number)
        assert row is not None
        assert (row["given_to"], row["lot"], row["person"]) == (TO, "C-1", APPROVER)
        record = load(view, Preliminary, row["figures"])
        paper = paper_of(record)
        first, again = preliminary_pdf(view, number), preliminary_pdf(view, number)
    assert first == again
    printed = {line.substance: line.value for line in paper.lines}
    certificate = str(perform(stage.site, DraftCertificate("C-1", ""), stage.key(ANALYST)).data["number"])
    perform(stage.site, ApproveCertificate(certificate), stage.key(APPROVER))
    perform(stage.site, ReleaseCertificate(certificate), stage.key(APPROVER))
    said = finish(stage.site, certificate).said
    assert any(line.startswith(f"{number} is void now. Tell {TO}, who got it on ") for line in said)
    results = {line.element: line for figure in record.figures for line in [figure.result]}
    assert set(results) == {"Pb", "Cd"}
    assert set(printed) == {"Lead", "Cadmium"}
    assert refusal(stage, "C-1")[0] == "preliminary.issued"
    assert verify_site(stage.site).findings == ()


@pytest.mark.refuses("17025 7.8.1.1", "P11 11.30")
def test_the_paper_cannot_pass_for_a_certificate(stage: Stage) -> None:
    measured(stage)
    number = given(stage)
    with stage.site.store.reading() as view:
        pdf = preliminary_pdf(view, number)
    report = verify_certificate(pdf, trust(stage))
    assert report.word != "GENUINE"
    assert b"evidence.json" not in pdf


@pytest.mark.refuses("P11 11.10(f)", "P11 11.10(g)", "17025 7.8.1.1")
def test_what_is_not_reviewed_has_no_figure(stage: Stage) -> None:
    code, what = refusal(stage, "C-1")
    assert code == "preliminary.none"
    assert "Pb: it was not measured" in what
    assert what.endswith(".")
    assert not {";.", ".;", ".."} & {what[at : at + 2] for at in range(len(what))}
    data = (stage.site.folder / "inbox" / "flame-ware.txt").read_bytes()
    perform(stage.site, IngestFile(data, "plates.txt", "", ()), stage.key(ANALYST))
    code, what = refusal(stage, "C-1")
    assert code == "preliminary.none"
    assert "is draft" in what
    for person in (ANALYST, REVIEWER):
        with pytest.raises(Stopped) as stop:
            perform(stage.site, GivePreliminary("C-1", TO, WHY), stage.key(person))
        assert [one.code for one in stop.value.notices] == ["act.role"]


@pytest.mark.refuses("OOS III")
def test_what_is_held_has_no_figure(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        (hold,) = view.rows("hold", is_open=1)
    number = given(stage, str(hold["sample"]))
    with stage.site.store.reading() as view:
        row = view.row("preliminary", number=number)
        assert row is not None
        record = load(view, Preliminary, row["figures"])
    told = {one.result.element for one in record.figures}
    waiting = {one.requirement.element: one.why for one in record.not_yet}
    assert told
    assert hold["element"] not in told
    assert waiting[hold["element"]].startswith("held: ")
    (line,) = (line for line in paper_of(record).lines if not line.run)
    assert line.value == "not yet"


@pytest.mark.parametrize("name", ["", "   ", "x" * 201, "J. Reed\x1b[2J"], ids=["none", "blank", "long", "control"])
def test_a_recipient_is_somebody(stage: Stage, name: str) -> None:
    measured(stage)
    assert refusal(stage, "C-1", name)[0] == "preliminary.recipient"


def test_a_reason_is_given(stage: Stage) -> None:
    measured(stage)
    assert refusal(stage, "C-1", why=" ")[0] == "act.reason"


def test_at_the_command_line(stage: Stage, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    measured(stage)
    line = Line(stage.site.folder, capsys)
    file, second = tmp_path / "figures.pdf", tmp_path / "again.pdf"
    words = ("certificate", "preliminary", "C-1", "--to", TO, "--reason", WHY, "--out")
    made = line(*words, str(file), "--json", by=(APPROVER,))
    assert made.code == 0, made.err
    number = str(made.json["number"])
    assert (made.json["figures"], made.json["not_yet"]) == (2, 0)
    shown = line("certificate", "show", number, "--pdf", str(second), by=(ANALYST,))
    assert shown.code == 0, shown.err
    assert f"{number} (preliminary figures): given" in shown.out
    assert file.read_bytes() == second.read_bytes()
    listed = line("certificate", "list", "--preliminary", "--json", by=(ANALYST,)).json["preliminary"]
    assert [row["given_to"] for row in listed] == [TO]
    unknown = line("certificate", "show", "P-2026-00099", by=(ANALYST,))
    assert unknown.err.startswith("preliminary.unknown:"), unknown.err
    nowhere = line(*words, str(tmp_path / "no" / "x.pdf"), by=(APPROVER,))
    assert nowhere.err.startswith("file.not-written:"), nowhere.err


def test_who_has_other_figures_is_told_at_the_command_line(stage: Stage, capsys: pytest.CaptureFixture[str]) -> None:
    measured(stage)
    number = given(stage)
    do(stage, area(stage, "2.00"), ANALYST, REVIEWER)
    reviewed(stage)
    line = Line(stage.site.folder, capsys)
    (row,) = line("certificate", "list", "--preliminary", "--json", by=(ANALYST,)).json["preliminary"]
    assert row["to_tell"].startswith("Pb")
    shown = line("certificate", "show", number, by=(ANALYST,))
    assert "to be told: Pb" in shown.out
    told = line("certificate", "figures-told", number, "--who", TO, "--how", "by letter", by=(REVIEWER,))
    assert told.code == 0, told.err
    shown = line("certificate", "show", number, by=(ANALYST,))
    assert f"by {REVIEWER}: {TO}, by letter" in shown.out
    assert "to be told" not in shown.out
