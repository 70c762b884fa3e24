"""Rows that a stray quotation mark has swallowed, in sheets and in orders; and texts with honest line breaks."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.documents.test_imported import HEADER, PROFILE, ROWS, file
from tests.documents.test_sheets import CUSTOMERS, SAMPLES

from benchseal.documents.balance import read_balance
from benchseal.documents.imported import imported_rows
from benchseal.documents.sheets import read_customers, read_imported_samples, read_preparation, read_samples, row_places
from benchseal.documents.swallowed import swallowing
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.records.import_profile import ImportProfile

OPEN = replace(PROFILE, closing_lines=())
HEAD = (
    "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g,unit_mass_g,u_unit_mass_g,"
    "reagent_lots\n"
)
PORTION = "Q/{0},ZB-9,sample,S-00001,Zn,100.0,p-maren.holt,2026-03-01T10:00:00,1.0,2.494,0.005,{1}\n"


def row(lot: str, what: str) -> str:
    return f"{lot};ZL;S{lot};{what};02.03.2026;high;PO;30;\n"


def told(found: Iterable[object]) -> list[tuple[str, str]]:
    return [(each.code, each.where) for each in found if isinstance(each, Problem)]


@pytest.mark.parametrize(
    ("rows", "lines"),
    [
        pytest.param(row("A", '"loz') + row("B", 'loz"') + row("C", "x"), "3 to 4", id="two"),
        pytest.param(row("A", '"loz') + row("B", "y") + row("C", 'loz"') + row("D", "x"), "3 to 5", id="three"),
        pytest.param(row("A", "z") + row("B", '"loz').replace("high", '""') + row("C", '"'), "4 to 5", id="below one"),
        pytest.param('A;ZL;SA;"loz\n' + row("B", "y") + 'C;ZL;x;z";02.03.2026;;;30;\n', "3 to 5", id="one between"),
        pytest.param('A;ZL;SA;"loz\n' + row("B", 'z"'), "3 to 4", id="behind half a row"),
        pytest.param(row("A", '"loz') + 'B;z";02.03.2026;high;PO;30;\n', "3 to 4", id="before half a row"),
    ],
)
def test_rows_of_an_order_within_one_cell_are_refused_with_their_lines(rows: str, lines: str) -> None:
    for line_end in ("\n", "\r\n"):
        data = file(rows, last="").replace(b"\n", line_end.encode())
        (problem,) = [each for each in imported_rows(data, "o", OPEN) if isinstance(each, Problem)]
        assert (problem.code, problem.where) == ("documents.rows-in-cell", f"o, lines {lines}, cell 4")
        assert "twice" in problem.remedy


def test_a_column_nobody_reads_swallows_no_row_either() -> None:
    columns = tuple(
        replace(each, field="", ignored=True) if each.title == "PRIORITY" else each for each in OPEN.columns
    )
    by: ImportProfile = replace(OPEN, columns=columns)
    rows = row("A", "x").replace("high", '"high') + row("B", "y").replace("high", 'high"')
    assert told(imported_rows(file(rows, last=""), "o", by)) == [("documents.rows-in-cell", "o, lines 3 to 4, cell 6")]


def test_what_stands_beside_swallowed_rows_is_told_too() -> None:
    rows = row("A", '"loz') + row("B", 'loz"') + row("", "x")
    found = told(read_imported_samples(file(rows, last=""), "o", OPEN))
    assert found == [
        ("documents.rows-in-cell", "o, lines 3 to 4, cell 4"),
        ("import.missing", "o, line 5, cell 1 (LOT)"),
    ]


@pytest.mark.parametrize(
    "text", ["loz\nwhite", "loz; white\n12; coated", "loz\n\n\nwhite", "a\nb; c; d\ne", "loz\r\nwhite"]
)
def test_an_honest_line_break_of_a_free_text_comes_in(text: str) -> None:
    rows = row("A", f'"{text}"') + row("B", "y")
    read = read_imported_samples(file(rows, last=""), "o", OPEN)
    assert not told(read), read
    assert [each.lot for each in read[0]] == ["A", "B"]  # type: ignore[union-attr]  # no problem among them
    assert text in {each.description for each in read[0]}  # type: ignore[union-attr]


def test_a_line_break_in_an_identifier_is_refused_also_where_it_is_no_row() -> None:
    rows = ROWS.replace("L-1;", '"L-1\nL-9";')
    assert told(read_imported_samples(file(rows, last=""), "o", OPEN)) == [
        ("documents.blank-odd", "o, line 3, cell 1 (lot)")
    ]


def test_portions_within_the_lots_of_reagents_are_refused() -> None:
    """A chemist's sheet: the last column of one row opens a quote that the next row closes."""
    text = HEAD + PORTION.format(1, '"HNO3 4711') + PORTION.format(2, 'HNO3 4711"') + PORTION.format(3, "HNO3 4711")
    (problem,) = read_preparation(text.encode(), "q.csv")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.rows-in-cell", "q.csv, lines 2 to 3, cell 12")
    assert "line 2" in problem.remedy
    honest = HEAD + PORTION.format(1, '"HNO3 4711\nHCl 22, opened today"') + PORTION.format(2, "HNO3")
    assert len(read_preparation(honest.encode(), "q.csv")) == 2
    assert not told(read_preparation(honest.encode(), "q.csv"))


