"""Sheets: rows read as text; each defect gives its problem at its line and cell."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from benchseal.documents.grid import LARGEST_SHEET
from benchseal.documents.sheets import (
    read_customers,
    read_glassware,
    read_instruments,
    read_plan_rows,
    read_preparation,
    read_samples,
    read_standard_lots,
)
from benchseal.problems import Problem
from benchseal.records.preparation import DilutionStep, Portion
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from collections.abc import Callable

    from openpyxl.worksheet.worksheet import Worksheet

PREPARATION = """\
portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g,dilutions,spike_of,added_ug,expected_ug_per_g
MB-1,P-031,method_blank,,Pb Cd,25.0,p-ines.brandt,2026-03-01T10:00:00,,,,,
CS-1,P-031,control_sample,,Pb Cd,25.0,p-ines.brandt,2026-03-01T10:00:00,,,,Pb 0.25; Cd 0.05,
RM-1,P-031,reference_material,,Pb,25.0,p-ines.brandt,2026-03-01T10:00:00,0.4990,,,,Pb 0.30
A-1/1,P-031,sample,S-00001,Pb Cd,25.0,p-ines.brandt,2026-03-01T10:00:00,0.5021,Cd 10/100 4/100,,,
A-1/2,P-031,duplicate,S-00001,Pb Cd,25.0,p-ines.brandt,2026-03-01T10:00:00,0.5020,,,,
A-1/1 +,P-031,spiked_sample,S-00001,Pb,25.0,p-ines.brandt,2026-03-01T10:00:00,0.5007,,A-1/1,Pb 0.125,
"""
SAMPLES = """\
lot;product;customer;specification;customer_sample_id;description;condition;quantity_received;received_on;sampled_on;sampled_by;order
A-1;Mineral lozenge 2.50 g;ardlea;mineral-lozenge;007;lozenges;sealed;40;2026-02-26;2026-02-25;customer;PO-1
A-2;Mineral lozenge 2.50 g;ardlea;mineral-lozenge;1E5;"lozenges; blue";sealed;40;2026-02-26;;;PO-1
"""
LOTS = """\
lot,element,purpose,value,unit,u_percent,maker,certificate,in_use_from,expires_on
L-204,Pb,calibration,1000,mg/L,0.2,invented maker,C-88,2026-01-02,2027-01-01
L-377,Pb,second_source,1000,mg/L,0.3,another invented maker,C-12,2026-01-02,2027-01-01
"""
INSTRUMENTS = """\
instrument,serial,technique,zone,in_service_from
furnace-1,TQ-F-0417,furnace,Europe/Berlin,2025-01-07
"""
CUSTOMERS = """\
customer,name,address,contact
ardlea,"Ardlea, invented",1 Invented Lane,
"""
_READ: dict[str, tuple[Callable[[bytes, str], tuple[object, ...]], str]] = {
    "preparation": (read_preparation, PREPARATION),
    "samples": (read_samples, SAMPLES),
    "lots": (read_standard_lots, LOTS),
    "instruments": (read_instruments, INSTRUMENTS),
    "customers": (read_customers, CUSTOMERS),
}


@pytest.mark.parametrize("sheet", _READ)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_good_sheets(sheet: str, encoding: str, line_end: str) -> None:
    read, text = _READ[sheet]
    found = read(text.replace("\n", line_end).encode(encoding), "s.csv")
    assert len(found) == text.count("\n") - 1
    assert not any(isinstance(row, Problem) for row in found), found


def test_a_preparation_row_holds_everything() -> None:
    rows = read_preparation(PREPARATION.encode(), "p.csv")
    assert rows[3] == Portion(
        "A-1/1", "P-031", "sample", "S-00001", ("Pb", "Cd"), "25.0", "p-ines.brandt", "2026-03-01T10:00:00",
        mass_g="0.5021", dilutions={"Cd": (DilutionStep("10", "100"), DilutionStep("4", "100"))},
    )  # fmt: skip
    assert isinstance(rows[5], Portion)
    assert rows[5].added_ug == {"Pb": "0.125"}


def test_amounts_at_their_bounds_are_taken() -> None:
    """2 g in 1 mL, fifty times apart, 10^5 in a step and 10^8 in all."""
    text = PREPARATION.replace(",0.5021,Cd 10/100 4/100,", ",50.0,Cd 1/100000 1/1000,").replace(",0.5020,", ",1.0,")
    text = text.replace(",0.5007,", ",1.0,")
    rows = read_preparation(text.encode(), "p.csv")
    assert not any(isinstance(row, Problem) for row in rows), rows


def test_masses_of_other_samples_batches_and_elements_are_not_compared() -> None:
    line = "{0},P-0{1},sample,S-0000{2},{3},25.0,p-ines.brandt,2026-03-01T10:00:00,{4},,,,\n"
    rows = ("A", 1, 1, "Pb", "0.01"), ("B", 1, 2, "Pb", "5"), ("C", 2, 1, "Pb", "5"), ("D", 1, 1, "Cd", "5")
    text = PREPARATION.splitlines(keepends=True)[0] + "".join(line.format(*row) for row in rows)
    found = read_preparation(text.encode(), "p.csv")
    assert not any(isinstance(row, Problem) for row in found), found


def test_identifiers_stay_as_typed() -> None:
    rows = read_samples(SAMPLES.encode(), "s.csv")
    assert [getattr(row, "customer_sample_id", None) for row in rows] == ["007", "1E5"]


# Defect: sheet, old text, new text, code, part of the place.
_DEFECTS = {
    "decimal comma in a comma sheet": ("preparation", ",0.5021,", ",0,5021,", "row-unfit", "line 5"),
    "decimal comma in quotes": ("preparation", ",0.5021,", ',"0,5021",', "value-unfit", "line 5, cell 9 (mass_g)"),
    "exponent": ("preparation", ",0.5021,", ",5e-1,", "value-unfit", "line 5, cell 9 (mass_g)"),
    "negative mass": ("preparation", ",0.5021,", ",-0.5021,", "value-unfit", "(mass_g)"),
    "mass of zero": ("preparation", ",0.5021,", ",0.0000,", "amount-zero", "(mass_g)"),
    "forty nines": ("preparation", ",0.5021,", f",{'9' * 40},", "amount-unlikely", "line 5, cell 9 (mass_g)"),
    "a mass nobody weighs": ("preparation", ",0.5021,", f",0.{'0' * 40}1,", "amount-unlikely", "(mass_g)"),
    "mass just too large": ("preparation", ",0.5021,", ",1000000.1,", "amount-unlikely", "(mass_g)"),
    "mass just too small": ("preparation", ",0.5021,", ",0.00000000099,", "amount-unlikely", "(mass_g)"),
    "a volume nobody fills": ("preparation", ",25.0,", ",10000001,", "amount-unlikely", "line 2, cell 6 (volume_ml)"),
    "milligrams for grams": ("preparation", ",0.4990,", ",499.0,", "amount-unlikely", "line 4, cell 9 (mass_g)"),
    "more mass than its volume holds": ("preparation", ",0.4990,", ",50.01,", "amount-unlikely", "line 4"),
    "mass and volume exchanged": ("preparation", "Pb,25.0,p-ines.brandt,2026-03-01T10:00:00,0.4990",
                                  "Pb,0.4990,p-ines.brandt,2026-03-01T10:00:00,25.0", "amount-unlikely", "(mass_g)"),
    "fifty times its sister": ("preparation", ",0.5020,", ",25.11,", "portion-masses-apart", "line 6"),
    "a point left out beside its sister": ("preparation", ",0.5007,", ",0.00997,", "portion-masses-apart", "line 7"),
    "a mass like a name": ("preparation", ",0.5021,", ",007,", "amount-zeros", "line 5, cell 9 (mass_g)"),
    "zeros before the point": ("preparation", ",0.5021,", ",0000.5021,", "amount-zeros", "(mass_g)"),
    "zeros in a dilution": ("preparation", "10/100 4", "010/100 4", "amount-zeros", "(dilutions)"),
    "zeros in an addition": ("preparation", "Pb 0.125", "Pb 0125", "amount-zeros", "line 7, cell 12 (added_ug)"),
    "zeros in a standard": ("lots", ",1000,", ",01000,", "amount-zeros", "line 2, cell 4 (value)"),
    "a step nobody makes": ("preparation", "10/100 4", "1/100001 4", "amount-unlikely", "(dilutions)"),
    "thirty steps": ("preparation", "10/100 4/100", " ".join(["1/100"] * 30), "amount-unlikely", "(dilutions)"),
    "the year 1": ("samples", ";2026-02-26;2026-02-25", ";0001-01-01;", "date-early", "line 2, cell 9 (received_on)"),
    "the last day too early": ("samples", "2026-02-25", "1989-12-31", "date-early", "(sampled_on)"),
    "prepared too early": ("preparation", "2026-03-01T", "1989-12-31T", "date-early", "(prepared_at)"),
    "an instrument too old": ("instruments", "2025-01-07", "1949-12-31", "date-early", "(in_service_from)"),
    "volume of zero": ("preparation", ",25.0,", ",0,", "amount-zero", "line 2, cell 6 (volume_ml)"),
    "label twice in a batch": ("preparation", "A-1/2,", "A-1/1,", "row-twice", "line 6, cell 1 (portion)"),
    "label missing": ("preparation", "A-1/2,", ",", "value-unfit", "line 6, cell 1 (portion)"),
    "unknown kind": ("preparation", "duplicate", "dupe", "value-unknown", "line 6, cell 3 (kind)"),
    "sample without its number": ("preparation", "sample,S-00001", "sample,", "portion-sample", "(sample)"),
    "blank with a sample": ("preparation", "method_blank,", "method_blank,S-00001", "portion-sample", "line 2"),
    "spike of nothing": ("preparation", ",A-1/1,Pb 0.125", ",A-9/9,Pb 0.125", "portion-spike", "(spike_of)"),
    "spike of another sample": ("preparation", "spiked_sample,S-00001", "spiked_sample,S-2", "portion-spike", "line 7"),
    "spike without an amount": ("preparation", ",A-1/1,Pb 0.125", ",A-1/1,", "portion-spike", "(added_ug)"),
    "spike_of at a sample": ("preparation", "Cd 10/100 4/100,,", "Cd 10/100 4/100,MB-1,", "portion-spike", "line 5"),
    "an addition to a sample": ("preparation", "Cd 10/100 4/100,,,", "Cd 10/100 4/100,,Pb 5,",
                                "portion-cell-foreign", "line 5, cell 12 (added_ug)"),
    "a content expected of a sample": ("preparation", "Cd 10/100 4/100,,,", "Cd 10/100 4/100,,,Pb 5",
                                       "portion-cell-foreign", "line 5, cell 13 (expected_ug_per_g)"),
    "a content expected of a blank": ("preparation", "10:00:00,,,,,", "10:00:00,,,,,Pb 5",
                                      "portion-cell-foreign", "line 2, cell 13 (expected_ug_per_g)"),
    "an addition to a reference material": ("preparation", ",,,,Pb 0.30", ",,,Pb 1,Pb 0.30",
                                            "portion-cell-foreign", "line 4, cell 12 (added_ug)"),
    "more uncertain than it is": ("lots", ",0.2,", ",100.1,", "uncertainty-large", "line 2, cell 6 (u_percent)"),
    "as sure as nothing is": ("lots", ",0.2,", ",0.00,", "uncertainty-zero", "line 2, cell 6 (u_percent)"),
    "reference without a value": ("preparation", ",Pb 0.30", ",", "portion-expected", "line 4"),
    "control without a value": ("preparation", "Pb 0.25; Cd 0.05", "Pb 0.25", "portion-expected", "line 3"),
    "amount of a foreign element": ("preparation", "Pb 0.125", "Pb 1; Zn 1", "portion-element-foreign", "line 7"),
    "element twice": ("preparation", "S-00001,Pb Cd", "S-00001,Pb Pb", "portion-element-twice", "line 5"),
    "element as a word": ("preparation", "S-00001,Pb Cd", "S-00001,lead", "value-unfit", "(elements)"),
    "dilution that is none": ("preparation", "10/100 4", "100/10 4", "portion-dilution", "line 5"),
    "dilution of nothing": ("preparation", "10/100 4", "0/100 4", "portion-dilution", "line 5"),
    "dilution as a factor": ("preparation", "10/100 4/100", "250", "cell-unfit", "line 5, cell 10 (dilutions)"),
    "dilution with three parts": ("preparation", "10/100 4", "1/2/3 4", "cell-unfit", "(dilutions)"),
    "dilution of an element twice": ("preparation", "10/100 4/100", "1/10; Cd 1/10", "cell-unfit", "(dilutions)"),
    "amount without a number": ("preparation", "Pb 0.25; Cd 0.05", "Pb; Cd 0.05", "cell-unfit", "(added_ug)"),
    "two amounts": ("preparation", "Pb 0.25; Cd 0.05", "Pb 0.25 0.3; Cd 0.05", "cell-unfit", "(added_ug)"),
    "day that is not in the calendar": ("preparation", "2026-03-01", "2026-02-29", "date-impossible", "line 2"),
    "hour that is none": ("preparation", "T10:00:00", "T25:00:00", "date-impossible", "line 2"),
    "time without a day": ("preparation", "2026-03-01T10:00:00", "10:00:00", "value-unfit", "(prepared_at)"),
    "element that does not exist": ("preparation", "S-00001,Pb Cd", "S-00001,Pb Xx", "element-unknown", "(elements)"),
    "nothing expected": ("preparation", "Pb 0.30", "Pb 0.0", "amount-zero", "line 4, cell 13 (expected_ug_per_g)"),
    "nothing added": ("preparation", "Pb 0.125", "Pb 0", "amount-zero", "line 7, cell 12 (added_ug)"),
    "standard of no element": ("lots", "L-204,Pb", "L-204,Xx", "element-unknown", "line 2, cell 2 (element)"),
    "row too short": ("preparation", "MB-1,P-031,", "MB-1,", "row-unfit", "line 2"),
    "quote left open": ("preparation", "MB-1,", '"MB-1,', "row-unfit", "line 2"),
    "quote in the middle": ("preparation", "MB-1,", '"MB"-1,', "row-unfit", "line 2"),
    "column renamed": ("preparation", "volume_ml", "volume", "column-unknown", "line 1, cell 6"),
    "column twice": ("preparation", "spike_of", "batch", "column-twice", "line 1"),
    "column missing": ("customers", ",contact\n", "\n", "column-missing", "line 1"),
    "tab as separator": ("customers", ",", "\t", "separator-unknown", "line 1"),
    "no header": ("customers", "customer,name,address,contact\n", "", "separator-unknown", "line 1"),
    "control sign": ("customers", "Invented Lane", "Invented\x02 Lane", "control-sign", "line 2, column 37"),
    "customer twice": ("customers", "\nardlea", "\nardlea,A,,\nardlea", "row-twice", "line 3"),
    "capitals in an identifier": ("customers", "\nardlea", "\nArdlea", "value-unfit", "(customer)"),
    "date as a spreadsheet shows it": ("samples", "2026-02-26", "26.02.2026", "value-unfit", "line 2"),
    "sampled after receipt": ("samples", "2026-02-25", "2026-02-27", "date-order", "(sampled_on)"),
    "lot twice": ("samples", "A-2;", "A-1;", "row-twice", "line 3, cell 1 (lot)"),
    "lot a spreadsheet made a date of": ("samples", "A-2;", "05-Mar;", "cell-damaged", "line 3, cell 1 (lot)"),
    "lot a spreadsheet made a number of": ("samples", "A-2;", "1.2E+05;", "cell-damaged", "line 3, cell 1 (lot)"),
    "column too narrow": ("samples", "A-2;", "####;", "cell-damaged", "line 3, cell 1 (lot)"),
    "expiry before use": ("lots", "2027-01-01", "2025-01-01", "date-order", "(expires_on)"),
    "unit of a solid": ("lots", "mg/L", "mg/kg", "value-unknown", "(unit)"),
    "micrograms named grams": ("lots", ",1000,mg/L,", ",1000,g/L,", "amount-unlikely", "line 2, cell 4 (value)"),
    "a standard nobody reads": ("lots", ",1000,mg/L,", ",0.09,ng/L,", "amount-unlikely", "line 2, cell 4 (value)"),
    "standard of nothing": ("lots", ",1000,", ",0,", "amount-zero", "(value)"),
    "standard lot twice": ("lots", "L-377", "L-204", "row-twice", "line 3"),
    "zone that does not exist": ("instruments", "Europe/Berlin", "Europe/Tern Quay", "zone-unknown", "(zone)"),
    "zone outside the zones": ("instruments", "Europe/Berlin", "../etc/passwd", "zone-unknown", "(zone)"),
    "serial number twice": ("instruments", "\nfurnace-1", "\nf-2,TQ-F-0417,furnace,UTC,2025-01-07\nfurnace-1",
                            "row-twice", "line 3, cell 2 (serial)"),
}  # fmt: skip


@pytest.mark.parametrize("defect", _DEFECTS)
def test_each_defect_at_its_cell(defect: str) -> None:
    sheet, old, new, code, place = _DEFECTS[defect]
    read, text = _READ[sheet]
    assert old in text
    found = read(text.replace(old, new, -1 if old == "," else 1).encode(), "s.csv")
    hits = [row for row in found if isinstance(row, Problem) and row.code == f"documents.{code}"]
    assert hits, [str(row) for row in found]
    assert place in hits[0].where, hits[0].where


@pytest.mark.parametrize(
    ("data", "code"),
    [
        pytest.param(b"", "sheet-empty", id="nothing"),
        pytest.param(b"\n \n", "sheet-empty", id="blanks"),
        pytest.param(CUSTOMERS.splitlines()[0].encode() + b"\n", "sheet-empty", id="names only"),
        pytest.param(CUSTOMERS.replace("Lane", "Läne").encode("latin-1"), "byte-undecodable", id="not UTF-8"),
        pytest.param(CUSTOMERS.encode("utf-16"), "byte-undecodable", id="UTF-16"),
        pytest.param(b"x" * (LARGEST_SHEET + 1), "too-large", id="too large"),
        pytest.param(b"PK\x03\x04 no workbook", "workbook-unfit", id="not a workbook"),
    ],
)
def test_not_a_sheet(data: bytes, code: str) -> None:
    (problem,) = read_customers(data, "s")
    assert isinstance(problem, Problem)
    assert problem.code == f"documents.{code}"


def test_a_sheet_that_stops_within_a_line_is_refused() -> None:
    """What is left of a cell may be another value, and nothing in the sheet would tell."""
    whole = CUSTOMERS.rstrip("\n").encode()
    for cut in (whole, whole[:-1]):
        faults = [item for item in read_customers(cut, "s") if isinstance(item, Problem)]
        assert (faults[0].code, faults[0].where) == (
            "documents.line-end-missing",
            f"s, line {len(CUSTOMERS.splitlines())}",
        )
    for end in ("\n", "\r\n", "\r"):
        assert not [item for item in read_customers(whole + end.encode(), "s") if isinstance(item, Problem)]


@pytest.mark.parametrize(
    ("sheet", "old", "new"),
    [
        (
            "preparation",
            ",25.0,p-ines.brandt,2026-03-01T10:00:00,0.4990,",
            ",1000000,p-ines.brandt,2026-03-01T10:00:00,1000000,",
        ),
        ("preparation", ",0.4990,", ",0.000000001,"),
        ("samples", "2026-02-25", "1990-01-01"),
        ("instruments", "2025-01-07", "1988-05-01"),
    ],
)
def test_figures_and_days_at_the_bounds_are_taken(sheet: str, old: str, new: str) -> None:
    read, text = _READ[sheet]
    assert old in text
    assert not any(isinstance(row, Problem) for row in read(text.replace(old, new, 1).encode(), "s"))


_UNITS = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g,unit_mass_g,u_unit_mass_g"
_EXPECTED = _UNITS.replace("unit_mass_g,u_unit_mass_g", "expected_ug_per_g,u_expected_ug_per_g")
_AT = "25.0,p-ines.brandt,2026-03-01T10:00:00,1.5"


@pytest.mark.parametrize(
    ("head", "row", "codes"),
    [
        (_UNITS, f"A,P,sample,S-1,Pb,{_AT},0.5,0.9", ["uncertainty-large"]),
        (_UNITS, f"A,P,sample,S-1,Pb,{_AT},0.5,0.5", []),
        (_UNITS, f"A,P,reference_material,,Pb,{_AT},0.5,0.01", ["portion-expected", *2 * ["portion-cell-foreign"]]),
        (_EXPECTED, f"A,P,reference_material,,Pb,{_AT},Pb 2.5,Pb 2.6", ["uncertainty-large"]),
        (_EXPECTED, f"A,P,reference_material,,Pb,{_AT},Pb 2.5,Pb 0.05", []),
        (_EXPECTED, f"A,P,reference_material,,Pb,{_AT},Pb 2.5,Pb 0", ["uncertainty-zero"]),
        (_EXPECTED, f"A,P,control_sample,,Pb,{_AT},Pb 2.5,", []),
        (_EXPECTED, f"A,P,duplicate,S-1,Pb,{_AT},Pb 2.5,Pb 0.05", 2 * ["portion-cell-foreign"]),
    ],
)
def test_cells_of_their_kind_and_uncertainties_below_their_values(head: str, row: str, codes: list[str]) -> None:
    found = read_preparation(f"{head}\n{row}\n".encode(), "p.csv")
    assert [one.code for one in found if isinstance(one, Problem)] == [f"documents.{code}" for code in codes]


@pytest.mark.parametrize(
    ("row", "codes"),
    [
        ("S-1,25,sample,Pb 1,,", []),
        ("S-1,25,sample,,Pb 1,Pb 0.1", 2 * ["portion-cell-foreign"]),
        ("S-1,25,sample,,,\n,25,reference_material,Pb 1,,", ["portion-cell-foreign"]),
        ("S-1,25,sample,,,\n,25,reference_material,,Pb 1,Pb 2", ["uncertainty-large"]),
        ("S-1,25,sample,,,\n,25,reference_material,,Pb 1,Pb 0.0", ["uncertainty-zero"]),
    ],
)
def test_cells_of_a_plan_are_of_their_kind(row: str, codes: list[str]) -> None:
    head = "sample,volume_ml,kind,added_ug,expected_ug_per_g,u_expected_ug_per_g"
    found = read_plan_rows(f"{head}\n{row}\n".encode(), "p.csv")
    assert [one.code for one in found if isinstance(one, Problem)] == [f"documents.{code}" for code in codes]


@pytest.mark.parametrize("spread", ["6,0.01", "0.01,5.1"])
def test_a_piece_of_glass_is_surer_than_what_it_holds(spread: str) -> None:
    text = f"name,kind,nominal_ml,tolerance_ml,s_fill_ml\np,pipette,5,{spread}\n"
    (problem,) = read_glassware(text.encode(), "g.csv")
    assert isinstance(problem, Problem)
    assert problem.code == "documents.uncertainty-large"


def test_a_tolerance_of_zero_is_none() -> None:
    text = "name,kind,nominal_ml,tolerance_ml,s_fill_ml\np,pipette,5,0.00,0\n"
    (problem,) = read_glassware(text.encode(), "g.csv")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.uncertainty-zero", "g.csv, line 2, cell 4 (tolerance_ml)")


def test_all_problems_of_a_sheet_at_once() -> None:
    text = LOTS.replace("L-204,Pb", "L-204,lead").replace("0.3,", "0;3,").replace("2027-01-01", "soon")
    assert len(read_standard_lots(text.encode(), "l.csv")) == 4


def test_a_cell_that_cannot_be_read_hides_no_other() -> None:
    """One of each stage: a failed formula, a damaged name, a number that is none, a rule of the row."""
    text = LOTS.replace("C-88", "#REF!").replace("L-204", "05-Mar").replace(",0.3,", ",-,")
    text += "L-5,Xx,calibration,1000,mg/L,0.2,=1+1,C-1,2026-01-02,2027-01-01\n"
    text += "L-6,Xx,calibration,1000,mg/L,0.2,m,C-1,2026-01-02,2027-01-01\n"
    due = ["cell-not-text", "cell-not-text", "cell-damaged", "value-unfit", "element-unknown"]
    for data in (text.encode(), _workbook(text, {"G4": True, "H2": "=1+1"})):
        found = read_standard_lots(data, "l")
        assert [one.code for one in found if isinstance(one, Problem)] == [f"documents.{code}" for code in due]


def test_rules_are_judged_for_good_rows_beside_bad_ones() -> None:
    """A bad cell hides no rule of another row, and a row that repeats one names its line."""
    text = PREPARATION.replace("MB-1,P-031,method_blank,,Pb Cd,25.0", "MB-1,P-031,method_blank,,Pb Cd,-1")
    text = text.replace("A-1/2,P-031,duplicate", "A-1/1,P-031,duplicate").replace("10/100 4/100", "100/10")
    found = {row.code.removeprefix("documents."): row for row in read_preparation(text.encode(), "p.csv")
             if isinstance(row, Problem)}  # fmt: skip
    assert set(found) == {"value-unfit", "row-twice", "portion-dilution"}
    assert found["row-twice"].what == "The same portion of this batch stands twice; first in line 5."


def test_a_portion_in_a_bad_row_is_not_called_missing() -> None:
    text = PREPARATION.replace(",0.5021,", ",half,")
    (problem,) = read_preparation(text.encode(), "p.csv")
    assert isinstance(problem, Problem)
    assert problem.code == "documents.value-unfit"


# Workbooks


def _workbook(text: str, changes: dict[str, object] | None = None, *, second_sheet: bool = False) -> bytes:
    book = Workbook()
    sheet = book.active
    for line in text.splitlines():
        sheet.append(next(csv.reader([line])))
    for place, value in (changes or {}).items():
        sheet[place] = value
    if second_sheet:
        book.create_sheet()["A1"] = "more"
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


@pytest.mark.parametrize(("sheet", "text"), [("preparation", PREPARATION), ("lots", LOTS), ("customers", CUSTOMERS)])
def test_a_workbook_of_text_reads_like_the_csv(sheet: str, text: str) -> None:
    read = _READ[sheet][0]
    assert read(_workbook(text), "w.xlsx") == read(text.encode(), "w.csv")


def test_numbers_and_dates_in_their_columns() -> None:
    """Where the schema wants a number or a date, what the spreadsheet holds is unambiguous."""
    data = _workbook(LOTS, {"D2": 1000, "F2": 0.2, "I2": date(2026, 1, 2), "J2": datetime(2027, 1, 1)})  # noqa: DTZ001
    assert read_standard_lots(data, "w.xlsx") == read_standard_lots(LOTS.encode(), "w.csv")


_CONVERTED: dict[str, tuple[str, object, str]] = {
    "identifier became a number": ("A2", 7, "cell-converted"),
    "identifier became a date": ("A2", date(2026, 3, 5), "cell-converted"),
    "number became a date": ("D2", date(2026, 3, 5), "cell-converted"),
    "date became a number": ("I2", 46000, "cell-converted"),
    "date with a time": ("I2", datetime(2026, 1, 2, 3, 4), "cell-converted"),  # noqa: DTZ001
    "formula": ("D2", "=500*2", "cell-not-text"),
    "truth value": ("D2", True, "cell-not-text"),
    "header became a number": ("A1", 5, "column-unknown"),
}


@pytest.mark.parametrize("defect", _CONVERTED)
def test_what_a_spreadsheet_changed_is_refused(defect: str) -> None:
    place, value, code = _CONVERTED[defect]
    found = read_standard_lots(_workbook(LOTS, {place: value}), "w.xlsx")
    assert f"documents.{code}" in [row.code for row in found if isinstance(row, Problem)], found
    if isinstance(value, bool):  # as the sheet shows it, not as Python does
        assert any("'TRUE'" in row.what for row in found if isinstance(row, Problem))


def test_a_second_sheet_is_refused() -> None:
    (problem,) = read_customers(_workbook(CUSTOMERS, second_sheet=True), "w.xlsx")
    assert isinstance(problem, Problem)
    assert problem.code == "documents.workbook-sheets"


def _hide_sheet(sheet: Worksheet) -> None:
    sheet.parent.create_sheet()
    sheet.sheet_state = "hidden"


def _form(place: str, form: str) -> Callable[[Worksheet], object]:
    return lambda sheet: setattr(sheet[place], "number_format", form)


def _white_number(sheet: Worksheet) -> None:
    sheet["D2"] = 1000
    sheet["D2"].number_format = '[White]"";;'


_SHOWN_OTHERWISE: dict[str, tuple[Callable[[Worksheet], object], str, str]] = {
    "merged down": (lambda sheet: sheet.merge_cells("G2:G3"), "cells-merged", "w.xlsx, sheet Sheet, cells G2:G3"),
    "merged across": (lambda sheet: sheet.merge_cells("A2:B2"), "cells-merged", "w.xlsx, sheet Sheet, cells A2:B2"),
    "a hidden row": (
        lambda sheet: setattr(sheet.row_dimensions[3], "hidden", True),
        "cells-hidden",
        "w.xlsx, sheet Sheet, row 3",
    ),
    "a hidden column": (
        lambda sheet: setattr(sheet.column_dimensions["D"], "hidden", True),
        "cells-hidden",
        "w.xlsx, sheet Sheet, column 4",
    ),
    "a row too low to read": (
        lambda sheet: setattr(sheet.row_dimensions[3], "height", 0.75),
        "cells-hidden",
        "w.xlsx, sheet Sheet, row 3",
    ),
    "a column of no width": (
        lambda sheet: setattr(sheet.column_dimensions["D"], "width", 0.1),
        "cells-hidden",
        "w.xlsx, sheet Sheet, column 4",
    ),
    "a form that shows no text": (_form("G3", ";;;"), "cells-hidden", "w.xlsx, sheet Sheet, row 3, cell 7"),
    "a form that shows another text": (
        _form("G3", '0;-0;0;"as before"'),
        "cells-hidden",
        "w.xlsx, sheet Sheet, row 3, cell 7",
    ),
    "a form that shows no number": (
        _white_number,
        "cells-hidden",
        "w.xlsx, sheet Sheet, row 2, cell 4",
    ),
    "a hidden sheet": (
        _hide_sheet,
        "cells-hidden",
        "w.xlsx, sheet Sheet",
    ),
}


@pytest.mark.parametrize("defect", _SHOWN_OTHERWISE)
def test_what_a_person_does_not_see_as_it_is_held_is_refused(defect: str) -> None:
    change, code, where = _SHOWN_OTHERWISE[defect]
    (problem,) = read_standard_lots(_changed_sheet(change), "w.xlsx")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == (f"documents.{code}", where)
    assert problem.remedy


def test_hidden_rows_and_columns_that_hold_nothing_do_no_harm() -> None:
    def hide(sheet: Worksheet) -> None:
        sheet.row_dimensions[9].hidden = True
        sheet.column_dimensions["Z"].hidden = True

    assert read_standard_lots(_changed_sheet(hide), "w.xlsx") == read_standard_lots(LOTS.encode(), "w.csv")


@pytest.mark.parametrize(
    "form", ["@", "General", "0.00", "0;-0;;@", "#,##0 _EUR;[Red]-0", '"a;b"0;0;0;@', r"\;0", "[$-409]@", ""]
)
def test_forms_that_show_what_the_cell_holds_do_no_harm(form: str) -> None:
    data = _changed_sheet(_form("G3", form))
    assert read_standard_lots(data, "w.xlsx") == read_standard_lots(LOTS.encode(), "w.csv")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        pytest.param(b"<sheetFormatPr ", b'<sheetFormatPr zeroHeight="1" ', id="rows hidden unless they say a height"),
        pytest.param(b'<row r="2"', b'<row r="2" ht="0" customHeight="1"', id="one row of no height"),
        pytest.param(b'defaultRowHeight="15"', b'defaultRowHeight="0"', id="rows of no height"),
        pytest.param(b"<sheetFormatPr ", b'<sheetFormatPr defaultColWidth="0" ', id="columns of no width"),
    ],
)
def test_a_sheet_whose_rows_or_columns_have_no_size_is_refused(old: bytes, new: bytes) -> None:
    found = read_customers(_repacked(lambda _, part: part.replace(old, new)), "w.xlsx")
    assert {row.code for row in found if isinstance(row, Problem)} == {"documents.cells-hidden"}, found


@pytest.mark.parametrize("name", ["xl/worksheets/sheet1.xml", "XL/worksheets/Sheet1.xml"])
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_an_archive_with_a_part_twice_is_no_workbook(name: str) -> None:
    data = io.BytesIO(_workbook(LOTS))
    with zipfile.ZipFile(data, "a") as archive:
        archive.writestr(name, archive.read("xl/worksheets/sheet1.xml").replace(b"1000", b"1001"))
    (problem,) = read_standard_lots(data.getvalue(), "w.xlsx")
    assert isinstance(problem, Problem)
    assert problem.code == "documents.workbook-unfit"
    assert "twice" in problem.what


def test_a_number_kept_as_text_is_the_number() -> None:
    data = _workbook(LOTS, {"D2": "1000", "F2": "0.2"})
    assert read_standard_lots(data, "w.xlsx") == read_standard_lots(LOTS.encode(), "w.csv")


def _changed_sheet(change: Callable[[Worksheet], object]) -> bytes:
    book = load_workbook(io.BytesIO(_workbook(LOTS)))
    change(book.active)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


@pytest.mark.parametrize("column", ["description", "condition", "quantity_received"])
@pytest.mark.parametrize("text", ["", "   "])
def test_what_a_sample_must_say_is_not_left_empty(column: str, text: str) -> None:
    head, first, *rest = SAMPLES.splitlines()
    cells = first.split(";")
    nth = head.split(";").index(column)
    cells[nth] = text
    (problem,) = read_samples("\n".join([head, ";".join(cells), *rest, ""]).encode(), "s.csv")
    assert isinstance(problem, Problem)
    assert problem.code == "documents.cell-empty"
    assert problem.where == f"s.csv, line 2, cell {nth + 1} ({column})"


def _repacked(change: Callable[[str, bytes], bytes], extra: int = 0) -> bytes:
    data = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(_workbook(CUSTOMERS))) as old,
        zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            new.writestr(name, change(name, old.read(name)))
        for number in range(extra):
            new.writestr(f"extra{number}", b"")
    return data.getvalue()


def _bomb(name: str, part: bytes) -> bytes:
    return part if "sheet1" not in name else part + b" " * (65 * 2**20)


def _entities(name: str, part: bytes) -> bytes:
    return b'<!DOCTYPE a [<!ENTITY b "c">]>' + part if "sheet1" in name else part


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(_repacked(_bomb), id="bomb"),
        pytest.param(_repacked(_entities), id="entities"),
        pytest.param(_repacked(lambda _, part: part, extra=1001), id="too many parts"),
        pytest.param(_repacked(lambda name, part: part[:50] if "sheet1" in name else part), id="cut part"),
        pytest.param(_repacked(lambda name, part: b"" if "workbook.xml" in name else part), id="empty part"),
        pytest.param(_workbook(CUSTOMERS)[:2000], id="cut file"),
    ],
)
def test_dangerous_or_damaged_workbooks(data: bytes) -> None:
    (problem,) = read_customers(data, "w.xlsx")
    assert isinstance(problem, Problem)
    assert problem.code == "documents.workbook-unfit"


# Never a traceback


@given(st.binary(max_size=200), st.sampled_from(sorted(_READ)))
def test_any_bytes_are_read_or_refused(data: bytes, sheet: str) -> None:
    assert all(isinstance(row, Problem) for row in _READ[sheet][0](data, "x"))


@given(st.data(), st.sampled_from(sorted(_READ)))
def test_a_mutated_sheet_is_read_or_refused(data: st.DataObject, sheet: str) -> None:
    read, text = _READ[sheet]
    good = text.encode()
    at, cut = data.draw(st.integers(0, len(good))), data.draw(st.integers(0, 30))
    put = data.draw(st.binary(max_size=5) | st.sampled_from([b'"', b",", b";", b"\n", b"\r", b"=", b"0", b"E+05"]))
    found = read(good[:at] + put + good[at + cut :], "x")
    assert found
    assert len({isinstance(row, Problem) for row in found}) == 1


_WORKBOOK = _workbook(CUSTOMERS)  # made once: it holds the time it was made


@given(st.data())
def test_a_mutated_workbook_is_read_or_refused(data: st.DataObject) -> None:
    good = _WORKBOOK
    at = data.draw(st.integers(4, len(good) - 1))
    found = read_customers(good[:at] + data.draw(st.binary(min_size=1, max_size=3)) + good[at + 1 :], "x")
    assert found


@pytest.mark.parametrize(
    ("prepared_as", "taken"),
    [("1002", True), ("100", True), ("10000", True), ("99.9", False), ("1", False), ("10001", False)],
)
def test_a_standard_was_made_from_a_value_that_may_have_been_taken_for_its_own(
    prepared_as: str, *, taken: bool
) -> None:
    head, line, *_ = LOTS.splitlines()
    assert ",1000,mg/L," in line
    found = read_standard_lots(f"{head},prepared_as\n{line},{prepared_as}\n".encode(), "l.csv")
    codes = [one.code for one in found if isinstance(one, Problem)]
    assert codes == ([] if taken else ["documents.amount-unlikely"])


def test_lots_of_reagents_are_kept_as_they_stand() -> None:
    head, *lines = PREPARATION.splitlines()
    text = "\n".join([f"{head},reagent_lots", *(f'{line},"HNO3 4711; Pd 23-04"' for line in lines)]) + "\n"
    rows = read_preparation(text.encode(), "p.csv")
    assert {row.reagent_lots for row in rows if isinstance(row, Portion)} == {"HNO3 4711; Pd 23-04"}
    plain = read_preparation(PREPARATION.encode(), "p.csv")
    assert all(b"reagent_lots" not in record_bytes(row) for row in plain if isinstance(row, Portion))
    long = read_preparation(text.replace("HNO3 4711", "x" * 401).encode(), "p.csv")
    assert all(isinstance(row, Problem) for row in long)


def test_a_line_that_speaks_to_spreadsheets_is_to_be_deleted() -> None:
    (problem,) = read_customers(b"sep=,\n" + CUSTOMERS.encode(), "s")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.separator-unknown", "s, line 1")
    assert "Delete this line" in problem.remedy
