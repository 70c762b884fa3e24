"""The less usual words of a layout: runs of blanks, turned tables, several elements in a table, days in rows, prints.

The files are invented here; none is of a shape an instrument writes.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from benchseal.documents.rules_layout import layout_faults
from benchseal.ingest.accounting import accounted
from benchseal.ingest.reader import read_file, recognise
from benchseal.problems import Problem
from benchseal.records.layout import (
    Column,
    FileForm,
    KindRule,
    Layout,
    LineRule,
    MeanRow,
    PageForm,
    SectionForm,
    Stated,
    TableForm,
)
from benchseal.records.run import DocumentRef, RunDocument

if TYPE_CHECKING:
    from collections.abc import Sequence

REF = DocumentRef("bare", 1, "0" * 64)
HEAD = "Pb 283.3 2026-03-02 09:00:00\n"
_STATED = {"technique": "furnace", "instrument_serial": "TQ-1", "signal_is": "absorbance", "signal_unit": "A"}
_HEAD_LINE = r"(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+) (?P<started_date>\S+) (?P<started_time>\S+)"


def _layout(columns: Sequence[Column], head: str = _HEAD_LINE, **other: Any) -> Layout:  # noqa: ANN401  any field
    """A layout without a line that ends section or file; ``form``, ``table`` and other fields as given."""
    form, table = other.pop("form", {}), other.pop("table", {})
    file = FileForm("utf-8", "blanks", ".", "YYYY-MM-DD", "HH:mm:ss")
    layout = Layout(
        kind="layout",
        id="bare",
        title="Bare list",
        recognised_by=(head,),
        file=replace(file, **form),
        head=(LineRule(head),),
        section=other.pop("section", SectionForm("", "")),
        table=TableForm(tuple(columns), **table),
        kinds=(
            KindRule("calibration_blank", label="S0"),
            KindRule("standard", label="S[1-9]"),
            KindRule("sample", label=".+/.+"),
        ),
        last_line=other.pop("last_line", ""),
        stated=tuple(Stated(fact, value) for fact, value in _STATED.items()),
        **other,
    )
    assert list(layout_faults(layout)) == []
    return layout


def _runs(text: str | bytes, layout: Layout) -> list[RunDocument]:
    data = text if isinstance(text, bytes) else text.encode()
    found = read_file(data, "x", layout, REF)
    assert not any(isinstance(one, Problem) for one in found), found
    told = accounted(data, "x", layout, REF)
    assert [line.role for line in told.lines if line.role == "no place"] == []
    return [one for one in found if isinstance(one, RunDocument)]


def _codes(text: str | bytes, layout: Layout) -> list[str]:
    data = text if isinstance(text, bytes) else text.encode()
    return [one.code for one in read_file(data, "x", layout, REF) if isinstance(one, Problem)]


def _problems(text: str, layout: Layout) -> list[Problem]:
    return [one for one in read_file(text.encode(), "x", layout, REF) if isinstance(one, Problem)]


NAME, NUMBER, SIGNAL = Column("Name", "label"), Column("No", "replicate"), Column("Signal", "signal")


def test_runs_of_blanks_wherever_the_columns_stand() -> None:
    text = HEAD + "Name  No Signal\nS0\t1    0.001\nA/1      1  0.25\n  A/1 2 0.26\n"
    (run,) = _runs(text, _layout((NAME, NUMBER, SIGNAL)))
    assert (run.readings.signal, run.readings.column) == (("0.001", "0.25", "0.26"), (9, 13, 9))
    assert run.solutions.reading_count == (1, 2)
    unfit = _codes(text.replace("A/1      1", "A 1      1"), _layout((NAME, NUMBER, SIGNAL)))
    assert unfit == ["ingest.row-unfit", "ingest.reading-order"], (
        "the reading in the row that is cut otherwise is missing"
    )


def test_two_blanks_leave_single_ones_inside_a_cell() -> None:
    layout = _layout((Column("Name of it", "label"), NUMBER, SIGNAL), form={"separator": "two blanks"})
    (run,) = _runs(HEAD + "Name of it   No  Signal\nsoil A/1   1   0.2\n", layout)
    assert run.solutions.label == ("soil A/1",)


def test_a_file_no_line_closes_is_cut_off_where_its_last_line_is_bare() -> None:
    text = HEAD + "Name No Signal\nS0 1 0.001\nA/1 1 0.25"
    layout = _layout((NAME, NUMBER, SIGNAL))
    assert _codes(text, layout) == ["ingest.cut-off"]
    assert _codes(HEAD, layout) == ["ingest.section-missing"]
    assert _codes(text + "\n", layout) == []
    bare = _layout((NAME, NUMBER, SIGNAL), form={"ends_bare": True})
    assert len(_runs(text, bare)) == 1


def test_sections_end_where_the_next_begins_or_the_last_line_stands() -> None:
    section = SectionForm(r"=(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+)", "")
    head = r"(?P<started_date>[0-9-]+) (?P<started_time>\S+)"
    layout = _layout((NAME, NUMBER, SIGNAL), head, section=section, last_line="closed (?P<count_sections>[0-9]+)")
    text = "2026-03-02 09:00:00\n=Pb 283.3\nName No Signal\nS0 1 0.1\n\n=Cd 228.8\nName No Signal\nS0 1 0.2\n"
    runs = _runs(text + "closed 2\n", layout)
    assert [(run.facts.element, run.readings.signal) for run in runs] == [("Pb", ("0.1",)), ("Cd", ("0.2",))]
    assert _codes(text, layout) == ["ingest.cut-off"], "its last line is missing"
    assert _codes(text + "closed 3\n", layout) == ["ingest.count-differs"]
    assert _codes(text.replace("Name No Signal\nS0 1 0.1\n", "") + "closed 2\n", layout) == ["ingest.cut-off"]


def test_a_count_of_the_whole_file_and_one_of_each_section() -> None:
    """The two do not contradict each other; each is compared with what it speaks of."""
    section = SectionForm(r"=(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+)", "rows (?P<count_readings>[0-9]+)")
    head = r"(?P<started_date>[0-9-]+) (?P<started_time>\S+) of (?P<count_readings>[0-9]+)"
    closed = "closed (?P<count_readings>[0-9]+)"
    layout = _layout((NAME, NUMBER, SIGNAL), head, section=section, last_line=closed)
    lead = "=Pb 283.3\nName No Signal\nS0 1 0.1\nS1 1 0.2\nrows 2\n"
    text = f"2026-03-02 09:00:00 of 3\n{lead}=Cd 228.8\nName No Signal\nS0 1 0.1\nrows 1\nclosed 3\n"
    assert [len(run.readings.signal) for run in _runs(text, layout)] == [2, 1]
    for right, wrong in (("of 3", "of 4"), ("rows 2", "rows 3"), ("rows 1", "rows 3"), ("closed 3", "closed 2")):
        assert set(_codes(text.replace(right, wrong), layout)) in (
            {"ingest.count-differs"},
            {"ingest.fact-contradicts"},  # head and last line both speak of the whole file
            {"ingest.count-differs", "ingest.fact-contradicts"},
        )


@pytest.mark.parametrize("number", ["1", "01", "0001"])
def test_positions_and_reading_numbers_with_leading_zeros(number: str) -> None:
    zeros = number[:-1]
    layout = _layout((Column("Pos", "position"), NAME, NUMBER, SIGNAL))
    rows = "".join(f"{zeros}{place} S{place} {zeros}{nth} 0.{nth}\n" for place in (1, 2) for nth in (1, 2))
    (run,) = _runs(f"{HEAD}Pos Name No Signal\n{rows}", layout)
    assert (run.solutions.position, run.readings.replicate) == ((1, 2), (1, 2, 1, 2))
    gap = rows.replace(f"{zeros}2 S2", f"{zeros}3 S2")
    assert _codes(f"{HEAD}Pos Name No Signal\n{gap}", layout) == ["ingest.position-gap"]
    lost = rows.replace(f"{zeros}1 S1 {zeros}2", f"{zeros}1 S1 {zeros}3")
    assert _codes(f"{HEAD}Pos Name No Signal\n{lost}", layout) == ["ingest.reading-order"]
    by_number = _layout((NAME, NUMBER, SIGNAL))
    named = "".join(f"S1 {zeros}{nth} 0.{nth}\n" for nth in (1, 2, 1))
    (run,) = _runs(f"{HEAD}Name No Signal\n{named}", by_number)
    assert run.solutions.reading_count == (2, 1), "a first reading begins a solution"


@pytest.mark.parametrize("number", ["0", "00", "-1", "+1", "1.0", "\u0661", "one"])
def test_what_is_no_position(number: str) -> None:
    layout = _layout((Column("Pos", "position"), NAME, NUMBER, SIGNAL))
    assert _codes(f"{HEAD}Pos Name No Signal\n{number} S1 1 0.1\n", layout) == ["ingest.position-gap"]


@pytest.mark.parametrize(
    ("cell", "column"), [('"0.1234"', 7), ('"  0.1234"', 9), ('"  0.1234 "', 9), ("0.1234", 6), ("  0.1234", 8)]
)
def test_the_column_is_that_of_the_first_figure(cell: str, column: int) -> None:
    layout = _layout((NAME, NUMBER, SIGNAL), form={"separator": ",", "quote": '"'})
    (run,) = _runs(f"{HEAD}Name,No,Signal\nS1,1,{cell}\n", layout)
    assert (run.readings.signal, run.readings.column) == (("0.1234",), (column,))


@pytest.mark.parametrize(
    ("where", "group", "right"),
    [
        ("head", "count_solutions", "4"),
        ("head", "count_readings", "5"),
        ("head", "count_sections", "2"),
        ("section", "count_sections", "2"),
        ("closed", "count_solutions", "4"),
        ("closed", "count_readings", "5"),
        ("closed", "count_sections", "2"),
    ],
)
def test_counts_of_the_whole_file_are_compared(where: str, group: str, right: str) -> None:
    """Of solutions and readings in the head or the last line, of sections wherever it stands."""
    count = {one: rf" of (?P<{group}>[0-9]+)" if one == where else "" for one in ("head", "section", "closed")}
    head = r"(?P<started_date>[0-9-]+) (?P<started_time>\S+)" + count["head"]
    section = SectionForm(r"=(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+)" + count["section"], "")
    layout = _layout((NAME, NUMBER, SIGNAL), head, section=section, last_line="closed" + count["closed"])

    def text(number: str) -> str:
        told = {one: f" of {number}" if one == where else "" for one in count}
        lead = f"=Pb 283.3{told['section']}\nName No Signal\nS0 1 0.1\nS0 2 0.1\nS1 1 0.2\n\n"
        cadmium = f"=Cd 228.8{told['section']}\nName No Signal\nS0 1 0.1\nS1 1 0.2\n"
        return f"2026-03-02 09:00:00{told['head']}\n{lead}{cadmium}closed{told['closed']}\n"

    assert _codes(text(right), layout) == []
    assert set(_codes(text("3"), layout)) == {"ingest.count-differs"}


def test_rows_without_a_header() -> None:
    layout = _layout((NAME, NUMBER, SIGNAL), table={"header_row": False}, drop_lines=("-+",))
    (run,) = _runs(HEAD + "---\nS0 1 0.001\nA/1 1 0.25\n", layout)
    assert run.readings.line == (3, 4)
    assert _codes(HEAD + "S0 1 0.001 9\n", layout) == ["ingest.line-unread", "ingest.section-missing"]


def test_a_row_may_be_a_solution_or_a_reading_of_a_name() -> None:
    text = HEAD + "Name Signal\nS0 0.001\nS0 0.002\nA/1 0.2\n"
    (run,) = _runs(text, _layout((NAME, SIGNAL), table={"each_row": "solution"}))
    assert run.solutions.reading_count == (1, 1, 1)
    (run,) = _runs(text, _layout((NAME, SIGNAL), table={"each_row": "reading_of_name"}))
    assert (run.solutions.label, run.solutions.reading_count) == (("S0", "A/1"), (2, 1))


TURNED = "Name,S0,S1,A/1\nSet,0,1.0,\nfirst,0.001,0.1,0.2\nsecond,0.002,0.11,0.21\n"
_LINES = (NAME, Column("Set", "nominal"), Column("first", "signal"), Column("second", "signal", needed=False))


def test_a_transposed_table() -> None:
    layout = _layout(_LINES, form={"separator": ","}, table={"transposed": True})
    (run,) = _runs(HEAD + TURNED, layout)
    assert (run.solutions.label, run.solutions.nominal) == (("S0", "S1", "A/1"), ("0", "1.0", ""))
    assert run.readings.signal == ("0.001", "0.002", "0.1", "0.11", "0.2", "0.21")
    assert (run.readings.line[:4], run.readings.column[:4]) == ((4, 5, 4, 5), (7, 8, 13, 14))
    (run,) = _runs(HEAD + TURNED.replace("second,0.002,0.11,0.21\n", ""), layout)
    assert run.solutions.reading_count == (1, 1, 1)
    assert _codes(HEAD + TURNED.replace("0.11,", ""), layout) == ["ingest.row-unfit"]
    assert _codes(HEAD + TURNED.replace("Set", "Put"), layout) == ["ingest.header-differs"]
    assert _codes(HEAD + TURNED.replace("0.11", "0;11"), layout) == ["ingest.number-unreadable"]


def test_places_in_a_transposed_table_are_those_of_the_cells() -> None:
    text = HEAD + "Name,S0,S0,A/1\nSet,0,0,\nfirst,0.001,0.002,0.2\nmean,,0.0015,0.2\n"
    columns = (*_LINES[:3], Column("mean", "mean"))
    layout = _layout(columns, form={"separator": ","}, table={"transposed": True, "each_row": "reading_of_name"})
    (run,) = _runs(text, layout)
    assert (run.readings.line, run.readings.column) == ((4, 4, 4), (7, 13, 19))
    assert run.means.line == (5, 5, 5)
    for wrong, place in (("0.002", "line 4, column 13"), ("0.0015", "line 5, column 7"), ("0,0", "line 3, column 5")):
        found = accounted((text.replace(wrong, wrong.replace("0", "x"))).encode(), "x", layout, REF).problems
        assert [each.where for each in found][:1] == [f"x, {place}"], found


def test_elements_in_rows_become_runs() -> None:
    columns = (NAME, Column("El", "element"), Column("nm", "wavelength_nm"), NUMBER, SIGNAL)
    layout = _layout(columns, r"(?P<started_date>\S+) (?P<started_time>\S+)")
    rows = "S0 Pb 283.3 1 0.1\nS0 Cd 228.8 1 0.2\nA/1 Pb 283.3 1 0.3\nA/1 Cd 228.8 1 0.4\n"
    runs = _runs("2026-03-02 09:00:00\nName El nm No Signal\n" + rows, layout)
    assert [(run.facts.element, run.facts.wavelength_nm) for run in runs] == [("Pb", "283.3"), ("Cd", "228.8")]
    assert [run.readings.signal for run in runs] == [("0.1", "0.3"), ("0.2", "0.4")]
    assert [run.readings.line for run in runs] == [(3, 5), (4, 6)]
    assert [run.facts.line for run in runs] == [3, 4]
    wrong = rows.replace("A/1 Pb 283.3 1 0.3", "A/1 Pb 283.3 1")
    assert _codes("2026-03-02 09:00:00\nName El nm No Signal\n" + wrong, layout) == ["ingest.row-unfit"]
    wrong = rows.replace("S0 Cd", "S0 ?d")
    assert "ingest.fact-unreadable" in _codes("2026-03-02 09:00:00\nName El nm No Signal\n" + wrong, layout)


def test_elements_beside_each_other_become_runs() -> None:
    pb, cd = {"element": "Pb", "wavelength_nm": "283.3"}, {"element": "Cd", "wavelength_nm": "228.8"}
    columns = (NAME, Column("Pb", "signal", **pb), Column("Cd", "signal", **cd))  # type: ignore[arg-type]
    layout = _layout(columns, r"(?P<started_date>\S+) (?P<started_time>\S+)", table={"each_row": "solution"})
    runs = _runs("2026-03-02 09:00:00\nName Pb Cd\nS0 0.1 0.2\nA/1 0.3 0.4\n", layout)
    assert [(run.facts.element, run.readings.signal) for run in runs] == [
        ("Pb", ("0.1", "0.3")),
        ("Cd", ("0.2", "0.4")),
    ]
    assert [run.readings.column for run in runs] == [(4, 5), (8, 9)]


def test_a_start_by_the_first_row() -> None:
    head = r"(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+)"
    columns = (NAME, NUMBER, SIGNAL, Column("When", "day_time"))
    layout = _layout(columns, head, form={"separator": ",", "date_form": "DD MMM YYYY", "time_form": "hh:mm:ss AP"})
    rows = "Name,No,Signal,When\nS0,1,0.1,02 Mar 2026 11:59:58 PM\nA/1,1,0.2,03 Mar 2026 12:00:09 am\n"
    (run,) = _runs("Pb 283.3\n" + rows, layout)
    assert run.facts.started_at == "2026-03-02T23:59:58"
    assert run.readings.taken_at == ("2026-03-02T23:59:58", "2026-03-03T00:00:09")
    assert _codes("Pb 283.3\n" + rows.replace("03 Mar", "01 Mar"), layout) == ["ingest.time-backwards"]
    assert _codes("Pb 283.3\n" + rows.replace("03 Mar", "03 Mrz"), layout) == ["ingest.date-unreadable"]
    apart = _layout((NAME, NUMBER, SIGNAL, Column("Day", "day"), Column("Time", "taken_at")), head)
    (run,) = _runs("Pb 283.3\nName No Signal Day Time\nS0 1 0.1 2026-03-02 23:59:58\n", apart)
    assert (run.facts.started_at, run.readings.taken_at) == ("2026-03-02T23:59:58", ("2026-03-02T23:59:58",))
    assert _codes("Pb 283.3\nName No Signal Day Time\nS0 1 0.1 2026-02-30 23:59:58\n", apart) == [
        "ingest.date-unreadable"
    ]


@pytest.mark.parametrize(
    ("form", "day", "remedy"),
    [
        pytest.param("DD.MM.YY", "24.11.2026", "date_form 'DD.MM.YYYY'; where it usually writes DD.MM.YY", id="year"),
        pytest.param("YYYY-MM-DD", "03/11/2026", "'DD/MM/YYYY' or 'MM/DD/YYYY', whichever it means", id="two ways"),
        pytest.param("YYYY-MM-DD", "2026-02-30", "Export the file at the instrument again", id="no day at all"),
    ],
)
def test_a_date_in_another_form_names_the_form(form: str, day: str, remedy: str) -> None:
    head = r"(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+) (?P<started_date>\S+)"
    layout = _layout((NAME, NUMBER, SIGNAL, Column("Time", "taken_at")), head, form={"date_form": form})
    (problem,) = _problems(f"Pb 283.3 {day}\nName No Signal Time\nS0 1 0.1 23:59:58\n", layout)
    assert problem.code == "ingest.date-unreadable"
    assert remedy in problem.remedy


def test_a_time_in_another_form_names_the_form() -> None:
    head = r"(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+)"
    apart = _layout((NAME, NUMBER, SIGNAL, Column("Day", "day"), Column("Time", "taken_at")), head)
    found = _problems("Pb 283.3\nName No Signal Day Time\nS0 1 0.1 2026-03-02 23.59.58\n", apart)
    assert "time_form 'HH.mm.ss'" in found[0].remedy
    joined = _layout((NAME, NUMBER, SIGNAL, Column("When", "day_time")), head, form={"separator": ","})
    (other,) = _problems("Pb 283.3\nName,No,Signal,When\nS0,1,0.1,02.03.2026 23.59.58\n", joined)
    assert "date_form 'DD.MM.YYYY'" in other.remedy
    assert "time_form 'HH.mm.ss'" in other.remedy


def test_a_day_in_the_head_and_times_in_rows() -> None:
    head = r"(?P<element>[A-Z][a-z]?) (?P<wavelength_nm>\S+) (?P<started_date>\S+)"
    layout = _layout((NAME, NUMBER, SIGNAL, Column("Time", "taken_at")), head)
    (run,) = _runs("Pb 283.3 2026-03-02\nName No Signal Time\nS0 1 0.1 23:59:58\nA/1 1 0.1 00:01:00\n", layout)
    assert run.facts.started_at == "2026-03-02T23:59:58"
    assert run.readings.taken_at[1] == "2026-03-03T00:01:00"


def test_pages_without_a_form_feed_and_form_feeds_without_a_heading() -> None:
    rows = ("Name No Signal", "S0 1 0.1", "sheet 2 of 2", "Name No Signal", "A/1 1 0.2")
    text = "sheet 1 of 2\n" + HEAD + "\n".join(rows) + "\n"
    pages = (PageForm((r"sheet (?P<page>\d) of (?P<pages>\d)",), repeats_header=True, form_feed=False),)
    layout = replace(_layout((NAME, NUMBER, SIGNAL)), pages=pages)
    assert list(layout_faults(layout)) == []
    (run,) = _runs(text, layout)
    assert run.readings.signal == ("0.1", "0.2")
    assert "ingest.page-missing" in _codes(text.replace("sheet 2", "sheet 3"), layout)
    assert _codes(text.replace("sheet 2 of 2", "\fsheet 2 of 2"), layout) == ["ingest.page-break"]
    feeds = replace(layout, pages=(PageForm((), repeats_header=False),))
    assert list(layout_faults(feeds)) == []
    (run,) = _runs(HEAD + "Name No Signal\nS0 1 0.1\n\f\nA/1 1 0.2\n\f", feeds)
    assert run.readings.line == (3, 5)
    assert _codes(HEAD + "Name No Signal\nS0 1 0.1\n\f\f\nA/1 1 0.2\n", feeds) == ["ingest.page-break"]


FRAMED = (
    "sheet 1 of 2", "====", *HEAD.splitlines(), "+--+", "Name No Signal", "- - A", "+--+", "S0 1 0.1",
    "sheet 2 of 2", "====", "+--+", "Name No Signal", "- - A", "+--+", "A/1 1 0.2", "+--+",
)  # fmt: skip


def framed(*lines: str) -> str:
    return "\n".join([*lines, ""])


def test_dropped_lines_stand_between_a_heading_and_the_repeated_header() -> None:
    """A frame drawn around header and rows comes again on every page, also between the lines of a heading."""
    pages = (PageForm((r"sheet (?P<page>\d) of (?P<pages>\d)", "(?:dry|wet)"), repeats_header=True, form_feed=False),)
    columns = (Column("Name", "label", "-"), Column("No", "replicate", "-"), Column("Signal", "signal", "A"))
    layout = replace(
        _layout(columns, table={"units_row": True}), pages=pages, drop_lines=(r"\+-+\+", "=+"),
    )  # fmt: skip
    text = framed(*FRAMED).replace("====\n", "====\ndry\n")
    (run,) = _runs(text, layout)
    assert run.readings.signal == ("0.1", "0.2")
    assert run.readings.line[1] == 17
    changed = text.replace("dry\n+--+", "dry\n+~~+")
    assert _codes(changed, layout) == ["ingest.page-heading"], "one line in the way is one problem"
    assert _codes(text.replace("dry\n+--+\nName No Signal\n- - A\n", "dry\n"), layout)[0] == "ingest.page-heading"


def test_codes_of_a_printer_are_taken_out() -> None:
    text = HEAD + "Name No Signal\nS0 1 \x1bE0.1\x1bF\nA/1 1 0.2\n\x1a"
    assert _codes(text, _layout((NAME, NUMBER, SIGNAL))) == ["ingest.control-sign"] * 3
    layout = _layout((NAME, NUMBER, SIGNAL), form={"printer_codes": ("1b", "1b45", "1b46", "1a")})
    (run,) = _runs(text, layout)
    assert (run.readings.signal, run.readings.column[0]) == (("0.1", "0.2"), 6)
    opened = ("\x1bE" + text).encode()
    assert recognise(opened, [(REF, layout)]) == (REF, layout)


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_without_a_mark(encoding: str) -> None:
    text = HEAD + "Name No Signal\nS0 1 0.1\n"
    layout = _layout((NAME, NUMBER, SIGNAL), form={"encoding": encoding})
    assert len(_runs(text.encode(encoding), layout)) == 1
    assert _codes(text.encode(encoding)[:-1], layout) == ["ingest.byte-undecodable"]


def test_a_mean_row_told_by_the_column_of_names() -> None:
    rows = "Name,Set,Signal\nS1,1.0,0.1\nMean,,0.15\nA/1,,0.3\nMean,,0.3\n"
    columns = (NAME, Column("Set", "nominal"), SIGNAL)
    table = {"each_row": "solution", "mean_rows": (MeanRow("Name", "Mean"),)}
    layout = _layout(columns, form={"separator": ","}, table=table)
    (run,) = _runs(HEAD + rows, layout)
    assert (run.means.mean, run.means.solution) == (("0.15", "0.3"), (0, 1))
    assert _codes(HEAD + rows.replace("Mean,,0.3", "Mean,2.0,0.3"), layout) == ["ingest.mean-misplaced"]


@pytest.mark.parametrize("header", ["", "Abs"])
def test_signals_may_share_a_header(header: str) -> None:
    columns = (NAME, Column(header, "signal"), Column(header, "signal"))
    (run,) = _runs(HEAD + f"Name,{header},{header}\nS0,0.1,0.2\n", _layout(columns, form={"separator": ","}))
    assert run.readings.signal == ("0.1", "0.2")


def test_the_time_of_a_row_is_that_of_each_reading_beside_each_other() -> None:
    columns = (NAME, Column("R1", "signal"), Column("R2", "signal"), Column("When", "taken_at"))
    text = HEAD + "Name R1 R2 When\nS0 0.001 0.002 09:01:00\nA/1 0.2 0.3 09:02:00\n"
    layout = _layout(columns)
    (run,) = _runs(text, layout)
    assert run.readings.taken_at == ("2026-03-02T09:01:00",) * 2 + ("2026-03-02T09:02:00",) * 2
    assert _codes(text.replace("09:02:00", "08:59:00"), layout) == ["ingest.time-backwards"]
    assert _codes(text.replace("09:02:00", "9h"), layout) == ["ingest.time-unreadable"]
    numbered = replace(layout, table=replace(layout.table, columns=(*columns, NUMBER)))
    assert [fault.code for fault in layout_faults(numbered)] == ["documents.layout-grouping"]


def _diluted(*no_dilution: str) -> Layout:
    columns = (Column("No", "position"), Column("Name", "label"), Column("Dil", "dilution"), Column("R1", "signal"))
    return _layout(columns, form={"separator": ";"}, table={"no_dilution": no_dilution})


_DILUTED = HEAD + "No;Name;Dil;R1\n1;A/1;;0.11\n2;A/2;-;0.12\n3;A/3;10;0.13\n4;A/4;1;0.14\n"


def test_what_stands_where_nothing_was_diluted_means_one() -> None:
    (run,) = _runs(_DILUTED, _diluted("", "-"))
    assert run.solutions.dilution == ("1", "1", "10", "1")


@pytest.mark.parametrize(("said", "lines"), [((), 2), (("",), 1), (("-",), 1), (("none",), 2)])
def test_what_is_not_said_to_be_no_dilution_is_no_number(said: tuple[str, ...], lines: int) -> None:
    assert _codes(_DILUTED, _diluted(*said)) == ["ingest.number-unreadable"] * lines