def test_samples_and_customers_and_weighings_within_one_cell_are_refused() -> None:
    lines = SAMPLES.splitlines()
    assert len(lines) == 3
    first, second = (line.split(";") for line in lines[1:])
    at = lines[0].split(";").index("description")
    first[at], second[at] = f'"{first[at]}', f'{second[at].strip(chr(34))}"'
    text = "\n".join((lines[0], ";".join(first), ";".join(second))) + "\n"
    assert told(read_samples(text.encode(), "s"))[0] == ("documents.rows-in-cell", f"s, lines 2 to 3, cell {at + 1}")
    address = CUSTOMERS.splitlines()[0].split(",").index("address")
    cells = ["x"] * len(CUSTOMERS.splitlines()[0].split(","))
    honest = ",".join('"12 Mill Lane\nTern Quay"' if nth == address else "x" for nth in range(len(cells)))
    assert not told(read_customers((CUSTOMERS.splitlines()[0] + f"\n{honest}\n").encode(), "s"))
    weighed = 'portion,mass_g\n"Z/1,1.0\nZ/2",1.1\nZ/3,1.2\n'
    assert ("documents.rows-in-cell", "b, lines 2 to 3, cell 1") in told(read_balance(weighed.encode(), "b"))


def test_the_places_of_a_sheet_that_came_in_before_stay() -> None:
    """Rows on record name their place by counting the rows of the sheet that is kept."""
    text = HEAD + PORTION.format(1, '"HNO3') + PORTION.format(2, 'HNO3"') + PORTION.format(3, "HNO3")
    assert row_places("preparation", text.encode(), "q") == ("q, line 2", "q, line 4")


@given(
    first=st.lists(st.text("ab ;", max_size=4), min_size=2, max_size=5),
    at=st.integers(0, 4),
    between=st.integers(0, 3),
)
def test_whole_rows_between_two_strays_are_always_seen(first: list[str], at: int, between: int) -> None:
    """As the reader cuts them: cells before the one that opens, what stands within, cells behind the other end."""
    cells = [cell.replace(";", "") for cell in first]
    at %= len(cells)
    whole = ";".join(cells)
    within = [";".join(cells[at:]), *[whole] * between, ";".join(cells[: at + 1])]
    assert swallowing([*cells[:at], "\n".join(within), *cells[at + 1 :]], ";", len(cells)) == at


def test_a_header_that_swallows_its_rows_is_refused() -> None:
    rows = ROWS.splitlines()
    data = (HEADER.replace("LOT", '"LOT') + rows[0].replace("L-1", 'L-1"') + "\n" + rows[1] + "\n").encode("cp1252")
    by = replace(OPEN, opening_lines=())
    assert any(code == "import.header-differs" for code, _ in told(imported_rows(data, "o", by)))
