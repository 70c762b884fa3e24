"""A balance's own file: read whole or not at all, and held against the sheet."""

from __future__ import annotations

import io

import openpyxl
import pytest
from tests.review.test_typed import ROW

from benchseal.documents.balance import balance_problems, read_balance
from benchseal.problems import Problem

GOOD = b"portion,mass_g,weighed_at,balance\nY-1,1.0120,2026-03-02T09:00:00,BAL-2\nY-2,0.9987,,\n"


def test_labels_and_masses_are_read() -> None:
    assert read_balance(GOOD, "balance.csv") == {"Y-1": "1.0120", "Y-2": "0.9987"}


@pytest.mark.parametrize(
    ("data", "codes"),
    [
        pytest.param(b"portion,weighed_at\nY-1,2026-03-02T09:00:00\n", {"balance.columns"}, id="other columns"),
        pytest.param(b"", {"documents.sheet-empty"}, id="empty"),
        pytest.param(b"portion,mass_g\nY-1,1.0 g\n,1.2\n", {"balance.row"}, id="no weighing"),
        pytest.param(b"portion,mass_g\nY-1,1.0\nY-1,1.1\n", {"balance.twice"}, id="a label twice"),
        pytest.param(
            b"portion,mass_g,unit,stable\nY-1,1012.0,mg,no\n", {"documents.column-unknown"}, id="another unit"
        ),
        pytest.param(
            b"portion,mass_g,mass_mg\nY-1,0.99,1200\n", {"documents.column-unknown"}, id="two masses, two units"
        ),
        pytest.param(b"portion;mass_g;\nY-1;1012.0;mg\n", {"documents.column-unknown"}, id="a column without a name"),
    ],
)
def test_what_is_no_balance_file(data: bytes, codes: set[str]) -> None:
    found = read_balance(data, "balance.csv")
    assert isinstance(found, tuple)
    assert {one.code for one in found} == codes


def test_each_column_nobody_reads_is_named_in_a_workbook_too() -> None:
    book = openpyxl.Workbook()
    for row in (["portion", "mass_g", "unit", "stable"], ["Y-1", "1012.0", "mg", "no"]):
        book.active.append(row)
    held = io.BytesIO()
    book.save(held)
    found = read_balance(held.getvalue(), "b.xlsx")
    assert [(one.code, one.what) for one in found if isinstance(one, Problem)] == [
        ("documents.column-unknown", "Column 'unit' is not known."),
        ("documents.column-unknown", "Column 'stable' is not known."),
    ]


def test_another_mass_in_the_sheet_is_said_with_both_sides() -> None:
    assert balance_problems([ROW], {"Y-1": "1.012"}, "sheet.csv") == ()
    assert balance_problems([ROW], {"Y-9": "5"}, "sheet.csv") == ()
    (problem,) = balance_problems([ROW], {"Y-1": "1.0210"}, "sheet.csv")
    assert problem.code == "balance.differs"
    assert "1.0120" in problem.what
    assert "1.0210" in problem.what
