"""Workbooks whose cells show another text than they hold: such a cell is named, and nothing of the sheet comes in."""

from __future__ import annotations

import io
import re
import zipfile
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.formatting.rule import DataBarRule, Rule
from openpyxl.styles import Alignment, Font
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.styles.numbers import NumberFormat

from benchseal.documents.balance import read_balance
from benchseal.documents.sheets import read_standard_lots
from benchseal.documents.workbook_forms import shown_as, shows_itself
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Callable

    from openpyxl.worksheet.worksheet import Worksheet

HEAD = ["lot", "element", "purpose", "value", "unit", "u_percent", "maker", "certificate", "in_use_from", "expires_on"]
LOT = ["L-1", "Pb", "calibration", "1000", "mg/L", "0.5", "a maker", "C-1", "2028-01-01", "2028-12-31"]


def _saved(book: Workbook) -> bytes:
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def _lots(change: Callable[[Worksheet], object]) -> bytes:
    book = Workbook()
    for row in (HEAD, LOT, ["L-2", *LOT[1:]]):
        book.active.append(row)
    change(book.active)
    return _saved(book)


def _put(place: str, value: object, form: str) -> Callable[[Worksheet], None]:
    def change(sheet: Worksheet) -> None:
        sheet[place] = value
        sheet[place].number_format = form

    return change


def _problems(data: bytes) -> list[Problem]:
    found = read_standard_lots(data, "w.xlsx")
    assert all(isinstance(one, Problem) for one in found), found
    return [one for one in found if isinstance(one, Problem)]


_OTHERWISE: dict[str, tuple[str, float, str, str]] = {
    "a percentage": ("F2", 0.005, "0.00%", "holds 0.005 and shows 0.50%"),
    "a whole percentage": ("F2", 0.5, "0%", "holds 0.5 and shows 50%"),
    "thousands": ("D2", 1000000, "0,", "holds 1000000 and shows 1000:"),
    "thousands with decimals": ("D2", 1500, "0.00,", "holds 1500 and shows 1.50"),
    "another unit": ("D2", 1000, '0.00" ug/L"', "shows 1000.00 ug/L"),
    "figures of the form": ("D2", 5, '"10"0', "holds 5 and shows 105"),
    "a figure with a stroke before it": ("D2", 5, r"\90", "holds 5 and shows 95"),
    "another sign": ("D2", 1000, "-0", "holds 1000 and shows -1000"),
    "no sign": ("D2", -1000, "0;0", "holds -1000 and shows 1000"),
    "rounded": ("D2", 1000.4, "0", "holds 1000.4 and shows 1000:"),
    "rounded by General": ("D2", 1000.123456789, "General", "holds 1000.123456789"),
    "rounded by an exponent": ("D2", 1012.4, "0.00E+00", "another text"),
    "an exponent that rounds nothing": ("D2", 1000, "0E+00", "another text"),
    "a fraction": ("D2", 1000.5, "# ?/?", "another text"),
    "groups of thousands": ("D2", 1012, "#,##0", "holds 1012 and shows 1,012"),
    "a condition": ("D2", 1000, "[<2000]0;0.0", "another text"),
    "a colour": ("D2", 1000, "[White]0", "another text"),
    "figures before it": ("D2", 7, "000", "holds 7 and shows 007"),
    "sections": ("D2", 1000, "0;-0", "holds 1000 and shows 1000"),
    "currency": ("D2", 1000, '0.00" €"', "1000.00 €"),
}


@pytest.mark.parametrize("defect", _OTHERWISE)
def test_a_number_whose_form_shows_another_text_is_refused(defect: str) -> None:
    place, value, form, said = _OTHERWISE[defect]
    (problem,) = _problems(_lots(_put(place, value, form)))
    assert problem.code == "documents.cell-form"
    assert problem.where.startswith("w.xlsx, sheet Sheet, row 2, cell ")
    assert said in problem.what
    assert form in problem.what


@pytest.mark.parametrize(
    ("value", "form"),
    [(1000, "General"), (1000, "0"), (1000.5, "0.0"), (1000.5, "0.0000"), (1000.5, "0.0##"), (0.000123, "General"),
     (1000, "@"), (1000.0, "0.00"), (123456.789012, "0.000000")],
)  # fmt: skip
def test_a_number_in_a_plain_form_is_the_number(value: float, form: str) -> None:
    found = read_standard_lots(_lots(_put("D2", value, form)), "w.xlsx")
    assert not any(isinstance(one, Problem) for one in found), found
    assert Decimal(found[0].value) == Decimal(repr(value))  # type: ignore[union-attr]


