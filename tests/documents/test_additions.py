"""Standard additions in preparation sheets and methods: what is read, and one change for each rule."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.documents.test_rules_of_results import problems_of, sample

from benchseal.documents.sheets import read_preparation
from benchseal.problems import Problem
from benchseal.records.preparation import Addition, Portion

SHEET = """\
portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g,spike_of,added_ug,additions
W-1,P-1,sample,S-00001,Pb Cd,25.0,p-a,2026-03-01T10:00:00,0.5021,,,Pb W-1=0 W-1a=5 W-1b=10.0 W-1c=15; Cd W-1=0 W-1k=0.5 W-1l=1 W-1m=2
W-2,P-1,sample,S-00001,Pb Cd,25.0,p-a,2026-03-01T10:00:00,0.5020,,,
MB,P-1,method_blank,,Pb Cd,25.0,p-a,2026-03-01T10:00:00,,,,
W-1+,P-1,post_spiked_sample,S-00001,Pb,10.0,p-a,2026-03-01T10:00:00,,W-1,Pb 0.05,
"""  # noqa: E501  lines of a sheet
LEAD = "Pb W-1=0 W-1a=5 W-1b=10.0 W-1c=15"


def test_a_cell_is_read_for_each_element() -> None:
    first, second, *_ = read_preparation(SHEET.encode(), "p.csv")
    assert isinstance(first, Portion), first
    assert isinstance(second, Portion)
    assert first.additions["Pb"] == (
        Addition("W-1", "0"), Addition("W-1a", "5"), Addition("W-1b", "10.0"), Addition("W-1c", "15"),
    )  # fmt: skip
    assert [tube.label for tube in first.additions["Cd"]] == ["W-1", "W-1k", "W-1l", "W-1m"]
    assert first.labels == ("W-1", "W-1a", "W-1b", "W-1c", "W-1k", "W-1l", "W-1m")
    assert (first.labels_for("Cd")[1], first.labels_for("Zn"), second.labels) == ("W-1k", ("W-1",), ("W-2",))
    assert second.additions == {}


def test_one_tube_may_hold_additions_of_two_elements() -> None:
    shared = SHEET.replace("W-1k", "W-1a").replace("W-1l", "W-1b").replace("W-1m", "W-1c")
    assert all(isinstance(row, Portion) for row in read_preparation(shared.encode(), "p.csv"))


def test_a_label_may_hold_a_sign_of_equality() -> None:
    read = read_preparation(SHEET.replace("W-1a=5", "W=1a=5").encode(), "p.csv")
    assert isinstance(read[0], Portion)
    assert read[0].additions["Pb"][1] == Addition("W=1a", "5")


# Defect: old text, new text, code, part of the place.
_DEFECTS = {
    "three tubes": (" W-1c=15", "", "portion-additions-few", "line 2, cell 12 (additions)"),
    "no tube without addition": ("W-1=0 W-1a=5", "W-1=1 W-1a=5", "portion-additions-order", "line 2"),
    "additions that fall": ("W-1b=10.0", "W-1b=4", "portion-additions-order", "(additions)"),
    "the same addition twice": ("W-1b=10.0", "W-1b=5.0", "portion-additions-order", "(additions)"),
    "two tubes without addition": ("W-1a=5", "W-1a=0", "portion-additions-order", "(additions)"),
    "a negative addition": ("W-1a=5", "W-1a=-5", "value-unfit", "(additions)"),
    "an addition with its unit": ("W-1a=5", "W-1a=5ug", "value-unfit", "(additions)"),
    "a label twice": ("W-1b=10.0", "W-1a=10.0", "portion-additions-label", "(additions)"),
    "another label without addition": ("Pb W-1=0", "Pb W-1z=0", "portion-additions-label", "(additions)"),
    "the label of another portion": ("W-1b=10.0", "W-2=10.0", "portion-additions-label", "line 2"),
    "tubes of an element not prepared for": ("; Cd W-1=0", "; Zn W-1=0", "portion-element-foreign", "line 2"),
    "an element twice": ("; Cd W-1=0", "; Pb W-1=0", "cell-unfit", "(additions)"),
    "a tube without a number": ("W-1a=5", "W-1a", "cell-unfit", "(additions)"),
    "a number without a tube": ("W-1a=5", "=5", "cell-unfit", "(additions)"),
    "an element alone": (LEAD, "Pb", "cell-unfit", "(additions)"),
    "additions to a blank": ("MB,P-1,method_blank,,Pb Cd,25.0,p-a,2026-03-01T10:00:00,,,,",
                             "MB,P-1,method_blank,,Pb Cd,25.0,p-a,2026-03-01T10:00:00,,,,Pb MB=0 MBa=5 MBb=10 MBc=15",
                             "portion-additions-kind", "line 4"),
    "additions to a spike after preparation": (
        ",W-1,Pb 0.05,\n", ",W-1,Pb 0.05,Pb W-1+=0 a=5 b=10 c=15\n", "portion-additions-kind", "line 5",
    ),
}  # fmt: skip


@pytest.mark.parametrize("defect", _DEFECTS)
def test_each_defect_at_its_cell(defect: str) -> None:
    old, new, code, place = _DEFECTS[defect]
    assert SHEET.count(old) == 1
    rows = read_preparation(SHEET.replace(old, new).encode(), "p.csv")
    hits = [row for row in rows if isinstance(row, Problem) and row.code == f"documents.{code}"]
    assert hits, [str(row) for row in rows]
    assert place in hits[0].where, hits[0].where


def test_a_tube_of_two_portions_is_named_at_both() -> None:
    second = ",0.5020,,,"
    rows = read_preparation(SHEET.replace(second, f"{second}Pb W-2=0 W-1a=5 W-2b=10 W-2c=15").encode(), "p.csv")
    where = [row.where for row in rows if isinstance(row, Problem)]
    assert where == ["p.csv, line 2, cell 12 (additions)", "p.csv, line 3, cell 12 (additions)"]


@given(st.lists(st.decimals("0.001", "1000", places=3), min_size=3, max_size=8, unique=True))
def test_any_rising_row_is_read_as_written(added: list[Any]) -> None:
    texts = [f"{one:f}" for one in sorted(added)]
    cell = " ".join(["Pb W-1=0", *(f"t{nth}={text}" for nth, text in enumerate(texts))])
    (row, *_) = read_preparation(SHEET.replace(LEAD, cell).encode(), "p.csv")
    assert isinstance(row, Portion), row
    assert [tube.added for tube in row.additions["Pb"]] == ["0", *texts]


# Methods


def method(**plan: object) -> dict[str, Any]:
    """The good sample read against its blank, with additions."""
    value = sample("method")
    value["signal_is"] = "absorbance_zeroed_on_blank"
    usual = {"additions": "allowed", "additions_smallest_r": "0.995", "additions_largest_slope_percent": "20",
             "additions_source": "EPA SW-846 Method 7000B (Feb 2007) 9.10.3"}  # fmt: skip
    value["calibration"] |= usual | plan
    return value


@pytest.mark.parametrize(
    "plan",
    [
        {},
        {"additions": "required"},
        {"additions_smallest_r": "", "additions_largest_slope_percent": ""},
        {"additions": "", "additions_smallest_r": "", "additions_largest_slope_percent": "", "additions_source": ""},
        {"model": "line_through_zero"},
        {"additions_smallest_r": "1"},
    ],
    ids=["allowed", "required", "no limits", "none", "through zero", "r of one"],
)
def test_good_methods(plan: dict[str, Any]) -> None:
    assert [str(problem) for problem in problems_of(method(**plan))] == []


@pytest.mark.parametrize(
    ("plan", "code"),
    [
        ({"additions": "sometimes"}, "value-unknown"),
        ({"additions_source": " "}, "method-additions-source"),
        ({"additions": "", "additions_source": "", "additions_smallest_r": ""}, "method-additions-foreign"),
        ({"model": "quadratic", "smallest_levels": 7}, "method-additions-curve"),
        ({"quadratic_allowed": True, "smallest_levels": 7}, "method-additions-curve"),
        ({"additions_smallest_r": "1.01"}, "method-additions-r"),
        ({"additions_largest_slope_percent": "0"}, "method-additions-slope"),
        ({"additions_largest_slope_percent": "-5"}, "value-unfit"),
    ],
)
def test_a_broken_method(plan: dict[str, Any], code: str) -> None:
    assert f"documents.{code}" in [problem.code for problem in problems_of(method(**plan))]


@pytest.mark.parametrize("signal", ["absorbance", "instrument_concentration"])
def test_additions_need_signals_less_the_blank(signal: str) -> None:
    codes = [problem.code for problem in problems_of(method() | {"signal_is": signal})]
    assert "documents.method-additions-blank" in codes
