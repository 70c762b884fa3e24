"""Where a layout looks less closely than it may seem to."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchseal.desk.layout_samples import limits_of
from benchseal.documents.layout_guards import open_ends
from benchseal.documents.reading import read_document
from benchseal.records.layout import Layout, LineRule
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
