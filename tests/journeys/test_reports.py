"""Reports of records by the command line: on paper, as CSV, and only what is new since one's own review."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import subprocess
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, REVIEWER

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

NUMBER = "C-2026-00001"
OLD, NEW = "title: Released results, comma separated", "title: Released results for the works"


def words_of(pdf: Path) -> str:
    done = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True)  # noqa: S603, S607
    return " ".join(done.stdout.split())


@pytest.mark.clause("P11 11.50(b)")
@pytest.mark.clause("A11 8.1")
def test_the_trail_of_a_certificate_on_paper_shows_each_signature_and_role(line: Line, tmp_path: Path) -> None:
    before = line.kept()
    answer = line("report", "trail", NUMBER, "--out", str(tmp_path / "trail"), "--json", by=(REVIEWER,))
    assert (answer.code, answer.json["entries"]) == (0, 4), answer
    assert line.kept() == before
    paper = words_of(tmp_path / "trail" / "trail.pdf")
    for (statement,) in line.rows(f"SELECT statement FROM signature WHERE subject = 'certificate/{NUMBER}'"):  # noqa: S608
        signed = json.loads(statement)
        assert f"{signed['printed_name']} ({signed['person']})" in paper
        assert f"{signed['meaning']}: I" in paper
        assert f"{signed['at'][:10]} {signed['at'][11:19]} UTC" in paper
        assert "Europe/Lisbon (UTC" in paper
    rows = list(csv.DictReader(io.StringIO((tmp_path / "trail" / "trail.csv").read_text(encoding="utf-8"))))
    assert [row["kind"] for row in rows] == [
        "certificate.drafted", "certificate.approved", "certificate.sealing", "certificate.released",
    ]  # fmt: skip
    manifest = json.loads((tmp_path / "trail" / "manifest.json").read_bytes())
    assert {one["name"] for one in manifest["files"]} == {"trail.pdf", "trail.csv", "changes.csv", "signatures.csv"}
    for one in manifest["files"]:
        data = (tmp_path / "trail" / one["name"]).read_bytes()
        assert (len(data), hashlib.sha256(data).hexdigest()) == (one["size"], one["sha256"])
    again = line("report", "trail", NUMBER, "--out", str(tmp_path / "trail"), by=(REVIEWER,))
    assert "report.exists" in again.err


@pytest.mark.clause("A11d 12.2")
@pytest.mark.clause("P11 11.10(e)")
def test_old_and_new_stand_side_by_side_and_the_reason_is_there(line: Line, tmp_path: Path) -> None:
    text = line("document", "show", "comma-utf8", by=(ANALYST,)).out
    (tmp_path / "profile.yaml").write_text(text[text.index("kind:") :].replace(OLD, NEW), encoding="utf-8")
    assert line("document", "add", str(tmp_path / "profile.yaml"), by=(ANALYST,)).code == 0
    out = str(tmp_path / "trail")
    assert line("report", "trail", "document/profile/comma-utf8", "--out", out, by=(REVIEWER,)).code == 0
    rows = list(csv.DictReader(io.StringIO((tmp_path / "trail" / "changes.csv").read_text(encoding="utf-8"))))
    assert [(row["what"], row["old"], row["new"]) for row in rows if row["what"].endswith("title")] == [
        ("value: title", OLD.removeprefix("title: "), NEW.removeprefix("title: ")),
    ]  # fmt: skip
    paper = words_of(tmp_path / "trail" / "trail.pdf")
    assert NEW.removeprefix("title: ") in paper
    assert "Maren Holt (p-maren.holt)" in paper
    role = ("person", "role", "jonas.wick", "--give", "reviewer", "--reason", "holidays of the other one")
    assert line(*role, by=(ADMINISTRATOR,)).code == 0
    assert line("report", "trail", "p-jonas.wick", "--out", str(tmp_path / "who"), by=(REVIEWER,)).code == 0
    assert "holidays of the other one" in words_of(tmp_path / "who" / "trail.pdf")


@pytest.mark.refuses("A11d 12.2")
def test_the_role_on_paper_is_the_one_of_that_day_and_no_change_goes_without_a_reason(
    line: Line, tmp_path: Path
) -> None:
    """NEG: the role is taken away afterwards, another one given; and a change without saying why."""
    for words in (("--give", "reviewer"), ("--take", "analyst")):
        change = ("person", "role", ANALYST.removeprefix("p-"), *words)
        assert line(*change, "--reason", " ", by=(ADMINISTRATOR,)).code == 5
        assert line(*change, "--reason", "moved to the office", by=(ADMINISTRATOR,)).code == 0
    assert line("report", "trail", "run/R-00001", "--out", str(tmp_path / "trail"), by=(APPROVER,)).code == 0
    paper = words_of(tmp_path / "trail" / "trail.pdf")
    assert f"({ANALYST}) analyst" in paper or f"({ANALYST}), analyst" in paper
    assert f"({ANALYST}), reviewer" not in paper
    assert f"({ANALYST}) reviewer" not in paper


def test_a_run_for_its_reviewer(line: Line, tmp_path: Path) -> None:
    pdf = tmp_path / "run.pdf"
    assert line("report", "run", "R-00003", "--pdf", str(pdf), by=(REVIEWER,)).code == 0
    paper = words_of(pdf)
    for words in ("Tobias Quill (p-tobias.quill)", "performed: I did this work", "check-standard", "no result"):
        assert words in paper
    assert "Check standard after position 32 read 87.1 %" in paper
    for chapter in ("Results", "Checks", "Calibration", "Raw readings", "Worked calculations", "Changes since entry"):
        assert chapter in paper
    explained = line("run", "explain", "R-00003", "A-1", by=(REVIEWER,)).out
    for one in explained[explained.index("Readings") :].splitlines():
        assert " ".join(one.split()) in paper, one
    letter = tmp_path / "letter.pdf"
    assert line("report", "run", "R-00003", "--pdf", str(letter), "--paper", "letter", by=(REVIEWER,)).code == 0
    shown = subprocess.run(["pdfinfo", str(letter)], capture_output=True, text=True, check=True).stdout  # noqa: S603, S607
    assert "612 x 792" in shown
    assert "report.exists" in line("report", "run", "R-00003", "--pdf", str(pdf), by=(REVIEWER,)).err
    assert "run.unknown" in line("report", "run", "R-9", "--pdf", str(tmp_path / "no.pdf"), by=(REVIEWER,)).err
    assert not (tmp_path / "no.pdf").exists()


def test_one_lot_on_one_page(line: Line, tmp_path: Path) -> None:
    pdf = tmp_path / "lot.pdf"
    assert line("report", "lot", "A-1", "--pdf", str(pdf), by=(APPROVER,)).code == 0
    shown = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True).stdout  # noqa: S603, S607
    assert "Pages:           1" in shown
    paper = words_of(pdf)
    for word in ("sample added", "run reviewed", "certificate released", "delivery done", "0.067 ± 0.020"):
        assert word in paper
    assert "corrigan" not in paper


CORRECT = ("preparation", "correct", "AY-01/Y-B2/1", "--reason", "two figures were exchanged")
UNCHANGED = "Nothing it rests on was changed since it was first entered."


def corrected(line: Line, value: str) -> str:
    """A mass put right by two people; what stood before."""
    words = (*CORRECT, "--set", f"mass_g={value}")
    shown = line(*words, "--json", by=(ANALYST,))
    (change,) = shown.json["effect"]["changes"]
    done = line(*words, "--effect", shown.json["figures"], "--json", by=(ANALYST, REVIEWER))
    assert done.code == 0, done
    return str(change["old"])


def printed(line: Line, folder: Path, *words: str) -> str:
    """The words of a report made anew."""
    pdf = folder / f"{len(list(folder.iterdir()))}.pdf"
    assert line("report", *words, "--pdf", str(pdf), by=(APPROVER,)).code == 0
    return words_of(pdf)


@pytest.mark.clause("A11 8.2")
def test_a_print_says_whether_anything_was_changed_since_it_was_entered(line: Line, tmp_path: Path) -> None:
    reports = (("lot", "B-2"), ("run", "R-00001"))
    assert all(UNCHANGED in printed(line, tmp_path, *words) for words in reports)
    before = corrected(line, "1.0112")
    for words in reports:
        paper = printed(line, tmp_path, *words)
        assert UNCHANGED not in paper
        assert f"mass_g {before} 1.0112 {ANALYST}" in paper
        assert "two figures were exchanged" in paper


@pytest.mark.refuses("A11 8.2")
def test_a_value_put_back_as_it_was_is_a_changed_value_and_other_lots_are_not_accused(
    line: Line, tmp_path: Path
) -> None:
    """NEG: after the second correction the record says what it said at first; both changes are printed."""
    before = corrected(line, "1.0112")
    corrected(line, before)
    paper = printed(line, tmp_path, "lot", "B-2")
    assert UNCHANGED not in paper
    assert f"mass_g {before} 1.0112 {ANALYST}" in paper
    assert f"mass_g 1.0112 {before} {ANALYST}" in paper
    other = printed(line, tmp_path, "lot", "B-3")
    assert UNCHANGED in other
    assert "Y-B2/1" not in other.partition("What was done")[0]


@pytest.mark.clause("A11 9")
def test_only_what_came_after_one_s_own_review(line: Line) -> None:
    def new(by: str) -> list[str]:
        answer = line("ledger", "show", "run/R-00001", "--since-my-review", "--json", by=(by,))
        return [entry["kind"] for entry in answer.json["entries"]]

    assert new(REVIEWER) == ["run.ingested", "run.submitted", "run.reviewed"]
    listed = line("ledger", "show", "run/R-00001", "--json", by=(REVIEWER,)).json["list"]
    done = line("ledger", "review", "run/R-00001", "--list", listed, "--comment", "complete", by=(REVIEWER,))
    assert done.code == 0, done
    assert new(REVIEWER) == []
    assert new(APPROVER) == ["run.ingested", "run.submitted", "run.reviewed", "trail.reviewed"], "another's is no own"
    other = line("ledger", "review", "run/R-00001", "--list", listed, "--comment", "complete", by=(APPROVER,))
    assert other.code == 0, other
    assert new(REVIEWER) == ["trail.reviewed"]
    said = line("ledger", "show", "run/R-00001", "--since-my-review", by=(ADMINISTRATOR,)).out
    assert "You have not reviewed it yet." in said
