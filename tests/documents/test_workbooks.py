"""Workbooks whose own word about their size is wrong: every row is read, or the workbook is refused."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from typing import TYPE_CHECKING

import pytest
from openpyxl import Workbook

from benchseal.documents.balance import read_balance
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

if TYPE_CHECKING:
    from collections.abc import Callable, Sized

_PREPARED = "p-ines.brandt,2026-03-01T10:00:00"
_SHEETS: dict[str, tuple[Callable[[bytes, str], Sized], str]] = {
    "preparation": (
        read_preparation,
        (
            "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g\n"
            f"MB-1,P-031,method_blank,,Pb,25.0,{_PREPARED},\n"
            f"A-1/1,P-031,sample,S-00001,Pb,25.0,{_PREPARED},0.5021\n"
            f"A-1/2,P-031,duplicate,S-00001,Pb,25.0,{_PREPARED},0.5020\n"
        ),
    ),
    "samples": (
        read_samples,
        "lot,product,customer,specification,customer_sample_id,description,condition,quantity_received,received_on,"
        "sampled_on,sampled_by,order\n"
        + "".join(f"A-{n},Lozenge,ardlea,lozenge,{n},lozenges,sealed,40,2026-02-26,,,PO-1\n" for n in (1, 2, 3)),
    ),
    "lots": (
        read_standard_lots,
        "lot,element,purpose,value,unit,u_percent,maker,certificate,in_use_from,expires_on\n"
        + "".join(f"L-{n},Pb,calibration,1000,mg/L,0.2,maker,C-{n},2026-01-02,2027-01-01\n" for n in (1, 2, 3)),
    ),
    "instruments": (
        read_instruments,
        "instrument,serial,technique,zone,in_service_from\n"
        + "".join(f"furnace-{n},F-{n},furnace,Europe/Berlin,2025-01-07\n" for n in (1, 2, 3)),
    ),
    "customers": (
        read_customers,
        "customer,name,address,contact\n" + "".join(f"ardlea-{n},Ardlea {n},1 Lane,\n" for n in (1, 2, 3)),
    ),
    "plan rows": (
        read_plan_rows,
        "sample,volume_ml,kind,portions\nS-00001,25.0,sample,2\nS-00002,25.0,sample,2\nS-00003,25.0,sample,2\n",
    ),
    "glassware": (
        read_glassware,
        (
            "name,kind,nominal_ml,tolerance_ml,s_fill_ml\n"
            "pipette 1,pipette,1,0.007,0.003\npipette 2,pipette,2,0.01,0.004\nflask,flask,100,0.1,0.03\n"
        ),
    ),
    "balance": (read_balance, "portion,mass_g\nA-1/1,0.5021\nA-1/2,0.5020\nA-2/1,0.5019\n"),
}
_TOO_SMALL = ('<dimension ref="A1:I2"/>', '<dimension ref="A1"/>', '<dimension ref="A1:A1"/>', "")


def _book(text: str, change: Callable[[str], str] = str) -> bytes:
    """A workbook of the text, its worksheet part changed afterwards, as another program might have written it."""
    book = Workbook()
    for row in csv.reader(io.StringIO(text)):
        book.active.append([cell or None for cell in row])
    saved, data = io.BytesIO(), io.BytesIO()
    book.save(saved)
    with zipfile.ZipFile(saved) as old, zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, change(part.decode()).encode() if "sheet1" in name else part)
    return data.getvalue()


@pytest.mark.parametrize("dimension", _TOO_SMALL)
@pytest.mark.parametrize("kind", _SHEETS)
def test_every_row_is_read_whatever_the_sheet_says_of_its_size(kind: str, dimension: str) -> None:
    read, text = _SHEETS[kind]
    whole = read(text.encode(), "s.csv")
    assert len(whole) == 3
    assert not isinstance(whole, tuple) or not any(isinstance(row, Problem) for row in whole), whole
    changed = _book(text, lambda part: re.sub("<dimension [^>]*>", dimension, part))
    assert read(changed, "w.xlsx") == whole


def test_a_dimension_that_begins_below_the_first_row_takes_none_away() -> None:
    read, text = _SHEETS["customers"]
    changed = _book(text, lambda part: re.sub("<dimension [^>]*>", '<dimension ref="B3:C3"/>', part))
    assert read(changed, "w.xlsx") == read(text.encode(), "s.csv")


@pytest.mark.parametrize("cell", ["XFD1048576", "XFD2", "CW1", "A100001"])
def test_a_cell_where_no_sheet_is_read_is_named(cell: str) -> None:
    row = "".join(filter(str.isdigit, cell))
    far = f'<c r="{cell}" t="inlineStr"><is><t>x</t></is></c>'

    def put(part: str) -> str:
        if f'<row r="{row}"' in part:
            return re.sub(f'(<row r="{row}".*?)</row>', lambda found: f"{found[1]}{far}</row>", part)
        return part.replace("</sheetData>", f'<row r="{row}">{far}</row></sheetData>')

    (problem,) = read_customers(_book(_SHEETS["customers"][1], put), "w.xlsx")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.too-large", f"w.xlsx, sheet Sheet, cell {cell}")
    assert "100000 rows and 100 columns" in problem.what


def test_a_formula_without_a_text_of_its_own_is_not_passed_over() -> None:
    row = '<row r="5"><c r="A5"><f t="shared" si="0"/></c></row></sheetData>'
    found = read_customers(_book(_SHEETS["customers"][1], lambda part: part.replace("</sheetData>", row)), "w.xlsx")
    codes = [one.code for one in found if isinstance(one, Problem)]
    assert codes == ["documents.cell-not-text", "documents.value-unfit"], "and a row without a name"


def test_cells_far_away_that_hold_nothing_do_no_harm() -> None:
    read, text = _SHEETS["customers"]
    empty = '<row r="1048576"><c r="XFD1048576" s="0"/></row></sheetData>'
    assert read(_book(text, lambda part: part.replace("</sheetData>", empty)), "w.xlsx") == read(text.encode(), "s.csv")


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        pytest.param('<row r="4"', '<row r="3"', "row 3", id="a row twice"),
        pytest.param('<row r="4"', '<row r="1"', "row 1", id="a row after a later one"),
        pytest.param('<c r="B3"', '<c r="A3"', "cell A3", id="a cell twice"),
    ],
)
def test_rows_and_cells_that_come_again_are_not_passed_over(old: str, new: str, what: str) -> None:
    (problem,) = read_customers(_book(_SHEETS["customers"][1], lambda part: part.replace(old, new)), "w.xlsx")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.workbook-unfit", f"w.xlsx, sheet Sheet, {what}")


@pytest.mark.parametrize("style", ["999", "x"])
def test_a_style_that_is_none_is_a_damaged_workbook(style: str) -> None:
    changed = _book(_SHEETS["customers"][1], lambda part: part.replace('<c r="A2"', f'<c s="{style}" r="A2"', 1))
    (problem,) = read_customers(changed, "w.xlsx")
    assert isinstance(problem, Problem)
    assert problem.code == "documents.workbook-unfit"


@pytest.mark.parametrize(
    ("held", "shown"),
    [
        ("1 Lane_x000D_\nLoomfen", "1 Lane\r\nLoomfen"),
        ("1 _x004C_ane", "1 Lane"),
        ("Box_x005F_x000D_", "Box_x000D_"),
        ("Box_x00D_ x000D_", "Box_x00D_ x000D_"),
    ],
)
def test_a_sign_written_as_its_number_is_that_sign(held: str, shown: str) -> None:
    """ECMA-376-1, 22.9.2.19: ST_Xstring."""
    text = f'customer,name,address,contact\nardlea,Ardlea,"{held}",\n'
    (row,) = read_customers(_book(text, lambda part: part), "w.xlsx")
    assert not isinstance(row, Problem), row
    assert row.address == shown


@pytest.mark.parametrize("held", ["1 Lane_x0007_", "_x003D_1+1", "1 Lane_x200B_2", "1_xD83D_2"])
def test_a_sign_written_as_its_number_is_judged_as_that_sign(held: str) -> None:
    text = f"customer,name,address,contact\nardlea,Ardlea,{held},\n"
    (problem,) = read_customers(_book(text, lambda part: part), "w.xlsx")
    assert isinstance(problem, Problem)
    assert problem.code in {"documents.control-sign", "documents.cell-not-text"}
    assert problem.where == "w.xlsx, sheet Sheet, row 2, cell 3"


_MASS = re.compile(r'<c r="I3".*?</c>')
_PREPARATION = _SHEETS["preparation"][1]


@pytest.mark.parametrize(
    "cell",
    [
        pytest.param('<c r="I3"><v>1_0.12</v></c>', id="a line between digits"),
        pytest.param('<c r="I3"><v>1_0</v></c>', id="a line between digits of a whole number"),
        pytest.param('<c r="I3"><v>\u0661.0</v></c>', id="digits of another script"),
        pytest.param('<c r="I3"><v>0.5</v><v>0.6</v></c>', id="two numbers"),
        pytest.param('<c r="I3"><v>0.5<x>0.6</x></v></c>', id="a number in a number"),
        pytest.param('<c r="I3" t="inlineStr"><v>0.5</v><is><t>0.6</t></is></c>', id="a number and a text"),
        pytest.param('<c r="I3" t="inlineStr"><v>0.5</v></c>', id="a number that is said to be a text"),
        pytest.param('<c r="I3"><is><t>0.5</t></is></c>', id="a text that is said to be a number"),
        pytest.param('<c r="I3" t="inlineStr"><is><t>0.5</t><r><t>0.6</t></r></is></c>', id="a text and its runs"),
        pytest.param('<c r="I3" t="inlineStr"><is><t>0.5</t><t>0.6</t></is></c>', id="two texts"),
        pytest.param('<c r="I4"><v>0.5</v></c>', id="a place in another row"),
        pytest.param('<c r="I3" t="s"><v>-1</v></c>', id="the last text of all"),
        pytest.param('<c r="I3" s="0_0"><v>0.5</v></c>', id="a style with a line between digits"),
    ],
)
def test_a_cell_of_which_programs_read_another_content_is_refused(cell: str) -> None:
    found = read_preparation(_book(_PREPARATION, lambda part: _MASS.sub(cell, part)), "w.xlsx")
    (problem,) = found
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.workbook-unfit", "w.xlsx, sheet Sheet, cell I3")


@pytest.mark.parametrize(
    "cell", ['<c r="I3"><v>5.021E-1</v></c>', '<c r="I3"><v>\n 0.5021 </v><extLst/></c>', "<c><v>.5021</v></c>"]
)
def test_a_number_as_the_standard_writes_it_is_taken(cell: str) -> None:
    whole = read_preparation(_PREPARATION.encode(), "s.csv")
    assert read_preparation(_book(_PREPARATION, lambda part: _MASS.sub(cell, part)), "w.xlsx") == whole


def test_a_number_of_a_row_with_a_line_between_its_digits_is_refused() -> None:
    (problem,) = read_preparation(
        _book(_PREPARATION, lambda part: part.replace('<row r="4"', '<row r="1_0"')), "w.xlsx"
    )
    assert isinstance(problem, Problem)
    assert problem.code == "documents.workbook-unfit"


def _remade(change: Callable[[str], bytes], name: str = "xl/worksheets/sheet1.xml", to: str = "") -> bytes:
    """A workbook whose part ``name`` is changed, and called ``to`` wherever it is named."""
    saved = _book(_PREPARATION, lambda part: _MASS.sub('<c r="I3" t="inlineStr"><is><t>&e;</t></is></c>', part))
    data, old_name, new_name = io.BytesIO(), name.rpartition("/")[2].encode(), to.rpartition("/")[2].encode()
    with zipfile.ZipFile(io.BytesIO(saved)) as old, zipfile.ZipFile(data, "w") as new:
        for member in old.namelist():
            part = old.read(member)
            if member == name:
                new.writestr(to or name, change(re.sub(r"<\?xml.*?\?>", "", part.decode())))
            else:
                new.writestr(member, part.replace(old_name, new_name) if to else part)
    return data.getvalue()


_ENTITY = '<!DOCTYPE worksheet [<!ENTITY e "9.9">]>'


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(_remade(lambda part: (_ENTITY + part).encode()), id="at the beginning"),
        pytest.param(_remade(lambda part: (" " * 5000 + _ENTITY + part).encode()), id="after many blanks"),
        pytest.param(
            _remade(lambda part: ("<!--" + "-x" * 200_000 + "-->" + _ENTITY + part).encode()), id="after a long comment"
        ),
        pytest.param(
            _remade(lambda part: ('<?xml version="1.0" encoding="UTF-16"?>' + _ENTITY + part).encode("utf-16")),
            id="in another encoding",
        ),
        pytest.param(
            _remade(lambda part: (_ENTITY + part).encode(), to="xl/worksheets/sheet1.dat"),
            id="in a part of another name",
        ),
    ],
)
def test_a_workbook_that_declares_entities_is_refused_wherever_it_does(data: bytes) -> None:
    """A text of such a workbook would come in as a mass of 9.9."""
    (problem,) = read_preparation(data, "w.xlsx")
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.workbook-unfit", "w.xlsx")
    assert "document type" in problem.what


def test_a_sheet_in_another_encoding_is_read() -> None:
    def other(part: str) -> bytes:
        return ('<?xml version="1.0" encoding="UTF-16"?>' + part.replace("&e;", "0.5021")).encode("utf-16")

    assert read_preparation(_remade(other), "w.xlsx") == read_preparation(_PREPARATION.encode(), "s.csv")


_SHARED_STRINGS = (
    b'<Override PartName="/xl/sharedStrings.xml" '
    b'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/>'
)


@pytest.mark.parametrize(("text", "refused"), [("<t>0.5021</t>", False), ("<t>0.5021</t><r><t>9</t></r>", True)])
def test_a_text_kept_beside_the_sheet_with_two_contents_is_refused(text: str, *, refused: bool) -> None:
    sheet = _book(_PREPARATION, lambda part: _MASS.sub('<c r="I3" t="s"><v>0</v></c>', part))
    kept = f'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si>{text}</si></sst>'
    data = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(sheet)) as old, zipfile.ZipFile(data, "w") as new:
        for member in old.namelist():
            new.writestr(member, old.read(member).replace(b"</Types>", _SHARED_STRINGS + b"</Types>"))
        new.writestr("xl/sharedStrings.xml", kept)
    found = read_preparation(data.getvalue(), "w.xlsx")
    assert [isinstance(one, Problem) for one in found] == ([True] if refused else [False, False, False])
    assert refused == ("more than one content" in str(found))
    if not refused:
        assert found == read_preparation(_PREPARATION.encode(), "s.csv")
