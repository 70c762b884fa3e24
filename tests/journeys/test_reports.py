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
