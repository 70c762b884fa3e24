"""A row without its time of day where the others have one is refused; forms that give fewer times are not."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.ingest.test_layout_words import _HEAD_LINE, HEAD, NAME, NUMBER, REF, SIGNAL, _codes, _layout, _runs

from benchseal.ingest.clocks import CHECK_CLOCK, PUT_BACK, doubled, own_begin, without_clock
from benchseal.ingest.joining import joined
from benchseal.ingest.lines import text_lines
from benchseal.ingest.reader import read_file
from benchseal.ingest.walk import EXPORT_AGAIN
from benchseal.problems import Problem
from benchseal.records.layout import Column, Layout, PageForm

if TYPE_CHECKING:
    from benchseal.records.run import RunDocument

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


def _refused(text: str, layout: Layout) -> list[Problem]:
    return [one for one in read_file(text.encode(), "x", layout, REF) if isinstance(one, Problem)]


BACK = "Name,No,Signal,When\nS0,1,0.001,09:01:00\nS0,2,0.002,09:59:15\nA/1,1,0.2,09:01:00\nA/1,2,0.3,09:04:00\n"


@pytest.mark.parametrize("hour", ["first", "second"])
@pytest.mark.parametrize(
    ("rows", "codes"),
    [
        pytest.param(BACK, [], id="less than an hour"),
        pytest.param(BACK.replace("A/1,1,0.2,09:01:00", "A/1,1,0.2,08:59:15"), [], id="an hour"),
        pytest.param(BACK.replace("A/1,1,0.2,09:01:00", "A/1,1,0.2,08:59:14"), ["ingest.time-backwards"],
                     id="a second more"),
        pytest.param(BACK.replace("09:04:00", "09:00:59"), ["ingest.time-backwards"], id="twice"),
    ],
)  # fmt: skip
def test_one_step_back_of_an_hour_where_the_layout_knows_of_doubled_hours(
    hour: str, rows: str, codes: list[str]
) -> None:
    layout = replace(_layout(COLUMNS, form={"separator": ","}), doubled_hour=hour)  # type: ignore[arg-type]  # its words
    assert _codes(HEAD + rows, layout) == codes
    if rows == BACK:
        (run,) = _runs(HEAD + rows, layout)
        assert [text[11:] for text in run.readings.taken_at] == ["09:01:00", "09:59:15", "09:01:00", "09:04:00"]


def test_each_of_several_days_may_be_said() -> None:
    columns = (NAME, NUMBER, SIGNAL, Column("Day", "day"), Column("When", "taken_at"))
    rows = BACK.replace("When", "Day,When").replace(",09:", ",2026-03-02,09:")
    layout = _layout(columns, form={"separator": ","})
    (problem,) = _refused(HEAD + rows, layout)
    assert problem.code == "ingest.time-backwards"
    assert "doubled_hour: first or second" in problem.remedy
    (run,) = _runs(HEAD + rows, replace(layout, doubled_hour="first"))
    assert run.readings.taken_at[1:3] == ("2026-03-02T09:59:15", "2026-03-02T09:01:00")
    assert _codes(HEAD + rows.replace("A/1,1,0.2,2026-03-02", "A/1,1,0.2,2026-03-01"),
                  replace(layout, doubled_hour="first")) == ["ingest.time-backwards"]  # fmt: skip


def test_a_refusal_names_the_key_only_where_it_would_help() -> None:
    layout = _layout(COLUMNS, form={"separator": ","})
    (small,) = _refused(HEAD + BACK, layout)
    assert small.remedy == PUT_BACK
    (great,) = _refused(HEAD + BACK.replace("A/1,1,0.2,09:01:00", "A/1,1,0.2,08:01:00"), layout)
    assert great.remedy == CHECK_CLOCK
    (again,) = _refused(HEAD + BACK.replace("09:04:00", "09:00:59"), replace(layout, doubled_hour="first"))
    assert again.remedy == CHECK_CLOCK


def test_over_several_files_of_one_run() -> None:
    """The clock is put back between the second rack and the first."""
    page = PageForm((r"rack (?P<page>\d+) of (?P<pages>\d+)", _HEAD_LINE), repeats_header=True, form_feed=False)
    plain = _layout(COLUMNS, form={"separator": ","}, pages=(page,))
    layout = replace(plain, head=(), recognised_by=(r"rack \d+ of \d+",))
    header, *rows = BACK.splitlines()
    files = [
        (f"rack-{nth}", f"rack {nth} of 2\n{HEAD}{header}\n{one}\n{two}\n".encode())
        for nth, (one, two) in enumerate((rows[:2], rows[2:]), 1)
    ]
    whole = joined(files)
    assert not isinstance(whole, tuple)
    (problem,) = read_file(whole.data, "x", layout, REF)
    assert isinstance(problem, Problem)
    assert (problem.code, problem.remedy) == ("ingest.time-backwards", PUT_BACK)
    (run,) = read_file(whole.data, "x", replace(layout, doubled_hour="first"), REF)
    assert not isinstance(run, Problem)
    assert [text[11:] for text in run.readings.taken_at] == ["09:01:00", "09:59:15", "09:01:00", "09:04:00"]


def racks(page: tuple[str, ...], begins: tuple[str, str]) -> list[RunDocument | Problem]:
    """Two racks that each say their own begin, read as one run by these lines of a heading."""
    heading = PageForm((r"rack (?P<page>\d+) of (?P<pages>\d+)", *page), repeats_header=True, form_feed=False)
    layout = replace(_layout(COLUMNS, form={"separator": ","}, pages=(heading,)), head=())
    layout = replace(layout, recognised_by=(r"rack \d+ of \d+",))
    header, *rows = ROWS.splitlines()
    files = [
        (
            f"rack-{nth}",
            f"rack {nth} of 2\nPb 283.3\n{begin}\n{header}\n{rows[2 * nth - 2]}\n{rows[2 * nth - 1]}\n".encode(),
        )
        for nth, begin in enumerate(begins, 1)
    ]
    whole = joined(files)
    assert not isinstance(whole, tuple)
    return list(read_file(whole.data, "x", layout, REF))


ELEMENT = r"(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+)"
BOTH = (ELEMENT, r"(?P<started_date>\S+) (?P<started_time>\S+)")


def test_files_of_a_run_with_a_begin_each_are_told_the_way_out_and_it_is_one() -> None:
    begins = ("2026-03-02 09:00:30", "2026-03-02 09:02:30")
    (problem,) = racks(BOTH, begins)
    assert isinstance(problem, Problem)
    assert problem.code == "ingest.fact-contradicts"
    assert "name no group started_time where the times of rows are read" in problem.remedy
    (run,) = racks((ELEMENT, r"(?P<started_date>\S+) \S+"), begins)
    assert not isinstance(run, Problem)
    assert run.facts.started_at == "2026-03-02T09:01:00", "the first row"


def test_of_two_days_with_times_alone_there_is_no_way_and_that_is_said() -> None:
    problems = racks(BOTH, ("2026-03-02 09:00:30", "2026-03-03 09:00:30"))
    assert [one.remedy for one in problems if isinstance(one, Problem)] == [EXPORT_AGAIN + own_begin("started_date")]
    assert "only where rows say their day; name no started_date then" in own_begin("started_date")


def test_other_facts_that_differ_have_their_usual_remedy() -> None:
    assert own_begin("element") == ""


_OF_NAME = (NAME, SIGNAL, Column("When", "taken_at"))
_ROWS = "S0,0.001,09:01:00\nS0,0.001,09:02:00\nA/1,0.2,09:03:00\nA/1,0.2,09:03:10\nA/1,0.3,09:04:00\n"


def _by_name(clock: str = "HH:mm:ss", columns: tuple[Column, ...] = _OF_NAME) -> Layout:
    form = {"separator": ",", "time_form": clock}
    return _layout(columns, form=form, table={"each_row": "reading_of_name"})


def test_a_row_doubled_with_its_time_is_named_with_the_row_above() -> None:
    layout, head = _by_name(), f"{HEAD}Name,Signal,When\n"
    assert len(_runs(head + _ROWS, layout)) == 1
    again = "A/1,0.2,09:03:10\n"
    line = (head + _ROWS).split("\n").index(again.strip()) + 1
    (problem,) = _refused((head + _ROWS).replace(again, again * 2), layout)
    assert (problem.code, problem.where) == ("ingest.reading-twice", f"x, line {line + 1}")
    assert problem.what == f"Lines {line} and {line + 1} are one reading twice: 'A/1' at 09:03:10, 0.2."


def test_times_of_solutions_or_without_seconds_show_no_doubled_row() -> None:
    head = f"{HEAD}Name,Signal,When\n"
    of_solution = "S0,0.001,09:01:00\nS0,0.001,09:01:00\nA/1,0.2,09:03:00\nA/1,0.3,09:03:00\n"
    assert len(_runs(head + of_solution, _by_name())) == 1
    minutes = head.replace("09:00:00", "09:00") + "S0,0.001,09:01\nS0,0.001,09:01\nA/1,0.2,09:03\nA/1,0.2,09:04\n"
    assert len(_runs(minutes, _by_name("HH:mm"))) == 1
    wide = (NAME, Column("R1", "signal"), Column("R2", "signal"), Column("When", "taken_at"))
    layout = _layout(wide, form={"separator": ","})
    assert len(_runs(f"{HEAD}Name,R1,R2,When\nS0,0.1,0.1,09:01:00\nA/1,0.2,0.2,09:02:00\n", layout)) == 1


def test_parts_of_a_second_tell_readings_apart() -> None:
    layout, head = _by_name("HH:mm:ss.f"), f"{HEAD}Name,Signal,When\n".replace("09:00:00", "09:00:00.0")
    rows = "S0,0.1,09:01:00.1\nS0,0.1,09:01:00.6\nA/1,0.2,09:02:00.1\n"
    assert len(_runs(head + rows, layout)) == 1
    assert _codes(head + rows.replace("00.6", "00.1"), layout) == ["ingest.reading-twice"]


@pytest.mark.parametrize(
    ("labels", "clocks", "texts", "due"),
    [
        ("aabb", "1234", "xxxx", ()),
        ("aabb", "1123", "xxyz", (1,)),
        ("aabb", "1122", "xxyz", ()),
        ("abab", "1111", "xxxx", ()),
        ("aaab", "1112", "xxxy", (1, 2)),
        ("aab", ("", "", ""), "xxx", ()),
    ],
)
def test_which_readings_are_the_one_before_again(
    labels: str, clocks: str | tuple[str, ...], texts: str, due: tuple[int, ...]
) -> None:
    assert doubled(tuple(labels), tuple(clocks), tuple(texts)) == due
