"""Columns of different signals beside each other are never proposed, nor taken, as readings of one solution."""

from __future__ import annotations

import pytest

from benchseal.documents.rules_layout import layout_faults
from benchseal.ingest.accounting import accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.records.run import DocumentRef
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
        (("Peak", "Area"), ["Area"]),
        (("Abs", "Ext"), ["Abs"]),
        (("Abs AA-BG", "Abs AA"), ["Abs AA-BG"]),
        (("Abs AA", "Abs AA-BG"), ["Abs AA-BG"]),
        (("Gross Abs", "Net Abs"), ["Net Abs"]),
        (("Abs uncorr.", "Abs corr."), ["Abs corr."]),
        (("Abs HCL", "Abs D2"), ["Abs HCL"]),
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


@pytest.mark.parametrize("headers", [("Abs", "Abs"), ("Abs 1", "Abs 2"), ("Height 1", "Height 2")])
def test_readings_of_one_kind_stay_readings(headers: tuple[str, ...]) -> None:
    draft = _draft(*headers)
    assert [one.header for one in draft.layout.table.columns if one.means == "signal"] == list(headers)


@pytest.mark.parametrize(
    ("kind", "headers"),
    [
        ("area", "Area; Peak area 2; Integrated absorbance; Peakfläche; Abs s; A s; A.s"),
        ("height", "Height; Peak Height 1; Höhe"),
        ("absorbance", "Abs; ABS 2; Abs. [A]; Extinktion; Ext3; a; Pb abs; A2"),
        ("mean", "Mean; Mean abs; Mittel; Avg area; Median"),
        ("spread", "SD; %RSD; RSD %"),
        ("background", "BG; Background abs"),
        ("concentration", "Conc; Conc mg/L; Konz. 1; ppm; µg/L"),
        ("signal", "Signal; Signal 2"),
        ("corrected", "Net Abs; AA-BG; Abs AA-BG; Corr Abs; Abs minus BG; Abs BG corr"),
        ("uncorrected", "Gross Abs; Raw abs; Abs uncorr.; Abs without BG; Total Abs"),
        ("", "1st; Reading 2; r1; x; Blasen; Standby"),
    ],
)
def test_what_a_header_says_of_signals(kind: str, headers: str) -> None:
    assert {header: kind_of_signal(header) for header in headers.split("; ")} == dict.fromkeys(
        headers.split("; "), kind
    )


def _proposed(text: str) -> Draft:
    draft = proposed(text.encode(), "x.txt", "draft")
    assert isinstance(draft, Draft), draft
    return draft


def _means(draft: Draft) -> list[tuple[str, str]]:
    return [(one.header, one.means) for one in draft.layout.table.columns]


FACTS = "Serial number;TQ-4\nElement;Pb\nWavelength;283,3\nTechnique;flame\nDate;03.04.2026\nTime;09:30:00\n"
NUMBERED = (
    "No;Name;Type;Nominal;1;2;3;Mean\n1;Blank;BLK;0;0,0008;0,0009;0,0007;0,0008\n"
    "2;Std 1;STD;0,5;0,0098;0,0099;0,0097;0,0098\n3;Y-1;SMP;;0,0221;0,0222;0,0220;0,0221\n"
)


def test_readings_headed_by_their_numbers_are_a_table() -> None:
    """A line of the head with two known words is no header in their place."""
    draft = _proposed(FACTS + NUMBERED)
    assert [means for _, means in _means(draft)][4:] == ["signal", "signal", "signal", "mean"]
    assert draft.layout.drop_lines == ()
    assert any("(?P<element>" in rule.line for rule in draft.layout.head)
    told = accounted((FACTS + NUMBERED).encode(), "x.txt", draft.layout, DocumentRef("draft", 0, "0" * 64))
    assert told.problems == ()
    assert sum(len(run.readings.signal) for run in told.documents) == 9


TURNED = (
    "dev\tTQ-4\nrun\tPb\t283.3\ncup\t1\t2\t3\nid\tS0\tS1\tA\nrole\tblk\tstd\tsmp\n{one}\t0.011\tsat\t0.4418\n"
    "{two}\t0.012\t0.8981\t0.4420\nrsd\t1.1\t1.1\t1.1\navg\t0.0115\t0.8981\t0.4419\n"
)


