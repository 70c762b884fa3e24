"""Units a file states for its columns: of signals they are the run's, nothing is converted, nothing passed over."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from benchseal.documents.rules_layout import layout_faults
from benchseal.ingest.many import read_many
from benchseal.ingest.reader import read_file
from benchseal.problems import Problem
from benchseal.records.layout import Column, KindRule, Layout, LineRule, SectionForm, Stated, TableForm, Word
from benchseal.records.run import DocumentRef, RunDocument
from benchseal.records.unit_spellings import given_units, unit_meant

if TYPE_CHECKING:
    from collections.abc import Callable

REF = DocumentRef("units", 1, "0" * 64)
TEXT = "E Pb 283.3 2026-11-20 09:30:00\nNo;Name;Given;Sig 1;Sig 2;Mean\n;;UG;U1;U2;UM\n1;S1;5;0.1;0.2;0.15\nend\n"


@pytest.fixture
def layout_of(layouts: dict[str, tuple[DocumentRef, Layout]]) -> Callable[..., Layout]:
    """A layout whose columns have these units, of a run whose signals are in ``signal_unit``."""
    base = layouts["comma-list"][1]
    head = r"E (?P<element>\S+) (?P<wavelength_nm>\S+) (?P<started_date>\S+) (?P<started_time>\S+)"

    def made(*units: str, signal_unit: str = "A", words: tuple[Word, ...] = ()) -> Layout:
        headers = ("No", "Name", "Given", "Sig 1", "Sig 2", "Mean")
        means = ("position", "label", "nominal", "signal", "signal", "mean")
        columns = tuple(Column(*each) for each in zip(headers, means, ("", "", *units), strict=True))  # type: ignore[arg-type]
        stated = {
            "technique": "flame", "instrument_serial": "TQ-1", "signal_is": "absorbance", "signal_unit": signal_unit,
        }  # fmt: skip
        layout = replace(
            base, id="units", file=replace(base.file, separator=";", quote=""), recognised_by=("E Pb .*",),
            head=(LineRule(head),), section=SectionForm("", "end"), table=TableForm(columns, units_row=True),
            kinds=(KindRule("standard", label=".*"),), last_line="", words=words,
            stated=tuple(Stated(fact, value) for fact, value in stated.items()),
        )  # fmt: skip
        assert list(layout_faults(layout)) == []
        return layout

    return made


def _text(layout: Layout) -> bytes:
    text = TEXT
    for mark, column in zip(("UG", "U1", "U2", "UM"), layout.table.columns[2:], strict=True):
        text = text.replace(mark, column.unit, 1)
    return text.encode()


def read(layout: Layout) -> tuple[RunDocument, ...] | tuple[Problem, ...]:
    return read_file(_text(layout), "x", layout, REF)


@pytest.mark.parametrize(
    ("units", "signal_unit"),
    [
        pytest.param(("mg/L", "A", "A", "A"), "A", id="the same"),
        pytest.param(("µg/L", "Abs", "abs", "[A]"), "A", id="written otherwise"),
        pytest.param(("", "A s", "A.s", "Abs-s"), "A.s", id="areas"),
        pytest.param(("", "", "", "-"), "A", id="none"),
        pytest.param(("", "Ext", "Ext", "Ext"), "Ext", id="a word of the house"),
        pytest.param(("mg L⁻¹", "AU", "A", "A"), "A", id="with a raised power"),
    ],
)
def test_units_of_the_run(units: tuple[str, ...], signal_unit: str, layout_of: Callable[..., Layout]) -> None:
    layout = layout_of(*units, signal_unit=signal_unit)
    assert isinstance(read(layout)[0], RunDocument)
    if all(unit.isascii() for unit in units):
        assert read_many([_text(layout)], layout, REF).blocks, "many at once"


@pytest.mark.parametrize(
    ("units", "signal_unit", "columns"),
    [
        pytest.param(("", "mA", "mA", "mA"), "A", (4, 7, 10), id="thousandths"),
        pytest.param(("", "A", "mA", "A"), "A", (6,), id="one of them"),
        pytest.param(("", "A", "A", "mA"), "A", (8,), id="the mean"),
        pytest.param(("", "A.s", "A.s", "A.s"), "A", (4, 8, 12), id="areas for heights"),
        pytest.param(("", "Ext", "Ext", "Ext"), "A", (4, 8, 12), id="a word nobody explained"),
    ],
)
def test_another_unit_than_the_run_s(
    units: tuple[str, ...], signal_unit: str, columns: tuple[int, ...], layout_of: Callable[..., Layout]
) -> None:
    found = read(layout_of(*units, signal_unit=signal_unit))
    told = [(each.code, each.where) for each in found if isinstance(each, Problem)]
    assert read_many([_text(layout_of(*units, signal_unit=signal_unit))], layout_of(*units), REF).blocks == ()
    assert told == [("ingest.signal-unit-contradicts", f"x, line 3, column {column}") for column in columns]


@pytest.mark.parametrize("header", ["1st mA", "Sig [mAU]", "Sig %", "Sig (mV)"])
def test_a_unit_in_a_header_is_held_against_the_run_s(header: str, layout_of: Callable[..., Layout]) -> None:
    layout = layout_of("", "", "", "")
    columns = tuple(replace(each, header=each.header.replace("Sig 1", header)) for each in layout.table.columns)
    headed = replace(layout, table=replace(layout.table, columns=columns))
    found = read_file(_text(headed).replace(b"Sig 1", header.encode()), "x", headed, REF)
    assert [each.code for each in found if isinstance(each, Problem)] == ["ingest.signal-unit-contradicts"]


@pytest.mark.parametrize(
    ("word", "code"),
    [
        (Word("signal_unit", "mA", "A"), "documents.layout-word-unit"),
        (Word("signal_unit", "%", "A"), "documents.layout-word-unit"),
        (Word("signal_unit", "A", "A.s"), "documents.layout-word-unit"),
        (Word("nominal_unit", "ppb", "mg/L"), "documents.layout-word-unit"),
        (Word("nominal_unit", "IU/L", "IU"), "documents.layout-term-unknown"),
        (Word("signal_unt", "E", "A"), "documents.layout-fact-unknown"),
    ],
)
def test_a_word_cannot_make_another_unit_of_a_known_one(
    word: Word, code: str, layout_of: Callable[..., Layout]
) -> None:
    assert [fault.code for fault in layout_faults(replace(layout_of("", "", "", ""), words=(word,)))] == [code]


def test_a_word_says_the_unit_of_concentrations(layout_of: Callable[..., Layout]) -> None:
    layout = replace(layout_of("", "", "", ""), table=TableForm((Column("Std (mg Pb/L)", "nominal"),)))
    assert given_units(layout) == {"": "mg Pb/L"}, "no unit of a method: refused, and asked for"
    assert given_units(replace(layout, words=(Word("nominal_unit", "mg Pb/L", "mg/L"),))) == {"": "mg/L"}


def test_a_word_of_the_layout_says_what_a_unit_means(layout_of: Callable[..., Layout]) -> None:
    words = (Word("signal_unit", "Ext", "A"),)
    assert isinstance(read(layout_of("", "Ext", "Ext", "Ext", words=words))[0], RunDocument)


def test_units_of_concentrations_given(layout_of: Callable[..., Layout]) -> None:
    assert given_units(layout_of("µg/L", "A", "A", "A")) == {"": "ug/L"}
    assert given_units(layout_of("", "A", "A", "A")) == {}
    columns = (Column("Pb [µg/l]", "nominal", element="Pb"), Column("Cd, ng/mL", "nominal", element="Cd"))
    headed = replace(layout_of("", "", "", ""), table=TableForm(columns))
    assert given_units(headed) == {"Pb": "ug/L", "Cd": "ng/mL"}, "where only the header says it"
    assert unit_meant("mg/dm3") == "mg/L"
    assert unit_meant("grains") == "grains"
