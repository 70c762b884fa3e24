"""Tables cut at blanks: a blank in a name and an empty place cancel out, and the places of a printed table show it."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest
from tests.ingest.test_layout_words import HEAD, _codes, _layout, _runs

from benchseal.ingest.aligned import strays
from benchseal.records.layout import Column

if TYPE_CHECKING:
    from benchseal.records.layout import Layout

COLUMNS = (
    Column("No", "position"), Column("Name", "label"),
    Column("R1", "signal"), Column("R2", "signal"), Column("R3", "signal"),
)  # fmt: skip
ROWS = [f"{nth}  S{nth}/1    0.{nth}1  0.{nth}2  0.{nth}3" for nth in range(1, 7)]


@pytest.fixture
def layout() -> Layout:
    return _layout(COLUMNS)


def table(rows: list[str]) -> str:
    return HEAD + "No Name R1 R2 R3\n" + "".join(f"{row}\n" for row in rows)


@pytest.mark.parametrize(
    "row",
    [
        pytest.param("3  Y/1 2    0.31  0.32", id="the last is missing"),
        pytest.param("3  Y/1 2          0.32  0.33", id="the first is missing"),
        pytest.param("3  Y/1 2    0.31        0.33", id="one between them is missing"),
    ],
)
def test_a_blank_in_a_name_and_a_missing_reading(row: str, layout: Layout) -> None:
    assert _codes(table([*ROWS[:2], row, *ROWS[3:]]), layout) == ["ingest.cells-stray"]
    assert len(_runs(table(ROWS), layout)) == 1


def test_more_than_one_such_row(layout: Layout) -> None:
    rows = [*ROWS, *(f"{nth}  Y/{nth} 2    0.31  0.32" for nth in (7, 8))]
    assert _codes(table(rows), layout) == ["ingest.cells-stray"] * 2


@pytest.mark.parametrize(
    "rows",
    [
        pytest.param([f"{nth} S{nth}/{'x' * nth} 0.{nth}1 0.2 0.{nth}35" for nth in range(1, 9)], id="ragged"),
        pytest.param([*ROWS[:5], "6 S6/much-longer-name 0.61 0.62 0.63"], id="one long name pushes its row"),
        pytest.param([*ROWS[:5], "6  S6/1   -0.61 -0.62 -0.63"], id="signs"),
        pytest.param(
            [f"{nth} S{nth}/1 0.{nth}1 0.2 0.3" for nth in range(1, 13)], id="one figure more in the position"
        ),
    ],
)
def test_honest_rows_are_read(rows: list[str], layout: Layout) -> None:
    (run,) = _runs(table(rows), layout)
    assert len(run.solutions.label) == len(rows)


def test_rows_joined_by_single_blanks_are_read_whatever_the_lengths() -> None:
    """Ragged rows of names of any length: where columns overlap nothing is said."""
    told = 0
    for seed in range(200):
        draw = random.Random(seed)  # noqa: S311  rows, not keys
        rows = []
        for line in range(draw.randint(4, 30)):
            cells = [
                str(line + 1),
                "S" * draw.randint(2, 14),
                *(f"{draw.random():.{draw.randint(2, 5)}f}" for _ in "abc"),
            ]
            begins = [1 + sum(len(each) + 1 for each in cells[:nth]) for nth in range(len(cells))]
            rows.append((line, list(zip(cells, begins, strict=True))))
        told += bool(strays(rows))
    assert told == 0