@pytest.mark.parametrize(("one", "two"), [("peak 1", "peak 2"), ("shot a", "shot b")])
def test_a_printed_mean_is_not_taken_for_the_readings_beside_it(one: str, two: str) -> None:
    draft = _proposed(TURNED.format(one=one, two=two))
    assert dict(_means(draft)) == {
        "cup": "position", "id": "label", "role": "kind", one: "signal", two: "signal", "rsd": "ignored", "avg": "mean",
    }  # fmt: skip


ROWS = "".join(f"│Pb│283.3│{nth}│A/{nth}│smp│ 0.{nth}21 │\n" for nth in range(1, 6))


def test_rows_without_headers_are_no_lines_of_a_head() -> None:
    draft = _proposed(f"SANDERLING TQ-4 2026-03-12 09:05:00\nTABLE\n{ROWS}TABLE ENDS\n")
    assert not any("283" in rule.line or "│" in rule.line for rule in draft.layout.head)
    assert any("Lines 3 to 7 look like rows of readings" in said for said in draft.open)


def test_readings_of_another_table_above_are_no_lines_of_a_head() -> None:
    draft = _proposed(f"{FACTS}peak;0,221;0,222;0,223\nRoom;20,8 C\n{NUMBERED}")
    assert [rule.line for rule in draft.layout.head if "peak" in rule.line] == []
    assert [rule.line for rule in draft.layout.head if "Room" in rule.line] != []


@pytest.mark.parametrize("header", ["When", "xyz"])
def test_days_with_times_are_the_start(header: str) -> None:
    rows = "".join(f"{nth};2025-12-31 23:3{nth}:12;A{nth};smp;0.{nth}21\n" for nth in range(1, 5))
    draft = _proposed(f"Serial number;TQ-4\nElement;Pb\nNo;{header};Name;Type;Abs\n{rows}")
    assert (header, "day_time") in _means(draft)
    assert not any("started" in said for said in draft.open)


def test_means_beside_them_show_that_unlike_columns_are_readings() -> None:
    text = FACTS + NUMBERED.replace("Nominal;1;2;3;Mean", "Nominal;left;middle;right;Mean")
    draft = _proposed(text)
    assert [means for _, means in _means(draft)][4:] == ["signal", "signal", "signal", "mean"]
    assert draft.layout.table.signals_are_readings
    assert not draft.remarks["table.signals_are_readings"][0], "please check"


def _side_by_side(right: str) -> Draft:
    rows = "".join(
        f"{nth},W-C1/{nth},PR,0.{nth}621,{','.join([f'W-D1/{nth}'] * len(right.split(',')))},0.{nth}044\n"
        for nth in range(1, 6)
    )
    return _proposed(f"{HEAD}Pos,Name,Type,Abs,{right},Abs\n{rows}End\n")


@pytest.mark.parametrize("right", ["Ident", "Pos B,Name B,Type B"])
def test_two_tables_side_by_side_are_asked_about_and_not_taken(right: str) -> None:
    """Otherwise another tube's reading would be the second one of the name on its left."""
    draft = _side_by_side(right)
    last = len(draft.layout.table.columns) - 1
    sure, why = draft.remarks[f"table.columns.{last}"]
    assert not sure
    assert "may tell of another solution" in why
    assert any("Two tables may stand side by side" in said for said in draft.open)
    assert "signals-differ" in "".join(fault.code for fault in layout_faults(draft.layout))


def test_a_table_that_names_solutions_anew_beside_the_first_is_left_out() -> None:
    draft = _side_by_side("Nr,Ident,Art")
    assert _means(draft)[-1] == ("Abs", "ignored")
    sure, why = draft.remarks[f"table.columns.{len(draft.layout.table.columns) - 1}"]
    assert not sure
    assert "another table stands beside the first" in why
    assert any("another table stands beside the first" in said for said in draft.open)


def test_another_quantity_between_two_readings_is_not() -> None:
    draft = _draft("Abs 1", "Conc 1", "Abs 2", "Conc 2")
    assert not any("side by side" in said for said in draft.open)
    assert [one.header for one in draft.layout.table.columns if one.means == "signal"] == ["Abs 1", "Abs 2"]
