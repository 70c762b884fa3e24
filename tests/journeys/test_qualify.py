"""Qualification from the command line: seen, signed by two, shown to an auditor with what changed since."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.conftest import cheap_hashes
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER

from benchseal.cli import qualify
from benchseal.desk.site import open_site

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

    from benchseal.demo.play import Played

FINDING = 10
OWN = {
    "examples": [
        {
            "id": "nickel-by-hand",
            "source": "hand calculation, log book 3 page 12",
            "confirmed": "yes",
            "ask": {"kind": "recovery", "found": 1.98, "added": 2, "native": 0},
            "expect": [{"at": "percent", "printed": "99.0"}],
        }
    ]
}


@pytest.fixture(autouse=True)
def _played_once(played: Played, monkeypatch: pytest.MonkeyPatch) -> None:
    """The laboratory taken the whole way is the demo, played once."""

    def lent(folder: Path) -> Played:
        shutil.copytree(played.site.folder, folder)
        return replace(played, site=open_site(folder, hashes=cheap_hashes))

    monkeypatch.setattr(qualify, "try_out", lent)


@pytest.mark.clause("A11 4", "17025 7.11.2")
def test_it_is_looked_at_signed_and_answers_an_auditor(line: Line, tmp_path: Path) -> None:
    own = tmp_path / "own.json"
    own.write_text(json.dumps(OWN), encoding="utf-8")
    before = line("qualify", "show", by=(ANALYST,))
    assert before.code == FINDING
    assert "doctor.qualification" in before.out
    seen = line("qualify", "all", "--pq", str(own), "--out", str(tmp_path / "report.json"), "--json", by=(ANALYST,))
    assert seen.code == 0, seen
    assert {one["outcome"] for one in seen.json["tests"]} <= {"passed", "left out"}
    assert seen.json["tests"][-1]["id"] == "nickel-by-hand"
    kept = line.kept()
    wrong = line("qualify", "sign", "--list", "00000000", "--comment", "x", by=(ADMINISTRATOR, APPROVER))
    assert "qualify.changed" in wrong.err
    assert line.kept() == kept
    words = ("qualify", "sign", "--list", seen.json["list"], "--pq", str(own), "--comment", "first use")
    assert line(*words, by=(ADMINISTRATOR, APPROVER)).code == 0
    add = ("person", "add", "alma.reed", "--name", "Alma Reed", "--role", "auditor", "--identity-check", "passport")
    auditor = ("p-alma.reed", "grey herons stand on one leg")
    assert line(*add, by=(ADMINISTRATOR,), more=auditor[1:]).code == 0
    shown = line("qualify", "show", "--out", str(tmp_path / "signed.json"), more=auditor)
    assert shown.code == 0, shown
    assert f"performed by {ADMINISTRATOR}, approved by {APPROVER}" in shown.out
    assert shown.out.endswith("changed since:\n  nothing\n") or "person.added" in shown.out
    assert (tmp_path / "signed.json").read_bytes() == (tmp_path / "report.json").read_bytes()
    assert line("verify", "--all").code == 0


@pytest.mark.refuses("A11 4", "17025 7.11.2")
def test_an_own_example_that_does_not_come_out_fails_and_says_which(line: Line, tmp_path: Path) -> None:
    own = tmp_path / "own.json"
    own.write_text(json.dumps(OWN).replace("99.0", "98.0"), encoding="utf-8")
    answer = line("qualify", "pq", str(own), by=(ANALYST,))
    assert answer.code == FINDING
    assert "failed" in answer.out
    assert "percent is 99.0, due is 98.0" in answer.out
    as_json = line("qualify", "pq", str(own), "--json", by=(ANALYST,))
    assert [(one["code"], one["where"]) for one in as_json.json["problems"]] == [("qualify.failed", "nickel-by-hand")]


def test_parts_alone_end_with_no_figures_to_sign(line: Line) -> None:
    for words in (("qualify", "iq"), ("qualify", "oq")):
        answer = line(*words, by=(ANALYST,))
        assert answer.code == 0, answer
        assert "\nlist " not in answer.out


def test_a_file_of_own_examples_that_is_none_is_one_line(line: Line, tmp_path: Path) -> None:
    own = tmp_path / "own.json"
    own.write_text("{}", encoding="utf-8")
    answer = line("qualify", "pq", str(own), by=(ANALYST,))
    assert answer.code != 0
    assert answer.err.startswith("qualify.examples: ")
    assert len(answer.err.splitlines()) == 1


def test_whoever_may_not_sign_waits_for_no_test(line: Line, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(qualify, "try_out", None)
    answer = line("qualify", "sign", "--list", "0", "--comment", "x", by=(ANALYST, APPROVER))
    assert "act.role" in answer.err
