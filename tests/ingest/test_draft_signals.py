"""Columns of different signals beside each other are never proposed, nor taken, as readings of one solution."""

from __future__ import annotations

import pytest

from benchseal.ingest.draft import Draft, proposed
from benchseal.records.signal_headers import kind_of_signal

HEAD = "Serial number,TQ-4\nTechnique,flame\nElement,Pb\nWavelength,283.3\nDate,2026-03-12 09:10:00\n"


def _draft(*headers: str) -> Draft:
    text = HEAD + "Pos,Sample,Type," + ",".join(headers) + "\n"
    for place, (name, code, value) in enumerate(
        (("Blank", "BLK", 0.0008), ("Std 1", "STD", 0.0098), ("Std 2", "STD", 0.0185), ("Y-1", "SMP", 0.0221)), 1
    ):
        cells = [f"{value + nth / 1000:.4f}" for nth in range(len(headers))]
        text += f"{place},{name},{code},{','.join(cells)}\n"
    draft = proposed(text.encode(), "x.csv", "draft")
    assert isinstance(draft, Draft), draft
    return draft


@pytest.mark.parametrize(
    ("headers", "signals"),
    [
        (("Abs", "Height"), ["Abs"]),
        (("Height", "Abs"), ["Abs"]),
        (("Abs", "Peak area"), ["Peak area"]),
        (("Abs 1", "Abs 2", "Height"), ["Abs 1", "Abs 2"]),
        (("Abs 1", "Height 1", "Abs 2", "Height 2"), ["Abs 1", "Abs 2"]),
        (("Signal", "Height"), ["Signal"]),
        (("Abs", "Abs s"), ["Abs s"]),
    ],
)
def test_one_kind_is_taken_and_the_other_ignored(headers: tuple[str, ...], signals: list[str]) -> None:
    draft = _draft(*headers)
    assert [one.header for one in draft.layout.table.columns if one.means == "signal"] == signals
    for nth, column in enumerate(draft.layout.table.columns):
        if column.header in headers:
            sure, why = draft.remarks[f"table.columns.{nth}"]
            assert not sure, "please check"
            assert all(header in why for header in signals)


@pytest.mark.parametrize("headers", [("Abs", "Abs"), ("Abs 1", "Abs 2"), ("Height 1", "Height 2"), ("Abs", "Ext")])
def test_readings_of_one_kind_stay_readings(headers: tuple[str, ...]) -> None:
    draft = _draft(*headers)
    assert [one.header for one in draft.layout.table.columns if one.means == "signal"] == list(headers)


@pytest.mark.parametrize(
    ("kind", "headers"),
    [
        ("area", "Area; Peak area 2; Integrated absorbance; Peakfläche; Abs s; A s; A.s"),
        ("height", "Height; Peak Height 1; Höhe"),
        ("absorbance", "Abs; ABS 2; Abs. [A]; Extinktion; Ext3; a; Pb abs; A2"),
        ("mean", "Mean; Mean abs; Mittel; Avg area"),
        ("spread", "SD; %RSD; RSD %"),
        ("background", "BG; Background abs"),
        ("concentration", "Conc; Conc mg/L; Konz. 1"),
        ("signal", "Signal; Signal 2"),
        ("", "1st; Reading 2; r1; x; Blasen; Standby"),
    ],
)
def test_what_a_header_says_of_signals(kind: str, headers: str) -> None:
    assert {header: kind_of_signal(header) for header in headers.split("; ")} == dict.fromkeys(
        headers.split("; "), kind
    )
