"""The questions of an inspector, each asked by an auditor: answered, the same as text and as JSON, nothing changed.

The table in docs/manual/questions.md names a command for each; what had none would stand there as open.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.journeys.commands import Line

AUDITOR, SECRET = "p-alma.reed", "grey herons stand on one leg"
PAGE = Path(__file__).parents[2] / "docs" / "manual" / "questions.md"
FINDING = 10


def entries(answer: dict[str, Any]) -> set[str]:
    return {
        str(entry[key]) for entry in answer["entries"] for key in ("seq", "at", "actor", "kind", "subject", "reason")
    }


def cells(name: str) -> Callable[[dict[str, Any]], set[str]]:
    """Everything a table holds."""
    return lambda answer: {str(cell) for row in answer[name] for cell in row.values()}


def results(answer: dict[str, Any]) -> set[str]:
    return {each["outcome"]["value_text"] for each in answer["work"]["results"] if "value_text" in each["outcome"]}


def explained(answer: dict[str, Any]) -> set[str]:
    return {answer["run"], answer["sample"], answer["lot"]}


@dataclass(frozen=True)
class Question:
    """One question. holds: what of the JSON answer has to stand in the text; says: what the answer has to say."""

    number: int
    words: tuple[str, ...]
    holds: Callable[[dict[str, Any]], set[str]]
    says: str
    code: int = 0


ASKED = (
    Question(1, ("person", "list", "--as-of", "2099-03-03"), cells("people"), "Ruth Calloway"),
    Question(2, ("ledger", "show", "run/R-00001", "--changes"), entries, "run.reviewed"),
    Question(3, ("verify", "--all"), lambda answer: {str(answer["entries"]), answer["root"][:16]}, "Whole"),
    Question(4, ("run", "explain", "R-00001", "A-1"), explained, "line"),
    Question(5, ("run", "explain", "R-00001", "A-1"), explained, "R-00001"),
    Question(6, ("run", "show", "R-00003"), results, "Check standard after position 32"),
    Question(7, ("history", "instrument", "furnace-1"), cells("runs"), "R-00003"),
    Question(8, ("run", "explain", "R-00001", "A-1"), explained, "version 1"),
    Question(9, ("instrument", "show", "furnace-1"), lambda answer: {answer["instrument"]["serial"]}, "furnace-1"),
    Question(
        10,
        ("verify", "CERTIFICATE"),
        lambda answer: {check["said"] for one in answer["certificates"] for check in one["checks"]},
        "GENUINE",
    ),
    Question(11, ("ledger", "show", "certificate/C-2026-00001"), entries, "signed as released"),
    Question(12, ("access", "rights"), cells("rights"), "administrator"),
    Question(13, ("investigation", "list"), cells("investigations"), "A-2"),
    Question(14, ("report", "investigation", "I-00001"), lambda answer: {answer["investigation"]["lot"]}, "I-00001"),
    Question(15, ("certificate", "list"), cells("certificates"), "released"),
    Question(16, ("ledger", "find", "--act", "trail.reviewed"), entries, "0 entries"),
    Question(17, ("event", "list"), cells("events"), "event"),
    Question(18, ("ledger", "find", "--act", "access"), entries, "0 entries"),
    Question(19, ("doctor",), lambda _: set(), "no backup is on record", FINDING),
    Question(20, ("export", "list"), cells("deliveries"), "D-00001"),
    Question(21, ("ledger", "find", "--act", "clock"), entries, "0 entries"),
    Question(22, ("qualify", "show"), lambda answer: {answer["program"]}, "no qualification of it is signed", FINDING),
    Question(23, ("run", "explain", "R-00001", "A-1"), explained, "limit"),
    Question(
        24, ("copy", "--certificate", "C-2026-00001", "--out", "FOLDER"), lambda answer: {str(answer["files"])}, "files"
    ),
    Question(25, ("retention", "--open-oldest"), lambda answer: {one["name"] for one in answer["classes"]}, "oldest"),
)
OPEN: set[int] = set()


@pytest.fixture
def audited(line: Line) -> Line:
    """The demo with an auditor's account: it reads and does nothing else."""
    add = ("person", "add", AUDITOR.removeprefix("p-"), "--name", "Alma Reed", "--role", "auditor")
    answer = line(*add, "--identity-check", "passport seen", by=("p-sil.penhallow",), more=(SECRET,))
    assert answer.code == 0, answer
    return line


