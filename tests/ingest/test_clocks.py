"""A row without its time of day where the others have one is refused; forms that give fewer times are not."""

from __future__ import annotations

import pytest
from tests.ingest.test_layout_words import HEAD, NAME, NUMBER, SIGNAL, _codes, _layout, _runs

from benchseal.ingest.clocks import without_clock
from benchseal.ingest.lines import text_lines
from benchseal.problems import Problem
from benchseal.records.layout import Column

COLUMNS = (NAME, NUMBER, SIGNAL, Column("When", "taken_at"))
ROWS = "Name,No,Signal,When\nS0,1,0.001,09:01:00\nS0,2,0.002,09:02:00\nA/1,1,0.2,09:03:00\nA/1,2,0.3,09:04:00\n"


def test_a_row_that_lost_its_clock_is_named() -> None:
    layout = _layout(COLUMNS, form={"separator": ","})
    assert len(_runs(HEAD + ROWS, layout)) == 1
    assert _codes(HEAD + ROWS.replace("09:03:00", ""), layout) == ["ingest.time-missing"]
    assert _codes(HEAD + ROWS.replace("09:01:00", ""), layout) == ["ingest.time-missing"]
    both = ROWS.replace("09:02:00", "").replace("09:03:00", "")
    assert _codes(HEAD + both, layout) == ["ingest.time-missing"] * 2
    assert _codes(HEAD + ROWS.replace("09:03:00", "9h"), layout) == ["ingest.time-unreadable"]


@pytest.mark.parametrize(
    ("taken_at", "flag", "due"),
    [
        pytest.param(("", "", "", ""), ("",) * 4, (), id="no times at all"),
        pytest.param(("a", "", "b", ""), ("",) * 4, (), id="of the first reading of each solution"),
        pytest.param(("a", "b", "", "c"), ("", "", "missing", ""), (), id="of what was not read"),
        pytest.param(("a", "b", "", "c"), ("", "", "over_range", ""), (2,), id="of what was over range"),
        pytest.param(("a", "", "b", "c"), ("",) * 4, (1,), id="of one of two"),
    ],
)
def test_which_readings_lack_a_time(taken_at: tuple[str, ...], flag: tuple[str, ...], due: tuple[int, ...]) -> None:
    assert without_clock((0, 2), taken_at, flag) == due


@pytest.mark.parametrize("sign", ["\u2028", "\u2029"])
def test_a_separator_of_lines_before_a_number_is_not_stripped(sign: str) -> None:
    (problem,) = text_lines(f"a;{sign}0.1\n".encode(), "utf-8", "x")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("ingest.control-sign", "x, line 1, column 3")
