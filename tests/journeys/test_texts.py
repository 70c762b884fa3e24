"""Texts with accents typed apart (Unicode form NFD): every command does as with the same text typed whole."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

import pytest
from tests.cli.test_texts import given
from tests.journeys.commands import ADMINISTRATOR, ANALYST, APPROVER, REVIEWER

from benchseal.cli.table import COMMANDS
from benchseal.problems import EXIT_FAULT

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Line

APART = "cafe\u0301"
BEGINS_APART = f"\u0338{APART} q\u0308\u0323"  # begins with a sign that joins with an equals sign before it
WHOLE = unicodedata.normalize("NFC", APART)
FIGURES = re.compile(r"--effect (\w+)")
PEOPLE = {"key": ADMINISTRATOR, "person": ADMINISTRATOR}
CORRECTIONS = (
    ("sample", "correct", "A-3", "--set", f"description={APART}", "--reason", APART),
    ("recipient", "correct", "ardlea", "--set", f"name={APART} Ardlea", "--reason", APART),
    ("standard", "correct", "SA-Pb-28", "--set", "value=998", "--reason", "q\u0308\u0323"),
    ("run", "exclude", "R-00003", "12", "--cause", "uptake", "--reason", APART),
)


def test_no_command_fails_over_a_text_typed_apart(line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    faults = []
    for command in COMMANDS:
        if command.needs in {"nothing", "site"}:
            continue
        said = line(*given(command, BEGINS_APART), by=(PEOPLE.get(command.words[0], ANALYST), REVIEWER))
        if said.code == EXIT_FAULT or "fault of this program" in said.err:
            faults.append((command.words, said.err))
    assert faults == []


@pytest.mark.parametrize("words", CORRECTIONS, ids=lambda words: " ".join(words[:2]))
def test_a_correction_typed_apart_is_shown_and_done(line: Line, words: tuple[str, ...]) -> None:
    shown = line(*words, by=(ANALYST,))
    assert shown.code == 0, shown.err
    found = FIGURES.search(shown.out)
    assert found is not None
    same = [unicodedata.normalize("NFC", word) for word in words]
    assert found[1] in line(*same, by=(ANALYST,)).out
    done = line(*same, "--effect", found[1], by=(ANALYST, REVIEWER))
    assert done.code == 0, done.err


def test_the_log_of_reads_has_the_text_whole(line: Line) -> None:
    assert line("sample", "show", APART, by=(ANALYST,)).code
    (log,) = line.site.glob("reads-*.jsonl")
    assert f"={WHOLE}" in log.read_text(encoding="utf-8")


def test_a_file_whose_name_is_typed_apart_is_read(line: Line, tmp_path: Path) -> None:
    name = tmp_path / f"{APART}.csv"
    name.write_text("customer,name,address\nx,y\n", encoding="utf-8")
    said = line("recipient", "add", str(name), by=(APPROVER,))
    assert "file.missing" not in said.err, said.err