@pytest.mark.clause("A11 9")
@pytest.mark.parametrize("question", ASKED, ids=lambda one: f"question {one.number}")
def test_an_auditor_is_answered_and_changes_nothing(audited: Line, tmp_path: Path, question: Question) -> None:
    def asked(*more: str) -> Any:  # noqa: ANN401  the answer, a named tuple of another module
        places = {"CERTIFICATE": str(audited.site / "certificates" / "C-2026-00001.pdf")}
        places["FOLDER"] = str(tmp_path / f"copy{len(more)}")
        words = [places.get(word, word) for word in question.words]
        if question.words[0] == "verify":
            return audited(*words, *more)
        return audited(*words, *more, more=(AUDITOR, SECRET))

    before = audited.kept(), truth(audited)
    text, as_json = asked(), asked("--json")
    assert (text.code, as_json.code) == (question.code, question.code), (text, as_json)
    said = " ".join(f"{text.out} {text.err}".split())
    assert question.says in said
    missing = {word for word in question.holds(as_json.json) if word and " ".join(word.split()) not in said}
    assert missing == set()
    if question.code == FINDING:
        assert as_json.json["problems"], "an honest finding is on record in both"
        assert all(problem["what"].split(";")[0] in said for problem in as_json.json["problems"])
    assert (audited.kept(), truth(audited)) == before


def truth(line: Line) -> list[tuple[Any, ...]]:
    """Every derived row that says something of the records."""
    tables = [name for (name,) in line.rows("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    quiet = {"checkpoint", "session", "sign_in_failure", "sqlite_sequence"}  # a copy signs a head: no record changes
    return [row for name in tables if name not in quiet for row in line.rows(f"SELECT * FROM {name}")]  # noqa: S608


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize(
    "words",
    [
        ("document", "withdraw", "lead-furnace", "--reason", "x"),
        ("run", "submit", "R-00001"),
        ("run", "accept", "R-00001"),
        ("certificate", "approve", "C-2026-00001"),
        ("certificate", "draft", "B-2"),
        ("ledger", "review", "run/R-00001", "--list", "0", "--comment", "x"),
        ("access", "review", "--list", "0", "--comment", "x"),
        ("event", "acknowledge", "1", "--comment", "x"),
    ],
    ids=" ".join,
)
def test_an_auditor_writes_nothing_not_even_a_comment(audited: Line, words: tuple[str, ...]) -> None:
    before = audited.kept()
    answer = audited(*words, more=(AUDITOR, SECRET))
    assert answer.code != 0
    assert "act.role" in answer.err
    assert audited.kept() == before


def test_an_altered_site_is_an_answer_of_its_own(audited: Line) -> None:
    import sqlite3  # noqa: PLC0415
    from contextlib import closing  # noqa: PLC0415

    with closing(sqlite3.connect(audited.site / "store.sqlite")) as store:
        store.execute("UPDATE result SET verdict = 'pass'")
        store.execute("UPDATE result SET value_text = '9.99' WHERE run = 'R-00001'")
        store.commit()
    answer = audited("verify", "--all", "--json")
    assert answer.code == 6
    assert {problem["code"] for problem in answer.json["problems"]} == {"integrity.derived-row"}


def test_the_page_and_this_table_name_the_same_commands() -> None:
    rows = re.findall(r"^\| (\d+) \|.*\| ([^|]+) \|$", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    assert [int(number) for number, _ in rows] == list(range(1, 26))
    commands = {int(number): answer for number, answer in rows}
    for question in ASKED:
        named = " ".join(word for word in question.words[:2] if word.islower())
        assert f"benchseal {named}" in commands[question.number], question
    assert {number for number, answer in commands.items() if answer.startswith("open")} == OPEN
    assert json.dumps(sorted(OPEN | {one.number for one in ASKED})) == json.dumps(list(range(1, 26)))
