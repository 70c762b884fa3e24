"""Rules of the less usual tables: each broken once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from benchseal.documents.reading import read_document
from benchseal.documents.rules_layout import layout_faults
from benchseal.records.layout import Column, Layout, LineRule, MeanRow, PageForm, Stated

SAMPLES = Path(__file__).parents[2] / "fixtures" / "schemas"
NAME, NUMBER, SIGNAL = Column("Name", "label"), Column("No", "replicate"), Column("Signal", "signal")


@pytest.fixture(scope="module")
def base() -> Layout:
    """A layout that fits every rule, with a bare table of three columns."""
    read = read_document((SAMPLES / "layout" / "good.yaml").read_bytes(), "good.yaml")
    assert not isinstance(read, tuple)
    assert isinstance(read.value, Layout)
    kinds = (replace(read.value.kinds[0], code="", label=".*"),)
    table = replace(read.value.table, columns=(NAME, NUMBER, SIGNAL))
    plain = replace(read.value, kinds=kinds, table=table, signal_words=(), reading_numbers="running")
    assert list(layout_faults(plain)) == []
    return plain


def _codes(layout: Layout) -> list[str]:
    return [fault.code.removeprefix("documents.layout-") for fault in layout_faults(layout)]


@pytest.mark.parametrize(
    ("table", "code"),
    [
        ({"transposed": True, "units_row": True}, "table"),
        ({"transposed": True, "mean_rows": (MeanRow("No", "m"),)}, "table"),
        ({"transposed": True, "header_row": False}, "table"),
        ({"transposed": True, "columns": (replace(NAME, needed=False), NUMBER, SIGNAL)}, "table"),
        ({"transposed": True, "columns": (replace(NAME, carried=True), NUMBER, SIGNAL)}, "table"),
        ({"transposed": True, "columns": (NAME, NUMBER, SIGNAL, Column("El", "element"))}, "table"),
        ({"header_row": False, "units_row": True}, "table"),
        ({"header_row": False, "columns": (NAME, NUMBER, SIGNAL, Column("x", "ignored", needed=False))}, "table"),
        ({"each_row": "solution"}, "grouping"),
        ({"each_row": "reading_of_name"}, "grouping"),
        ({"columns": (NAME, SIGNAL)}, "grouping"),
        ({"columns": (NAME, NUMBER, SIGNAL, Column("d", "day"))}, "table"),
        ({"columns": (NAME, NUMBER, SIGNAL, Column("d", "day_time"), Column("t", "taken_at"))}, "table"),
        ({"columns": (NAME, NUMBER, SIGNAL, Column("nm", "wavelength_nm"))}, "table"),
        ({"columns": (NAME, NUMBER, replace(SIGNAL, wavelength_nm="283.3"))}, "table"),
        ({"columns": (NAME, NUMBER, replace(SIGNAL, element="lead"))}, "table"),
        ({"columns": (NAME, NUMBER, replace(SIGNAL, element="Pb"), Column("b", "signal"))}, "table"),
        ({"columns": (NAME, NUMBER, replace(SIGNAL, element="Pb"), Column("El", "element"))}, "table"),
        ({"columns": (NAME, NUMBER, SIGNAL, Column("El", "element"), Column("n", "reading_number"))}, "table"),
        ({"columns": (NAME, NUMBER, Column("x", "signal"), Column("x", "background"))}, "column-twice"),
    ],
)
def test_tables_that_contradict_themselves(base: Layout, table: dict[str, Any], code: str) -> None:
    assert code in _codes(replace(base, table=replace(base.table, **table)))


@pytest.mark.parametrize(
    ("file", "code"),
    [
        ({"separator": "blanks", "quote": '"'}, "marks"),
        ({"separator": "two blanks", "thousands_mark": " "}, "marks"),
        ({"printer_codes": ("41",)}, "printer-code"),
        ({"printer_codes": ("0a",)}, "printer-code"),
        ({"date_form": "YYYY MM MMM DD"}, "time-form"),
        ({"time_form": "hh:mm"}, "time-form"),
        ({"time_form": "HH:mm AP"}, "time-form"),
    ],
)
def test_marks_codes_and_forms_that_cannot_be(base: Layout, file: dict[str, Any], code: str) -> None:
    assert code in _codes(replace(base, file=replace(base.file, **file)))


def test_pages_without_heading_or_form_feed_and_what_is_still_open(base: Layout) -> None:
    assert "page" in _codes(replace(base, pages=(PageForm((), repeats_header=False, form_feed=False),)))
    assert "page" in _codes(replace(base, pages=(PageForm((), repeats_header=True),)))
    assert _codes(replace(base, head=(*base.head, LineRule("p. (?P<page>[0-9]+)", needed=False)))) == ["page"]
    assert _codes(replace(base, last_line="of (?P<pages>[0-9]+)")) == ["page"]
    numbered = PageForm(("p. (?P<page>[0-9]+)",), repeats_header=False)
    assert _codes(replace(base, last_line="of (?P<pages>[0-9]+)", pages=(numbered,))) == []
    assert "open" in _codes(replace(base, stated=(Stated("slit_nm", "?"),)))
    carried = replace(base.table, columns=(replace(NAME, carried=True), NUMBER, SIGNAL))
    assert "table" in _codes(replace(base, table=carried, file=replace(base.file, separator="blanks")))


@pytest.mark.parametrize(
    ("group", "way"),
    [
        ("started_date", "or a column that means day, or day_time."),
        ("started_time", "or a column that means taken_at, or day_time."),
        ("element", "or state it."),
    ],
)
def test_a_lacking_fact_names_a_way_that_no_other_rule_closes(base: Layout, group: str, way: str) -> None:
    """A start may never be stated: nobody is sent there."""
    lines = tuple(replace(one, line=one.line.replace(f"(?P<{group}>", "(?:")) for one in base.head)
    section = replace(
        base.section,
        begins=base.section.begins.replace(f"(?P<{group}>", "(?:"),
        lines=tuple(replace(one, line=one.line.replace(f"(?P<{group}>", "(?:")) for one in base.section.lines),
    )
    (fault,) = [one for one in layout_faults(replace(base, head=lines, section=section)) if "fact-missing" in one.code]
    assert fault.remedy == f"Add a line with a group named {group}, {way}"


@pytest.mark.parametrize(
    ("headers", "faults"),
    [
        (("Abs", "Height"), ["signals-differ"]),
        (("Abs", "Area", "Height"), ["signals-differ"] * 2),
        (("Abs", "Mean"), ["signals-differ"]),
        (("Abs", "Conc"), ["signals-differ"]),
        (("Signal", "BG"), ["signals-differ"]),
        (("Signal", "Signal 2"), []),
        (("Abs 1", "2nd", "3rd"), []),
    ],
)
def test_signals_of_different_kinds_are_no_readings(base: Layout, headers: tuple[str, ...], faults: list[str]) -> None:
    columns = (NAME, *(Column(header, "signal") for header in headers))
    layout = replace(base, table=replace(base.table, columns=columns))
    assert _codes(layout) == faults
    ignored = (NAME, *(Column(header, "ignored" if nth else "signal") for nth, header in enumerate(headers)))
    assert "signals-differ" not in _codes(replace(layout, table=replace(base.table, columns=ignored)))


_UNLIKE = (
    "Peak|Area; Peak|Peak area; Peak Abs|Int Abs; Net Abs|Gross Abs; Abs HCL|Abs D2; Raw Abs|Corr Abs; AA|AA-BG; "
    "Abs|Abs corr; Abs|ppm; Abs|mg/L; Abs|Median; R1|BG1; E|E·s; Abs AA-BG|Abs AA; With BG|Without BG; Peak h|Peak a; "
    "Abs [A]|Abs [A·s]; Abs 280|Abs 320; a|b; Abs|Extinktion; Abs 2|Abs 1; Abs 1|Abs 1 corr.|Abs 2; x|y; Abs 1|Abs 2*"
)


@pytest.mark.parametrize("headers", _UNLIKE.split("; "))
def test_signals_headed_otherwise_than_by_a_running_mark_are_no_readings(base: Layout, headers: str) -> None:
    columns = (NAME, *(Column(header, "signal") for header in headers.split("|")))
    assert set(_codes(replace(base, table=replace(base.table, columns=columns)))) == {"signals-differ"}


_ALIKE = (
    "1|2|3; r1|r2|r3|r4; 1st|2nd|3rd|4th|5th; first|second; A 1|A 2|A 3; Ext|Ext; Ext|Ext 2; peak 1|peak 2; "
    "shot a|shot b; Messung I|Messung II|Messung III; 1. Abs|2. Abs; Abs (1)|Abs (2); Abs #1|Abs #2; "
    "Abs Nr. 1|Abs Nr. 2; Channel 1|Channel 2; Wdh 9|Wdh 10; zweite|dritte"
)


@pytest.mark.parametrize("headers", _ALIKE.split("; "))
def test_signals_counted_by_their_headers_are_readings(base: Layout, headers: str) -> None:
    columns = (NAME, *(Column(header, "signal") for header in headers.split("|")))
    assert _codes(replace(base, table=replace(base.table, columns=columns))) == []


def test_a_layout_may_say_that_signals_are_readings_but_not_of_different_kinds(base: Layout) -> None:
    """What the second person approves then: words no list knows may be two names of one thing."""
    said = replace(base.table, columns=(NAME, Column("left", "signal"), Column("right", "signal")))
    assert _codes(replace(base, table=said)) == ["signals-differ"]
    assert _codes(replace(base, table=replace(said, signals_are_readings=True))) == []
    kinds = replace(said, columns=(NAME, Column("Net Abs", "signal"), Column("Gross Abs", "signal")))
    assert _codes(replace(base, table=replace(kinds, signals_are_readings=True))) == ["signals-differ"]
    assert _codes(replace(base, table=replace(base.table, signals_are_readings=True))) == ["table"]


@pytest.mark.parametrize("between", ["Nr|Ident|Art", "Ident", "Name B", "", "Rep"])
@pytest.mark.parametrize(("first", "second"), [("Abs", "Abs"), ("Abs 1", "Abs 2"), ("Abs A", "Abs B")])
def test_signals_with_another_name_between_them_may_be_of_another_solution(
    base: Layout, between: str, first: str, second: str
) -> None:
    """Two tables side by side: the right-hand reading is none of the left-hand name."""
    ignored = (Column(header, "ignored") for header in between.split("|"))
    columns = (NAME, Column(first, "signal"), *ignored, Column(second, "signal"))
    apart = replace(base.table, columns=columns)
    assert _codes(replace(base, table=apart)) == ["signals-differ"]
    assert _codes(replace(base, table=replace(apart, signals_are_readings=True))) == []


@pytest.mark.parametrize("between", ["Conc", "Height", "BG", "SD", "Mean"])
def test_another_quantity_of_a_reading_may_stand_between_signals(base: Layout, between: str) -> None:
    columns = (NAME, Column("Abs 1", "signal"), Column(f"{between} 1", "ignored"), Column("Abs 2", "signal"))
    assert _codes(replace(base, table=replace(base.table, columns=columns))) == []


def test_a_reading_counted_with_them_may_be_passed_over_between_signals(base: Layout) -> None:
    columns = (NAME, Column("1st", "signal"), Column("2nd", "ignored"), Column("3rd", "signal"))
    assert _codes(replace(base, table=replace(base.table, columns=columns))) == []


def test_signals_of_another_element_may_stand_between_them(base: Layout) -> None:
    columns = [Column(f"{element} {nth}", "signal", element=element) for nth in (1, 2) for element in ("Pb", "Cd")]
    assert _codes(replace(base, table=replace(base.table, columns=(NAME, *columns)))) == []
    columns[1:1] = [Column("Ident", "ignored")]
    assert set(_codes(replace(base, table=replace(base.table, columns=(NAME, *columns))))) == {"signals-differ"}


@pytest.mark.parametrize(
    ("texts", "more"),
    [
        pytest.param(("10",), {}, id="a factor"),
        pytest.param(("-", "1:5"), {}, id="a ratio"),
        pytest.param(("\u00bd",), {}, id="a fraction"),
        pytest.param((" ",), {}, id="a blank of its own"),
        pytest.param(("-", "-"), {}, id="twice"),
        pytest.param(("",), {"separator": "blanks"}, id="a blank cell between blanks"),
        pytest.param(("",), {"carried": True}, id="a blank cell that repeats the one above"),
        pytest.param(("-",), {"means": "ignored"}, id="without a column"),
    ],
)
def test_what_is_no_dilution_is_no_number_and_is_seen(
    base: Layout, texts: tuple[str, ...], more: dict[str, Any]
) -> None:
    separator = more.pop("separator", ";")
    column = Column("Dil", **{"means": "dilution", **more})
    table = replace(base.table, columns=(NAME, NUMBER, column, SIGNAL), no_dilution=texts)
    assert _codes(replace(base, table=table, file=replace(base.file, separator=separator))) == ["table"]


def test_a_word_for_no_dilution_may_stand(base: Layout) -> None:
    table = replace(base.table, columns=(NAME, NUMBER, Column("Dil", "dilution"), SIGNAL))
    assert _codes(replace(base, table=replace(table, no_dilution=("", "-", "none")))) == []


def test_columns_of_one_element_have_one_wavelength(base: Layout) -> None:
    one, two = (Column(f"Pb {nth}", "signal", element="Pb", wavelength_nm="283.3") for nth in (1, 2))
    assert _codes(replace(base, table=replace(base.table, columns=(NAME, one, two)))) == []
    other = replace(two, wavelength_nm="217.0")
    assert _codes(replace(base, table=replace(base.table, columns=(NAME, one, other)))) == ["table"]


def test_columns_of_elements_are_looked_at_each_for_itself(base: Layout) -> None:
    one, two = Column("Pb abs", "signal", element="Pb"), Column("Cd area", "signal", element="Cd")
    layout = replace(base, table=replace(base.table, columns=(NAME, one, two)))
    assert "signals-differ" not in _codes(layout)
    wrong = replace(layout, table=replace(base.table, columns=(NAME, one, replace(two, element="Pb"))))
    assert "signals-differ" in _codes(wrong)
