"""Where a layout looks less closely than it may seem to."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchseal.desk.layout_samples import limits_of
from benchseal.documents.layout_guards import lost_guards, open_ends
from benchseal.documents.reading import read_document
from benchseal.records.layout import Column, Layout, LineRule, MeanRow
from benchseal.shipped import starter


def _layout(name: str = "comma-list") -> Layout:
    read = read_document(starter(f"layouts/{name}.yaml").encode(), "it.yaml")
    assert not isinstance(read, tuple)
    assert isinstance(read.value, Layout)
    return read.value


@pytest.mark.parametrize(
    ("pattern", "fact"),
    [
        (r"Element\s+(?P<element>[A-Za-z]+)(?:\W.*)?", "element"),
        (r"Line (?P<element>[A-Z][a-z]?).* (?P<wavelength_nm>[0-9.]+) nm", "element"),
        (r"Wavelength\s+(?P<wavelength_nm>[0-9]+(?:[.,][0-9]+)?).*", "wavelength_nm"),
        (r"Wavelength (?P<wavelength_nm>[0-9.]+\)?) .*", "wavelength_nm"),
    ],
)
def test_an_open_end_behind_a_value_is_told(pattern: str, fact: str) -> None:
    layout = replace(_layout(), head=(LineRule(pattern),))
    assert list(open_ends(layout)) == [(pattern, fact)]
    (said,) = limits_of(layout)
    assert f"passes over whatever stands behind {fact}" in said


@pytest.mark.parametrize(
    "pattern",
    [
        r"Element\s+(?P<element>[A-Za-z]+)\s*",
        r"Element (?P<element>[A-Z][a-z]?) +at +(?P<wavelength_nm>[0-9.]+) ?nm[\s;,]*",
        r"Run of (?P<operator>.*)",
    ],
)
def test_a_closed_line_is_not(pattern: str) -> None:
    assert limits_of(replace(_layout(), head=(LineRule(pattern),))) == ()


@pytest.mark.parametrize("name", ["comma-list", "semicolon-sections", "page-print"])
def test_no_layout_that_is_handed_out_has_one(name: str) -> None:
    assert list(open_ends(_layout(name))) == []


def _changed(name: str, *pairs: tuple[str, str]) -> Layout:
    text = starter(f"layouts/{name}.yaml")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    read = read_document(text.encode(), "it.yaml")
    assert not isinstance(read, tuple), read
    assert isinstance(read.value, Layout)
    return read.value


_CLOSED = "last_line: 'List closed'"
_ABSORBANCE = "{fact: signal_is, text: absorbance, means: absorbance}"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("(?P<count_readings>[0-9]+)", "[0-9]+", "compares count_readings"),
        (_CLOSED, "last_line: ''", "last_line is 'List closed'"),
        (_CLOSED, "last_line: '.*'", "last_line is 'List closed'"),
        (_CLOSED, _CLOSED + "\ndrop_lines: ['[0-9]+,[^,]*,.*']", "drops lines as '[0-9]+,[^,]*,.*'"),
        ("means: position", "means: ignored", "'Place' as position"),
        ("means: replicate", "means: ignored", "'Reading' as replicate"),
        ("means: background}", "means: background, needed: false}", "needs the column 'Ground'"),
        ("(?P<method_name>[^,]+)", "[^,]+", "reads method_name"),
        ("(?P<operator>[^,]*)'}", "(?P<operator>[^,]*)', needed: false}", "needs the line of operator"),
        (_ABSORBANCE, _ABSORBANCE + "\n  - " + _ABSORBANCE.replace("text: absorbance", "text: Konz"), "'Konz' means"),
        ("text: no-value, means: missing}", "text: '<0', means: missing}", "'<0' stands for a missing"),
        ("decimal_mark", "ends_bare: true, decimal_mark", "refuses a last line without its line end"),
    ],
)
def test_a_guard_that_is_gone_is_told(old: str, new: str, said: str) -> None:
    found = list(lost_guards(_layout(), _changed("comma-list", (old, new))))
    assert [one for one in found if said in one], found


def test_columns_that_change_their_meanings_are_told() -> None:
    signal = ("Signal, means: signal", "Signal, means: background")
    ground = ("Ground, means: background", "Ground, means: signal")
    assert list(lost_guards(_layout(), _changed("comma-list", signal, ground))) == [
        "the version in force reads 'Signal' as signal; this one does not but as background.",
        "the version in force reads 'Ground' as background; this one does not but as signal.",
    ]


def test_one_of_several_columns_alike_counts() -> None:
    layout = _layout()
    signals = (*layout.table.columns, Column("Signal", "signal"))
    two = replace(layout, table=replace(layout.table, columns=signals))
    fewer = replace(layout, table=replace(layout.table, columns=(*layout.table.columns, Column("Signal", "ignored"))))
    assert "reads 'Signal' as signal" in next(lost_guards(two, fewer))
    assert list(lost_guards(fewer, fewer)) == []


@pytest.mark.parametrize("name", ["comma-list", "semicolon-sections", "page-print"])
def test_what_looks_as_closely_loses_nothing(name: str) -> None:
    layout = _layout(name)
    assert list(lost_guards(layout, layout)) == []
    more = replace(layout, head=(*layout.head, LineRule("Room,.*", needed=False)), title="Another")
    assert list(lost_guards(layout, more)) == []


def test_rows_of_means_and_pages_are_guards() -> None:
    layout = _layout("page-print")
    assert layout.pages
    found = list(lost_guards(layout, replace(layout, pages=())))
    assert "the version in force knows the pages of a print; this one does not." in found
    assert "the version in force compares page; this one does not." in found
    means = replace(layout, table=replace(layout.table, mean_rows=(MeanRow("Name", "mean"),)))
    assert "the version in force compares rows of means; this one does not." in list(
        lost_guards(means, replace(means, table=replace(means.table, mean_rows=())))
    )
