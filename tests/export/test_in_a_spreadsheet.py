"""Sixty risky texts and twenty writings of one file; and what a real spreadsheet program makes of them.

Risky texts: OWASP ASVS 5.0.0, 1.2.10, with additions of ours. The spreadsheet is LibreOffice Calc, asked to open the
delivered bytes and to write what it holds; openpyxl then reads each cell's type and text.
"""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
from itertools import product
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest

from benchseal.export.edge_cases import edge_cases
from benchseal.export.render import render
from benchseal.records.encodings import CODECS
from benchseal.records.profile import Column, FileForm, Profile
from benchseal.records.released import Delivery, ReleasedRow
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from pathlib import Path

DELIVERY = Delivery("D-00007", 7, "2026-03-04T14:02:11.000Z", DocumentRef("partner", 3, "ab" * 32))
COLUMNS = (
    Column("ID", "result_id"),
    Column("NOTE", "note"),
    Column("SAMPLE", "client_sample_id"),
    Column("SIGN", "qualifier"),
    Column("CERTIFIED", "value_text"),
    Column("VALUE", "value_number"),
    Column("UNIT", "unit_ucum"),
    Column("BASIS", "basis"),
    Column("ANALYTE", "analyte_name"),
    Column("CHANGE", "change_kind"),
)
TEXT, NUMBER = "2", "1"  # how a column is to be taken, as the spreadsheet's own text import has them
FORMS = "/".join(f"{place}/{NUMBER if column.title == 'VALUE' else TEXT}" for place, column in enumerate(COLUMNS, 1))
ENGLISH, GERMAN = "1033", "1031"

BEGINNINGS = {
    "=": ("=1+1", '="a"', "=A1", "=SUM(A1:A9)", '=HYPERLINK("x")', "=cmd|' /C x'!A0", "==1", "=", "=(1)", "=-1"),
    "+": ("+49 40 123", "+A1", "+1+1", "+", "+cmd", "++1", "+SUM(A1)", "+.", "+1,5", "+1 g"),
    "-": ("-lot 7", "-", "-2+3", "-A1", "--1", "-SUM(A1)", "-1,5", "-17/b", "-1 g", "-@x"),
    "@": ("@SUM(A1)", "@", "@x", "@A1", "@@", "@1"),
    "tab or line": ("\tx", "\t=1", "\r=x", "\nx", "\n=1", "\r\n=1"),
    "full width or small": ("\uff1d1", "\uff0b1", "\uff0d1", "\uff20x", "\ufe661", "\ufe62x", "\ufe63x", "\ufe6bx"),
    "behind blanks": (
        " =1", "  +x", "\u00a0@x", "\u2003=1", "\u3000-x", "\u200b=1", "\u2060=1", "\u202f=1", " \uff1d1", "\u00a0 =A1",
    ),
}  # fmt: skip
RISKY = [text for texts in BEGINNINGS.values() for text in texts]
PLAIN = (
    "-0.02",
    "-17",
    "a=b",
    "lot 7-3",
    "x@y",
    "1+1",
    "<0.050",
    "007",
    "1E5",
    "05-Mar",
    "TRUE",
    "0.0670",
    "a;b,c",
    'q"q',
)
# Each with a text that the encoding has beyond ASCII, and one beyond what it has.
LETTERS = {
    "utf-8": ("µ é Ω свинец 鉛", "\ud800"), "utf-16": ("µ é Ω свинец 鉛", "\ud800"), "us-ascii": ("ug/g ~", "µ"),
    "iso-8859-1": ("µ ² é", "€"), "iso-8859-2": ("łąžő", "µ"), "iso-8859-15": ("€ µ", "Ω"),
    "windows-1250": ("łąžő€µ", "Ω"), "windows-1251": ("свинец µ", "é"), "windows-1252": ("µ € ²", "\u03bc"),
    "cp437": ("µ²é", "Ł"), "cp850": ("µ²ãÐ", "€"),
}  # fmt: skip
WRITINGS = list(product(LETTERS, ((",", "."), (";", ","))))


def test_there_are_as_many_as_is_said() -> None:
    assert len({*RISKY}) == len(RISKY) == 60
    assert {*LETTERS} == {*CODECS}
    assert len(WRITINGS) == 22


def row(number: int = 1, **fields: str) -> ReleasedRow:
    held: dict[str, Any] = {
        "result_id": f"{number:032x}", "revision": "1", "change_kind": "new", "reported_kind": "measured",
        "lab_sample_id": "S-00001", "element_symbol": "Pb", "value_text": "0.067", "value_number": "0.067",
        "unit_ucum": "ug/g",
    }  # fmt: skip
    return ReleasedRow(**{**held, **fields})


def profile(risky_text: Any, file: FileForm) -> Profile:  # noqa: ANN401  one of three words
    return Profile("profile", "partner", "Partner", file, risky_text, COLUMNS)


def form(encoding: Any = "utf-8", separator: Any = ",", mark: Any = ".") -> FileForm:  # noqa: ANN401  words of a profile
    return FileForm(encoding, separator, "needed", "crlf", mark, header_line=True)


def rendered(rows: list[ReleasedRow], wanted: Profile) -> bytes:
    made = render(rows, wanted, DELIVERY)
    assert isinstance(made, bytes), made
    return made


def read(data: bytes, file: FileForm) -> list[list[str]]:
    codec = "utf-16" if file.encoding == "utf-16" else CODECS[file.encoding]
    return list(csv.reader(io.StringIO(data.decode(codec), newline=""), delimiter=file.separator or ","))[1:]


