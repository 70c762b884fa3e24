"""Preparation rows of the deeper checks: spikes after preparation, certified uncertainties, acid."""

from __future__ import annotations

import pytest

from benchseal.documents.sheets import read_preparation
from benchseal.problems import Problem
from benchseal.records.preparation import DilutionStep, Portion

SHEET = """\
portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g,dilutions,spike_of,added_ug,expected_ug_per_g,u_expected_ug_per_g,acid_percent
RM-1,P-031,reference_material,,Pb Cd,25.0,p-ines.brandt,2026-03-01T10:00:00,0.4990,,,,Pb 0.30; Cd 0.05,Pb 0.01; Cd 0.02,
A-1/1,P-031,sample,S-00001,Pb Cd,25.0,p-ines.brandt,2026-03-01T10:00:00,0.5021,,,,,,5.0
A-1/2,P-031,duplicate,S-00001,Pb,25.0,p-ines.brandt,2026-03-01T10:00:00,0.5020,,,,,,0
A-1/1 +,P-031,post_spiked_sample,S-00001,Pb,10.0,p-ines.brandt,2026-03-01T10:00:00,,Pb 10/10.1,A-1/1,Pb 0.05,,,
A-1/2 s,P-031,spiked_sample,S-00001,Pb,25.0,p-ines.brandt,2026-03-01T10:00:00,0.5020,,A-1/2,Pb 0.125,,,
"""


def read(text: str) -> tuple[Portion, ...]:
    rows = read_preparation(text.encode(), "p.csv")
    found = tuple(row for row in rows if isinstance(row, Portion))
    assert len(found) == len(rows), [str(row) for row in rows]
    return found


def test_rows_hold_what_the_checks_need() -> None:
    reference, sample, duplicate, spiked, _ = read(SHEET)
    assert reference.u_expected_ug_per_g == {"Pb": "0.01", "Cd": "0.02"}
    assert (sample.acid_percent, duplicate.acid_percent, spiked.acid_percent) == ("5.0", "0", "")
    assert spiked == Portion(
        "A-1/1 +", "P-031", "post_spiked_sample", "S-00001", ("Pb",), "10.0", "p-ines.brandt", "2026-03-01T10:00:00",
        dilutions={"Pb": (DilutionStep("10", "10.1"),)}, spike_of="A-1/1", added_ug={"Pb": "0.05"},
    )  # fmt: skip


# Defect: old text, new text, code, part of the place.
_DEFECTS = {
    "post-spike without a sample": ("post_spiked_sample,S-00001", "post_spiked_sample,", "portion-sample", "line 5"),
    "post-spike of nothing": (",A-1/1,Pb 0.05", ",A-9/9,Pb 0.05", "portion-spike", "line 5, cell 11 (spike_of)"),
    "post-spike of no portion": (",A-1/1,Pb 0.05", ",,Pb 0.05", "portion-spike", "(spike_of)"),
    "post-spike of a reference material": (",A-1/1,Pb 0.05", ",RM-1,Pb 0.05", "portion-spike", "line 5"),
    "post-spike of a spike": (",A-1/1,Pb 0.05", ",A-1/2 s,Pb 0.05", "portion-spike", "line 5"),
    "spike of a post-spike": (",A-1/2,Pb 0.125", ",A-1/1 +,Pb 0.125", "portion-spike", "line 6"),
    "post-spike of another sample": (
        "post_spiked_sample,S-00001", "post_spiked_sample,S-00002", "portion-spike", "line 5, cell 4 (sample)",
    ),
    "post-spike without an amount": (",A-1/1,Pb 0.05", ",A-1/1,", "portion-spike", "(added_ug)"),
    "uncertainty of nothing": ("0.5021,,,,,,5", "0.5021,,,,,Pb 0.01,5", "portion-expected", "(u_expected_ug_per_g)"),
    "uncertainty of another element": ("Cd 0.02", "Zn 0.02", "portion-element-foreign", "line 2"),
    "uncertainty without a number": ("Cd 0.02", "Cd", "cell-unfit", "(u_expected_ug_per_g)"),
    "negative uncertainty": ("Cd 0.02", "Cd -0.02", "value-unfit", "(u_expected_ug_per_g)"),
    "more acid than there is room for": (",,5.0\n", ",,100.1\n", "portion-acid", "line 3, cell 15 (acid_percent)"),
    "negative acid": (",,5.0\n", ",,-5.0\n", "value-unfit", "(acid_percent)"),
    "acid with its unit": (",,5.0\n", ",,5 %\n", "value-unfit", "(acid_percent)"),
}  # fmt: skip


@pytest.mark.parametrize("defect", _DEFECTS)
def test_each_defect_at_its_cell(defect: str) -> None:
    old, new, code, place = _DEFECTS[defect]
    assert SHEET.count(old) == 1
    rows = read_preparation(SHEET.replace(old, new).encode(), "p.csv")
    hits = [row for row in rows if isinstance(row, Problem) and row.code == f"documents.{code}"]
    assert hits, [str(row) for row in rows]
    assert place in hits[0].where, hits[0].where


def test_a_hundred_percent_of_acid_is_no_defect() -> None:
    assert read(SHEET.replace(",,5.0\n", ",,100\n"))[1].acid_percent == "100"
