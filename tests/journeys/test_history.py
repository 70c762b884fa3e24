"""The manual's page of questions over time against the program: on the demo, and on the invented chart it shows."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tests.compute.test_history_chart import charted, value

from benchseal.cli.history_words import chart_lines
from benchseal.compute.characteristic import LEAST_HISTORY
from benchseal.compute.control_chart import LEAST_BASE, WISHED_BASE
from benchseal.compute.history_chart import MOVED_PERCENT
from benchseal.desk.histories import Series

if TYPE_CHECKING:
    from tests.journeys.commands import Line

PAGE = (Path(__file__).parents[2] / "docs" / "manual" / "history.md").read_text(encoding="utf-8")
SHOWN = re.findall(r"^    \$ benchseal (history .+)\n((?:(?:    .*)?\n)+)", PAGE, re.MULTILINE)

# The demo ends on the day it is played: its days are not the page's.
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")

# What the page says was found, lot by lot, in order of measurement, a value a day; invented.
FOUND = {
    "DW-Pb-28": (
        "99.1 101.2 100.4 98.7 100.9 99.5 100.2 101.0 99.0 100.0 100.6 99.3 100.1 99.8 101.1 98.9 100.3 99.7 100.8 "
        "99.4 101.0 98.8 100.5 102.4 101.9 103.2"
    ),
    "DW-Pb-33": "99.6 100.2 99.9",
}
SHARED = {"expected": "10.0", "expected_unit": "ug/L", "verdict": "pass", "position": 21}


def lines_of(block: str) -> list[str]:
    """An indented block of the page as what was printed."""
    return [line.removeprefix("    ") for line in block.rstrip("\n").split("\n")]


def without_days(lines: list[str]) -> list[str]:
    return [DAY.sub("DAY", line) for line in lines]


@pytest.mark.parametrize(("command", "block"), SHOWN, ids=[command for command, _ in SHOWN])
def test_the_manual_shows_the_real_answer(reader: Line, command: str, block: str) -> None:
    answer = reader(*command.split())
    assert (answer.code, answer.err) == (0, "")
    assert without_days(answer.out.splitlines()) == without_days(lines_of(block))


def test_the_manual_shows_a_chart_and_a_list() -> None:
    assert [command.split()[1] for command, _ in SHOWN] == ["check", "sensitivity", "instrument"]


def test_the_manual_shows_a_real_chart_of_its_invented_values() -> None:
    (block,) = re.findall(r"An invented chart:\n\n((?:(?:    .*)?\n)+)", PAGE)
    found = [(lot, text) for lot, texts in FOUND.items() for text in texts.split()]
    values = [value(n, text, lot=lot, **SHARED) for n, (lot, text) in enumerate(found, 1)]
    chart = charted(*values)
    real = list(chart_lines(Series("check-standard", "check_standard", "furnace-1", chart), chart, "lead-furnace"))
    assert lines_of(block) == real


def test_the_manual_states_the_numbers_of_the_program() -> None:
    assert f"its first {WISHED_BASE} values" in PAGE
    assert f"fewer than {LEAST_BASE} values" in PAGE
    assert f"more than {MOVED_PERCENT} %" in PAGE
    assert f"at least {LEAST_HISTORY} earlier values" in PAGE


def test_every_reader_may_ask_and_nobody_else(line: Line) -> None:
    words = ("history", "check", "--method", "lead-furnace")
    refused = line(*words)
    assert (refused.code, refused.out) == (5, "")
    before = line.kept()
    for person in ("p-edda.farrow", "p-sil.penhallow", "p-maren.holt"):
        assert line(*words, by=(person,)).code == 0
    assert line.kept() == before


def test_the_demo_shows_no_name_of_a_sample(reader: Line) -> None:
    """Checks made on customers' samples: percent and verdict only."""
    samples = [str(row[0]) for row in reader.rows("SELECT sample FROM sample")]
    lots = [str(row[0]) for row in reader.rows("SELECT lot FROM sample")]
    portions = [str(row[0]) for row in reader.rows("SELECT portion FROM portion WHERE sample != ''")]
    for words in (("--rule", "portions"), ("--rule", "spike"), ()):
        for json in ((), ("--json",)):
            out = reader("history", "check", "--method", "lead-furnace", *words, *json).out
            assert out
            assert [name for name in (*samples, *portions) if name in out] == []
            assert [lot for lot in lots if re.search(rf"\b{re.escape(lot)}\b", out)] == []