@pytest.mark.parametrize("text", RISKY, ids=ascii)
def test_a_risky_text_is_refused_prefixed_or_kept_as_the_profile_says(text: str) -> None:
    refused = render([row(note=text)], profile("refuse", form()), DELIVERY)
    assert not isinstance(refused, bytes)
    assert [problem.code for problem in refused] == ["export.risky-text"]
    for word, expected in (("prefix", "'" + text), ("keep", text)):
        assert read(rendered([row(note=text)], profile(word, form())), form())[0][1] == expected


@pytest.mark.parametrize(("encoding", "marks"), WRITINGS)
def test_every_encoding_with_both_decimal_marks(encoding: str, marks: tuple[str, str]) -> None:
    """Negative, below a limit and with letters of the encoding: they come back; what it does not have is refused."""
    file = form(encoding, *marks)
    has, has_not = LETTERS[encoding]
    rows = [
        row(1, note=has, value_text="-0.0210", value_number="-0.0210"),
        row(2, reported_kind="below_limit", qualifier="<", value_text="<0.050", value_number="0.050"),
    ]
    first, second = read(rendered(rows, profile("refuse", file)), file)
    assert first[1:6] == [has, "", "", "-0.0210", "-0.0210".replace(".", marks[1])]
    assert second[1:6] == ["", "", "<", "<0.050", "0.050".replace(".", marks[1])]
    refused = render([row(note=has_not)], profile("refuse", file), DELIVERY)
    assert not isinstance(refused, bytes)
    assert [problem.code for problem in refused] == ["export.not-in-encoding"]


# ------------------------------------------------------------------ in LibreOffice

SPREADSHEET = shutil.which("soffice")
in_a_spreadsheet = pytest.mark.skipif(SPREADSHEET is None, reason="LibreOffice Calc is not on this machine")


def opened(data: bytes, folder: Path, options: str) -> list[list[Any]]:
    """Every cell below the header as the spreadsheet holds it: openpyxl's cells. options: of its text import."""
    (folder / "delivered.csv").write_bytes(data)
    command = [
        str(SPREADSHEET), f"-env:UserInstallation={(folder / 'settings').as_uri()}", "--headless",
        f"--infilter=CSV:{options}", "--convert-to", "xlsx", "--outdir", str(folder), str(folder / "delivered.csv"),
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)  # noqa: S603
    assert (folder / "delivered.xlsx").is_file(), done.stderr
    sheet = openpyxl.load_workbook(folder / "delivered.xlsx").active
    assert sheet is not None
    return [list(cells) for cells in sheet.iter_rows(min_row=2, max_col=len(COLUMNS))]


def told_rows(risky: bool) -> list[ReleasedRow]:
    """Every text as a note and as a sample number; edge cases, negative and below their limits, behind them."""
    texts = [*PLAIN, *(RISKY if risky else ())]
    made = [row(number, note=text, client_sample_id=text) for number, text in enumerate(texts, 1)]
    cases = [one for one in edge_cases().values() if not one.client_sample_id.startswith(("=", "-"))]
    return [*made, row(900, value_text="-0.0210", value_number="-0.0210"), *cases]


def as_read(text: str) -> str:
    """Line ends inside a cell are line feeds to every spreadsheet."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


@pytest.mark.long
@in_a_spreadsheet
@pytest.mark.parametrize(("separator", "mark", "language"), [(",", ".", ENGLISH), (";", ",", GERMAN)])
def test_opened_with_its_columns_named_every_cell_is_what_was_released(
    tmp_path: Path, separator: str, mark: str, language: str
) -> None:
    file = form("utf-8", separator, mark)
    rows = told_rows(risky=True)
    found = opened(rendered(rows, profile("prefix", file)), tmp_path, f"{ord(separator)},34,76,1,{FORMS},{language}")
    assert len(found) == len(rows)
    for held, cells in zip(rows, found, strict=True):
        assert not [cell for cell in cells if cell.data_type == "f"], held
        for column, cell in zip(COLUMNS, cells, strict=True):
            text = str(getattr(held, column.field))
            if column.title == "VALUE":
                assert cell.value == (float(text) if text else None), (held, cell.value)
                assert cell.data_type == "n"
                continue
            expected = f"'{text}" if text in RISKY else text
            assert as_read(cell.value or "") == as_read(expected), (column.title, text, cell.value)
            assert cell.data_type == "s" or not text


@pytest.mark.long
@in_a_spreadsheet
def test_what_is_not_prefixed_is_run(tmp_path: Path) -> None:
    """So the tests beside this one can see a formula where there is one."""
    data = rendered([row(note="=1+1")], profile("keep", form()))
    assert [cell.data_type for cell in opened(data, tmp_path, "44,34,76,1")[0]].count("f") == 1


@pytest.mark.long
@in_a_spreadsheet
def test_opened_by_a_double_click_nothing_is_run_and_only_figures_lose_their_form(tmp_path: Path) -> None:
    """Without named columns the program guesses: the manual says which texts it takes for numbers or dates."""
    rows = told_rows(risky=True)
    found = opened(rendered(rows, profile("prefix", form())), tmp_path, f"44,34,76,1,,{ENGLISH}")
    assert not [cell for cells in found for cell in cells if cell.data_type == "f"]
    other = {
        str(getattr(held, column.field))
        for held, cells in zip(rows, found, strict=True)
        for column, cell in zip(COLUMNS, cells, strict=True)
        if column.title != "VALUE" and getattr(held, column.field) and cell.data_type != "s"
    }
    certified = {held.value_text for held in rows if held.value_text and held.reported_kind == "measured"}
    assert {"007", "1E5", "-0.02", "-17", "0.0670"} <= other
    assert other - certified - {held.result_id for held in rows} <= {*PLAIN}