@given(st.decimals(-(10**9), 10**9, places=6), st.integers(0, 8))
def test_a_plain_form_is_taken_only_if_it_shows_the_number(number: Decimal, places: int) -> None:
    form = "0." + "0" * places if places else "0"
    assert shows_itself(form, f"{number:f}") == (Decimal(shown_as(form, number)) == number)


def test_a_number_where_a_text_is_due_is_told_as_converted_alone() -> None:
    assert [one.code for one in _problems(_lots(_put("A2", 7, "000")))] == ["documents.cell-converted"]


@pytest.mark.parametrize("form", ['"9"@', '@" mg"', '0;0;0;"9"@', r"\9@", "[White]@", "*9@"])
def test_a_form_that_adds_to_a_text_is_refused(form: str) -> None:
    (problem,) = _problems(_lots(_put("D2", "1000", form)))
    assert problem.code == "documents.cell-form"
    assert "1000" in problem.what


# The balance's own file


def _balance(rows: list[list[object]], forms: dict[str, str]) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    for place, form in forms.items():
        book.active[place].number_format = form
    return _saved(book)


@pytest.mark.parametrize(
    ("cells", "form", "code"),
    [
        pytest.param([7, "1.5"], {"A2": "000"}, "documents.cell-converted", id="a label that became a number"),
        pytest.param(["8", 0.05], {"B2": "0%"}, "documents.cell-form", id="a mass as a percentage"),
        pytest.param(["8", 1.5], {"B2": '0.0000" mg"'}, "documents.cell-form", id="a mass in another unit"),
        pytest.param(["'8", "1.5"], {}, "documents.cell-damaged", id="an apostrophe"),
        pytest.param(["05-Mar", "1.5"], {}, "documents.cell-damaged", id="a label that became a day"),
        pytest.param(["x  1", "1.5"], {}, "documents.blank-odd", id="two blanks in a row"),
    ],
)
def test_masses_of_a_workbook_are_held_to_the_rules_of_sheets(
    cells: list[object], form: dict[str, str], code: str
) -> None:
    found = read_balance(_balance([["portion", "mass_g"], cells], form), "b.xlsx")
    assert isinstance(found, tuple)
    assert [one.code for one in found] == [code]
    assert found[0].where.startswith("b.xlsx, sheet Sheet, row 2, cell ")


def test_all_problems_of_a_balance_at_once() -> None:
    rows: list[list[object]] = [["portion", "mass_g"], ["=1+1", "1.0"], [7, 1.0], ["8", 0.05], ["9", "heavy"]]
    found = read_balance(_balance(rows, {"B4": "0%"}), "b.xlsx")
    assert isinstance(found, tuple)
    due = ["documents.cell-not-text", "documents.cell-converted", "documents.cell-form", "balance.row"]
    assert [one.code for one in found] == due


def test_masses_of_a_workbook_as_numbers() -> None:
    assert read_balance(_balance([["portion", "mass_g"], ["007", 1.5]], {"B2": "0.0000"}), "b.xlsx") == {"007": "1.5"}


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"portion,mass_g\nY-1,1,0120\n", "documents.row-unfit"),
        (b"portion,mass_g\nY-1\n", "documents.row-unfit"),
        (b"portion,mass_g,mass_g\nY-1,1.0,2.0\n", "documents.column-twice"),
    ],
)
def test_rows_of_a_balance_that_are_not_those_of_its_first_line_are_refused(data: bytes, code: str) -> None:
    found = read_balance(data, "b.csv")
    assert isinstance(found, tuple)
    assert [one.code for one in found] == [code]


# Script


def _rich(font: InlineFont) -> Callable[[Worksheet], None]:
    return lambda sheet: sheet.__setitem__("D2", CellRichText(TextBlock(font, "9"), "1000"))


def _font(**of: Any) -> Callable[[Worksheet], None]:  # noqa: ANN401  whatever a font has
    return lambda sheet: setattr(sheet["D2"], "font", Font(**of))


def _struck_row(sheet: Worksheet) -> None:
    for cell in sheet[2]:
        cell.font = Font(strike=True)


_DRAWN: dict[str, tuple[Callable[[Worksheet], object], str]] = {
    "a figure struck through": (_rich(InlineFont(strike=True)), "struck through"),
    "a figure raised": (_rich(InlineFont(vertAlign="superscript")), "raised"),
    "a figure lowered": (_rich(InlineFont(vertAlign="subscript")), "lowered"),
    "a figure too small": (_rich(InlineFont(sz=1)), "too small"),
    "a cell struck through": (_font(strike=True), "struck through"),
    "a cell raised": (_font(vertAlign="superscript"), "raised"),
    "a cell too small": (_font(sz=1), "too small"),
    "a row struck through": (_struck_row, "struck through"),
    "a cell repeated": (lambda sheet: setattr(sheet["D2"], "alignment", Alignment(horizontal="fill")), "repeated"),
}


