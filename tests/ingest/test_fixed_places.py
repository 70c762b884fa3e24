"""Columns at fixed places without a gap: a text that runs over its edge is never cut in two."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.ingest.test_regular import exactly

from benchseal.documents.rules_layout import layout_faults
from benchseal.ingest.reader import read_file
from benchseal.problems import Problem
from benchseal.records.layout import Column, KindRule, Layout, LineRule, SectionForm, Stated, TableForm
from benchseal.records.run import DocumentRef, RunDocument

if TYPE_CHECKING:
    from collections.abc import Sequence

REF = DocumentRef("tight", 1, "0" * 64)
HEAD = "E Pb 283.3 2026-11-20 09:30:00\np  name    k  abs    bg\n"
COLUMNS = (
    Column("p", "position", starts=1, ends=3),
    Column("name", "label", starts=4, ends=11),
    Column("k", "kind", starts=12, ends=14),
    Column("abs", "signal", starts=15, ends=21),
    Column("bg", "background", starts=22, ends=27),
)


@pytest.fixture
def tight(layouts: dict[str, tuple[DocumentRef, Layout]]) -> Layout:
    """No column has room beside it."""
    base = layouts["comma-list"][1]
    head = r"E (?P<element>\S+) (?P<wavelength_nm>\S+) (?P<started_date>\S+) (?P<started_time>\S+)"
    stated = {"technique": "flame", "instrument_serial": "TQ-1", "signal_is": "absorbance", "signal_unit": "A"}
    layout = replace(
        base,
        id="tight",
        file=replace(base.file, separator="", quote=""),
        recognised_by=("E Pb .*",),
        head=(LineRule(head),),
        section=SectionForm("", "end"),
        table=TableForm(COLUMNS),
        kinds=(KindRule("sample", code="smp"),),
        last_line="",
        stated=tuple(Stated(fact, value) for fact, value in stated.items()),
        words=(),
    )
    assert list(layout_faults(layout)) == []
    return layout


def read(rows: Sequence[str], layout: Layout) -> tuple[RunDocument, ...] | tuple[Problem, ...]:
    data = (HEAD + "".join(f"{row}\n" for row in rows) + "end\n").encode()
    found = read_file(data, "x", layout, REF)
    assert found == exactly(data, layout, REF), "both ways say the same"
    return found


def test_cells_with_a_blank_between_them_are_read(tight: Layout) -> None:
    (run,) = read(["  1Y-A1/1  smp 0.1234 0.012"], tight)
    assert isinstance(run, RunDocument)
    assert (run.readings.signal, run.readings.background) == (("0.1234",), ("0.012",))
    assert run.solutions.label == ("Y-A1/1",), "a position before a letter is no such case"


@pytest.mark.parametrize(
    ("row", "column"),
    [
        pytest.param("  1Y-A1/1  smp  0.12340.012", 22, id="a number shifted to the right"),
        pytest.param("  1Y-A1/1  smp -10.12345.01", 22, id="a figure more"),
        pytest.param("  1Y-A1/1  smp -10.12345", 22, id="a figure more beside an empty cell"),
        pytest.param("  1Y-A1/1  smp 0.12345-0.01", 22, id="a sign behind a full place"),
        pytest.param("  1Y-A1/1  smp 0.1234\u00a00.012", 0, id="a blank that is none"),
        pytest.param("  1Y-A1/1  smp0.1234 0.012", 15, id="a number behind a full code"),
        pytest.param("  1Y-A12/13smp 0.1234 0.012", 12, id="a name that fills its place"),
        pytest.param("  11-A1/1  smp 0.1234 0.012", 4, id="a position before a figure"),
    ],
)
def test_cells_that_touch_are_refused(row: str, column: int, tight: Layout) -> None:
    told = read([row, "  2Y-A2/1  smp 0.1234 0.012"], tight)
    where = f"x, line 3, column {column}" if column else ""
    codes = [(each.code, each.where) for each in told if isinstance(each, Problem)]
    if column:
        assert codes == [("ingest.cells-touch", where)]
    else:
        assert codes, "it is no blank of this table"


def test_one_such_row_is_one_problem(tight: Layout) -> None:
    told = read(
        [f"  {nth}Y-A{nth}/1  smp {'0.1234 0.012' if nth != 2 else ' 0.12340.012'}" for nth in (1, 2, 3)], tight
    )
    assert [each.code for each in told if isinstance(each, Problem)] == ["ingest.cells-touch"]


def test_with_a_gap_declared_a_full_place_is_read(tight: Layout) -> None:
    apart = (*COLUMNS[:3], Column("abs", "signal", starts=15, ends=20), COLUMNS[4])
    layout = replace(tight, table=TableForm(apart))
    (run,) = read(["  1Y-A1/1  smp 0.123 0.0123"], layout)
    assert isinstance(run, RunDocument)
    assert (run.readings.signal, run.readings.background) == (("0.123",), ("0.0123",))


@given(cells=st.lists(st.tuples(st.integers(0, 8), st.text("0123456789.- ", max_size=9)), min_size=1, max_size=3))
def test_whatever_is_read_has_its_blanks_in_the_file(cells: list[tuple[int, str]]) -> None:
    """No number of the run is a part of a longer text of its line."""
    row = "  1Y-A1/1  smp"
    for gap, text in cells:
        row += " " * gap + text
    found = read_file((HEAD + f"{row}\nend\n").encode(), "x", _TIGHT[0], REF)
    if isinstance(found[0], RunDocument):
        run = found[0]
        texts = row[14:].split()
        numbers = [*run.readings.as_read, *filter(None, run.readings.background)]
        assert run.readings.as_read[0] == texts[0]
        assert len(texts) == len(numbers)


_TIGHT: list[Layout] = []


@pytest.fixture(autouse=True)
def _kept(tight: Layout) -> None:
    _TIGHT[:] = [tight]


def test_a_blank_as_mark_of_thousands_needs_room(tight: Layout) -> None:
    """One number of two groups may lie across two places with its blank between them."""
    layout = replace(tight, file=replace(tight.file, thousands_mark=" "))
    assert {fault.code for fault in layout_faults(layout)} == {"documents.layout-places"}
