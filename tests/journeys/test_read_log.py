"""The log of reads from the command line: every command that shows records leaves its line, and only those do."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys.commands import ANALYST, REVIEWER

import benchseal.cli
from benchseal.records.people import Role

if TYPE_CHECKING:
    from tests.journeys.commands import Line

CLI = Path(benchseal.cli.__file__).parent


def logged(line: Line) -> list[dict[str, Any]]:
    paths = sorted(line.site.glob("reads-*.jsonl"))
    return [json.loads(one) for path in paths for one in path.read_text(encoding="utf-8").splitlines()]


READS = [
    pytest.param(("run", "show", "R-00001"), ["run=R-00001"], id="run show"),
    pytest.param(("ledger", "show", "run/R-00001", "--json"), ["subject=run/R-00001"], id="ledger show"),
    pytest.param(("ledger", "find", "--who", "maren.holt"), ["who=maren.holt"], id="ledger find"),
    pytest.param(("report", "lot", "A-1", "--csv", "OUT"), ["csv=OUT", "lot=A-1"], id="export of a trail"),
    pytest.param(("report", "trail", "run/R-00001", "--out", "OUT"), ["out=OUT", "subject=run/R-00001"], id="trail"),
    pytest.param(
        ("copy", "--run", "R-00001", "R-00003", "--out", "OUT"), ["out=OUT", "run=R-00001 R-00003"], id="copy"
    ),
    pytest.param(("certificate", "show", "C-2026-00001"), ["number=C-2026-00001"], id="certificate show"),
    pytest.param(("person", "list"), [], id="person list"),
    pytest.param(("doctor",), [], id="doctor"),
    pytest.param(("access", "log"), [], id="the log itself"),
]


@pytest.mark.clause("A11d 12.1")
@pytest.mark.parametrize(("words", "asked"), READS)
def test_a_read_leaves_who_when_and_what(line: Line, tmp_path: Path, words: tuple[str, ...], asked: list[str]) -> None:
    out = str(tmp_path / "out")
    before = line.kept()
    answer = line(*(word.replace("OUT", out) for word in words), by=(REVIEWER,))
    assert answer.code in {0, 10}, answer
    (one,) = logged(line)
    assert (one["person"], one["by"]) == (REVIEWER, "password")
    assert " ".join(words).startswith(one["command"])
    assert one["asked"] == [word.replace("OUT", out) for word in asked]
    assert line.kept().entries == before.entries  # a read writes no entry


def test_a_session_is_named_as_one_and_verify_as_nobody(
    line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert line("sign-in", by=(ANALYST,)).code == 0
    assert line("run", "list").code == 0
    assert line("verify", "--all").code == 0
    assert [(one["command"], one["person"], one["by"]) for one in logged(line)] == [
        ("sign-in", ANALYST, "password"),
        ("run list", ANALYST, "session"),
        ("verify", "", "nobody"),
    ]
    assert all(one["account"] for one in logged(line))


@pytest.mark.refuses("P11 11.10(d)")
def test_whoever_is_not_let_in_reads_nothing_and_is_not_in_the_log(line: Line) -> None:
    answer = line("run", "list", more=(ANALYST, "a wrong guess at night"))
    assert answer.code != 0
    assert "R-00001" not in answer.out
    assert logged(line) == []


def test_no_password_is_in_the_log(line: Line) -> None:
    line("run", "list", by=(ANALYST,))
    line("ledger", "find", "--text", "lamp", by=(REVIEWER,))
    text = "".join(path.read_text(encoding="utf-8") for path in line.site.glob("reads-*"))
    assert not any(secret in text for secret in line.secrets(ANALYST, REVIEWER)[1::2])


@pytest.mark.clause("A11d 12.1")
def test_an_auditor_reads_the_log_narrows_it_and_takes_it_along(line: Line, tmp_path: Path) -> None:
    add = ("person", "add", "alma.reed", "--name", "Alma Reed", "--role", "auditor", "--identity-check", "passport")
    auditor = ("p-alma.reed", "grey herons stand on one leg")
    assert line(*add, by=("p-sil.penhallow",), more=auditor[1:]).code == 0
    line("run", "show", "R-00001", by=(ANALYST,))
    line("run", "show", "R-00003", by=(REVIEWER,))
    shown = line("access", "log", "--text", "r-00003", "--json", more=auditor).json["reads"]
    assert [(one["person"], one["asked"], one["entry"]) for one in shown[:1]] == [(REVIEWER, "run=R-00003", "not yet")]
    assert "R-00001" not in line("access", "log", "--who", REVIEWER, more=auditor).out
    assert line("access", "log", "--csv", str(tmp_path / "r.csv"), more=auditor).code == 0
    rows = list(csv.DictReader((tmp_path / "r.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["person"] for row in rows] == [ANALYST, REVIEWER, *[auditor[0]] * 3]
    refused = line("access", "log", "--from", "yesterday", more=auditor)
    assert refused.code != 0
    assert len(refused.err.splitlines()) == 1


def test_a_log_that_takes_no_line_does_not_stop_a_read(line: Line) -> None:
    (line.site / "reads.lock").mkdir()
    answer = line("run", "list", by=(ANALYST,))
    assert answer.code == 0
    assert "R-00001" in answer.out
    assert "reads.not-noted" in answer.err


def test_every_door_to_a_read_notes_it() -> None:
    """Who is let in to look goes through ``opened.admitted``; elsewhere ``admit`` stands beside an act or a note."""
    bare = {
        (path.name, found.strip())
        for path in CLI.glob("*.py")
        for found in re.findall(r"^.*\badmit\(.*$", path.read_text(encoding="utf-8"), re.MULTILINE)
    }
    assert bare == {
        ("opened.py", "who = admit(site, given)"),
        (
            "documents.py",
            'noted(args, site, admit(site, given).person, "password")  # the change is shown before the act',
        ),
        ("corrections.py", "admit(site, first)  # nobody unknown learns what a correction would change"),
    }


def test_the_rights_of_each_role_are_printed_and_taken_along(line: Line, tmp_path: Path) -> None:
    shown = line("access", "rights", "--json", by=(ANALYST,)).json["rights"]
    submit = next(one for one in shown if one["act"] == "run submit")
    assert [role.value for role in Role if submit[role.value] == "yes"] == ["analyst"]
    assert submit["how"] == "signs as performed"
    assert line("access", "rights", "--csv", str(tmp_path / "r.csv"), by=(ANALYST,)).code == 0
    rows = list(csv.DictReader((tmp_path / "r.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == len(shown)
    assert {key: rows[0][key] for key in shown[0]} == shown[0]
