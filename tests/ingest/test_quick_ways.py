"""The quick ways of the reader, each held against the slow one it stands for: midnights, and rows taken at once."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.ingest.malformed import COMMA, PAGE, SEMI
from tests.ingest.test_regular import QUICK, tables

from benchseal.ingest.plan import plan_of, rows_until
from benchseal.ingest.regular import regular_table
from benchseal.ingest.table import Table
from benchseal.ingest.walk import Section

if TYPE_CHECKING:
    from tests.ingest.test_regular import Layouts

    from benchseal.ingest.regular import Tables

CLOCK = st.sampled_from(
    ["00:00:00", "00:10:00", "09:59:59", "10:00:00", "11:59:59", "12:00:00", "22:00:00", "23:59:59"]
)
LINE = st.sampled_from(
    ["1,A", "", " ", "\t", " 1,A", "\t1", "\xa0", "\xa01", "a\fb", "\f", "End of readings,3", "End", "List closed", "é"]
)
NOT_ROWS = ("End of readings,", "List closed")


def timed(clocks: list[str], started_at: str, layouts: Layouts) -> tuple[Tables | None, Tables, list[object]]:
    """What the quick and the exact way make of rows at these times, and what the exact one says."""
    layout = layouts[COMMA][1]
    rows = [f"{nth},S{nth},sample,,1,1,0.1,0.0,{clock}" for nth, clock in enumerate(clocks, 1)]
    section = Section(1, {}, layout.table.columns, header_seen=True, rows=list(enumerate(rows, 20)))
    said: list[object] = []
    exact = Table(plan_of(layout), section, started_at, lambda *args, **_: said.append(args)).read()
    return regular_table(plan_of(layout), section, started_at), exact, said


@QUICK
@given(clocks=st.lists(CLOCK, min_size=1, max_size=6), begun=CLOCK, day=st.sampled_from(["2026-02-27", "9999-12-31"]))
def test_times_that_pass_midnight(clocks: list[str], begun: str, day: str, layouts: Layouts) -> None:
    quick, exact, said = timed(clocks, f"{day}T{begun}", layouts)
    assert (quick is None) == bool(said)
    assert quick is None or quick == exact


def test_a_run_over_two_midnights_goes_the_quick_way(layouts: Layouts) -> None:
    quick, exact, _ = timed(["23:59:59", "00:10:00", "22:00:00", "00:00:00"], "2026-02-27T22:00:00", layouts)
    assert quick is not None
    assert quick == exact
    assert quick[1].taken_at == (
        "2026-02-27T23:59:59", "2026-02-28T00:10:00", "2026-02-28T22:00:00", "2026-03-01T00:00:00",
    )  # fmt: skip


# ------------------------------------------------------------------ rows of fixed places

CELLS = (
    ["1", "2", "3", "", "x"], ["V0", "A b", "", "1E+05"], ["cal", "smp", "", "odd"], ["0.50", "", "-1", "1,5"],
    ["1", "2.5", "", "0"], ["1", "2", "3", "mean", "", "x"], ["0.0027", "above-top", "", "-0.1", "-0", "nan"],
    ["0.003", "no-value", "", "x"], ["09:15:00", "09:16:00", "", "x"],
)  # fmt: skip


def placed(cells: list[str], layouts: Layouts) -> str:
    """A line with each cell at the right of its place."""
    line = ""
    for column, text in zip(layouts[PAGE][1].table.columns, cells, strict=True):
        line = line.ljust(column.starts - 1) + text.rjust(column.ends - column.starts + 1)
    return line.rstrip()


@QUICK
@given(data=st.data(), solutions=st.integers(1, 4), readings=st.integers(1, 3), odd=st.integers(0, 3))
def test_rows_of_fixed_places(data: st.DataObject, solutions: int, readings: int, odd: int, layouts: Layouts) -> None:
    rows = []
    for position in range(1, solutions + 1):
        for nth in range(1, readings + 1):
            who = [str(position), f"V{position}", "smp", "", "1"] if nth == 1 else [""] * 5
            signal, clock = f"0.{data.draw(st.integers(0, 9999)):04}", f"09:{15 + position}:{nth:02}"
            rows.append([*who, str(nth), signal, "0.003", clock])
        rows.append([*[""] * 5, "mean", "0.5", "", ""])
    for _ in range(odd):
        row, cell = data.draw(st.integers(0, len(rows) - 1)), data.draw(st.integers(0, 8))
        rows[row][cell] = data.draw(st.sampled_from(CELLS[cell]))
    lines = [placed(row, layouts) for row in rows]
    if odd == 1:
        at, place = data.draw(st.integers(0, len(lines) - 1)), data.draw(st.integers(0, 90))
        line = lines[at].ljust(place)
        lines[at] = line[:place] + data.draw(st.sampled_from(["x", "\t", " ", "\xa0", "7", ""])) + line[place + 1 :]
    if odd == 2:
        del lines[data.draw(st.integers(0, len(lines) - 1))]
    names = tuple(column.header for column in layouts[PAGE][1].table.columns)
    quick, exact, said = tables(plan_of(layouts[PAGE][1]), lines, names)
    assert (quick is not None) or odd
    assert quick is None or (quick == exact and said == [])


@QUICK
@given(signals=st.lists(st.sampled_from(["0,1", "above-top", "no-value", "", "x", "-0"]), min_size=3, max_size=9))
def test_words_among_the_signals(signals: list[str], layouts: Layouts) -> None:
    names = ("No.", "Tube", "Sort", "Set to", "Thinned", "1st", "2nd", "3rd", "Mean")
    rows = [f"{nth},A,P,,1".replace(",", ";") for nth in range(1, len(signals) // 3 + 1)]
    lines = [";".join((row, *signals[3 * nth : 3 * nth + 3], signals[nth])) for nth, row in enumerate(rows)]
    quick, exact, said = tables(plan_of(layouts[SEMI][1]), lines, names)
    assert quick is None or (quick == exact and said == [])
    if not {"", "x", "-0"} & set(signals):
        assert quick is not None


@QUICK
@given(given_to=st.lists(st.sampled_from(["0,5", "", "no-value", "above-top", "x"]), min_size=1, max_size=4))
def test_words_among_the_concentrations_given(given_to: list[str], layouts: Layouts) -> None:
    names = ("No.", "Tube", "Sort", "Set to", "Thinned", "1st", "2nd", "3rd", "Mean")
    lines = [f"{nth};A;P;{text};1;0,1;0,1;0,1;0,1" for nth, text in enumerate(given_to, 1)]
    quick, exact, said = tables(plan_of(layouts[SEMI][1]), lines, names)
    assert quick is None or (quick == exact and said == [])
    assert (quick is not None) == ({"above-top", "x"}.isdisjoint(given_to))


def test_a_word_for_nothing_is_left_to_the_exact_reader(layouts: Layouts) -> None:
    """Not an empty cell either, were a layout to give one a meaning."""
    plan = replace(plan_of(layouts[SEMI][1]), signal_words={"": "missing", "odd": ""})
    names = ("No.", "Tube", "Sort", "Set to", "Thinned", "1st", "2nd", "Mean")
    for row in ("1;A;P;;1;0,1;;0,1", "1;A;P;;1;0,1;odd;0,1"):
        assert tables(plan, [row], names)[0] is None


def one_by_one(lines: list[str], number: int) -> int:
    """What ``rows_until`` finds, by its first rule alone."""
    for at in range(number, len(lines)):
        line = lines[at]
        if line.startswith(NOT_ROWS) or not line or line.isspace() or "\f" in line:
            return at
    return len(lines)


@given(lines=st.lists(LINE, min_size=1, max_size=12), data=st.data())
def test_rows_taken_at_once_are_those_taken_one_by_one(lines: list[str], data: st.DataObject) -> None:
    number = data.draw(st.integers(1, len(lines)))
    assert rows_until(lines, number, NOT_ROWS) == one_by_one(lines, number)


@pytest.mark.parametrize("end", ["End of readings,2000", "", "\f", " "])
def test_more_rows_than_are_taken_at_once(end: str) -> None:
    lines = [*["1,A"] * 2000, end, "1,A"]
    number = 1
    while (after := rows_until(lines, number, NOT_ROWS)) > number:
        assert after <= 2000
        number = after
    assert number == 2000