@pytest.mark.parametrize("defect", _DRAWN)
def test_script_that_reads_as_another_text_is_refused(defect: str) -> None:
    change, said = _DRAWN[defect]
    found = _problems(_lots(change))
    assert {one.code for one in found} == {"documents.cell-script"}
    assert any(one.where == "w.xlsx, sheet Sheet, row 2, cell 4" and said in one.what for one in found)


def _kept_apart(data: bytes) -> bytes:
    """The workbook with its texts in the part of shared strings, as spreadsheets save them."""
    shared: list[str] = []

    def move(found: re.Match[str]) -> str:
        shared.append(f"<si>{found[2]}</si>")
        return f"{found[1].replace('inlineStr', 's')}<v>{len(shared) - 1}</v>"

    out, sheet = io.BytesIO(), "xl/worksheets/sheet1.xml"
    office = "http://schemas.openxmlformats.org"
    of = f"{office}/officeDocument/2006/relationships/sharedStrings"
    rel = f'<Relationship Id="rId99" Target="sharedStrings.xml" Type="{of}"/>'
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    override = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kind}"/>'
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        parts = {name: old.read(name).decode() for name in old.namelist()}
        parts[sheet] = re.sub(r'(<c [^>]*t="inlineStr"[^>]*>)<is>(.*?)</is>', move, parts[sheet])
        parts["xl/sharedStrings.xml"] = f'<sst xmlns="{office}/spreadsheetml/2006/main">{"".join(shared)}</sst>'
        for name, end, more in (
            ("xl/_rels/workbook.xml.rels", "</Relationships>", rel),
            ("[Content_Types].xml", "</Types>", override),
        ):
            parts[name] = parts[name].replace(end, more + end)
        for name, part in parts.items():
            new.writestr(name, part)
    return out.getvalue()


@pytest.mark.parametrize("font", [InlineFont(strike=True), InlineFont(vertAlign="superscript")])
def test_script_of_shared_texts_is_looked_at_too(font: InlineFont) -> None:
    data = _kept_apart(_lots(_rich(font)))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert b"<rPr>" in archive.read("xl/sharedStrings.xml")
        assert b"<rPr>" not in archive.read("xl/worksheets/sheet1.xml")
    (problem,) = _problems(data)
    assert problem.code == "documents.cell-script"


@pytest.mark.parametrize("moved", [False, True])
def test_bold_and_coloured_words_do_no_harm(moved: bool) -> None:
    text = CellRichText("a ", TextBlock(InlineFont(b=True, color="FFFF0000"), "maker"))
    data = _lots(lambda sheet: sheet.__setitem__("G2", text))
    found = read_standard_lots(_kept_apart(data) if moved else data, "w.xlsx")
    assert found == read_standard_lots(_lots(lambda _: None), "w.xlsx")


def _conditional(style: DifferentialStyle) -> Callable[[Worksheet], None]:
    rule = Rule(type="expression", dxf=style, formula=["TRUE"])
    return lambda sheet: sheet.conditional_formatting.add("D2:D3", rule)


_BY_CONDITION: dict[str, Callable[[Worksheet], None]] = {
    "another number form": _conditional(DifferentialStyle(numFmt=NumberFormat(numFmtId=200, formatCode='"9"0'))),
    "struck through": _conditional(DifferentialStyle(font=Font(strike=True))),
    "a bar in place of the number": lambda sheet: sheet.conditional_formatting.add(
        "D2:D3", DataBarRule("min", None, "max", None, color="FF638EC6", showValue=False)
    ),
}


@pytest.mark.parametrize("defect", _BY_CONDITION)
def test_conditional_formats_that_change_what_is_read_are_refused(defect: str) -> None:
    (problem,) = _problems(_lots(_BY_CONDITION[defect]))
    assert (problem.code, problem.where) == ("documents.cell-form", "w.xlsx, sheet Sheet")


def test_conditional_formats_that_colour_do_no_harm() -> None:
    style = DifferentialStyle(font=Font(b=True, color="FFFF0000", sz=None))
    assert read_standard_lots(_lots(_conditional(style)), "w.xlsx") == read_standard_lots(_lots(lambda _: None), "w")


def test_a_sheet_that_shows_no_zeros_is_refused() -> None:
    (problem,) = _problems(_lots(lambda sheet: setattr(sheet.sheet_view, "showZeros", False)))
    assert problem.code == "documents.cells-hidden"
    assert "zeros" in problem.what
