"""The quick ways of the reader, each held against the slow one it stands for: midnights, and rows taken at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.ingest.malformed import COMMA
from tests.ingest.test_regular import QUICK

from benchseal.ingest.plan import plan_of, rows_until
from benchseal.ingest.regular import regular_table
from benchseal.ingest.table import Table
from benchseal.ingest.walk import Section

if TYPE_CHECKING:
    from tests.ingest.test_regular import Layouts

CLOCK = st.sampled_from(
    ["00:00:00", "00:10:00", "09:59:59", "10:00:00", "11:59:59", "12:00:00", "22:00:00", "23:59:59"]
)
LINE = st.sampled_from(
    ["1,A", "", " ", "\t", " 1,A", "\t1", "\xa0", "\xa01", "a\fb", "\f", "End of readings,3", "End", "List closed", "é"]
)
NOT_ROWS = ("End of readings,", "List closed")


def timed(clocks: list[str], started_at: str, layouts: Layouts) -> tuple[object, object, list[object]]:
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
