"""Signs nobody sees, and blanks that look like others: refused whichever file they came in."""

from __future__ import annotations

import io
import json
import unicodedata
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from openpyxl import Workbook
from tests.documents.test_imported import CELLS, FIXED, LINES, PROFILE, TITLES, codes, file, fixed
from tests.documents.test_imported import samples as ordered
from tests.documents.test_reading import _problems, _text
from tests.documents.test_sheets import PREPARATION, SAMPLES

from benchseal.documents.grid import read_grid
from benchseal.documents.imported import imported_rows
from benchseal.documents.sheets import read_preparation, read_samples
from benchseal.documents.signs import odd_blank, printable, unfit_in_cell, unfit_in_text
from benchseal.problems import Problem

if TYPE_CHECKING:
    from benchseal.records.registers import SampleRow

UNSEEN = [
    "\0", "\x01", "\x1b", "\x7f", "\x85", "\xad", "\u200b", "\u200d", "\u200e", "\u202e", "\u2028", "\u2029", "\u2060",
    "\u2066", "\u2800", "\u3164", "\ufeff", "\ufe0f", "\ufdd0", "\ufffe", "\uffff", "\U0001fffe", "\U0010ffff",
    "\U000e0041",
]  # fmt: skip
BLANKS = ["\xa0", "\u1680", "\u2003", "\u2009", "\u202f", "\u205f", "\u3000"]
HEAD = SAMPLES.splitlines()[0].split(";")
ROW = dict(zip(HEAD, SAMPLES.splitlines()[1].split(";"), strict=True))


def csv_of(**cells: str) -> bytes:
    return "\n".join([";".join(HEAD), ";".join((ROW | cells).values()), ""]).encode()


def book_of(**cells: str) -> bytes:
    book = Workbook()
    book.active.append(HEAD)
    book.active.append([*(ROW | cells).values()])
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def order_of(**cells: str) -> bytes:
    return json.dumps(dict(zip(TITLES, CELLS, strict=True)) | cells).encode()


def said(read: tuple[SampleRow, ...] | tuple[Problem, ...]) -> list[tuple[str, str]]:
    return [(each.code, each.where) for each in read if isinstance(each, Problem)]


@pytest.mark.parametrize("sign", UNSEEN, ids=lambda sign: f"{ord(sign):04x}")
def test_a_sign_nobody_sees_comes_in_by_no_way(sign: str) -> None:
    lot = f"X{sign}1"
    assert said(read_samples(csv_of(lot=lot), "s"))[0] == ("documents.control-sign", "s, line 2, column 2")
    assert codes(order_of(LOT=lot), LINES) == [("documents.control-sign", "o, line 1, LOT (LOT)")]
    wide = replace(PROFILE, file=replace(PROFILE.file, encoding="utf-8"), closing_lines=("T;1;{any}",))
    text = file("L-1;ZL;7;a;02.03.2026;high;1;30;\n").decode().replace("L-1", lot).encode()
    assert codes(text, wide) == [("documents.control-sign", "o, line 3, column 2")]
    if sign >= " " and sign not in "\ufffe\uffff":  # others no workbook can hold: XML 1.0, 2.2
        assert said(read_samples(book_of(lot=lot), "w"))[0] == (
            "documents.control-sign",
            "w, sheet Sheet, row 2, cell 1",
        )


@pytest.mark.parametrize("label", ["T\u200b1", "T\u202e1", "\ufeffT1", "T1\u2060"])
def test_a_tube_is_what_its_label_looks_like(label: str) -> None:
    book = Workbook()
    for line in PREPARATION.replace("MB-1", label).splitlines():
        book.active.append(line.split(","))
    data = io.BytesIO()
    book.save(data)
    assert [row.code for row in read_preparation(data.getvalue(), "w") if isinstance(row, Problem)] == [
        "documents.control-sign"
    ]


def test_every_way_refuses_a_tab_within_a_cell() -> None:
    assert said(read_samples(csv_of(description="a\tb"), "s")) == [("documents.control-sign", "s, line 2, cell 6")]
    assert said(read_samples(book_of(description="a\tb"), "w")) == [
        ("documents.control-sign", "w, sheet Sheet, row 2, cell 6")
    ]
    assert codes(order_of(WHAT="a\tb"), LINES) == [("documents.control-sign", "o, line 1, WHAT (WHAT)")]
    assert codes(fixed([*CELLS[:3], "a\tb", *CELLS[4:]]), FIXED) == [
        ("documents.control-sign", "o, line 1, cell 4 (WHAT)")
    ]
    assert not said(read_samples(csv_of(description="\ta b\t"), "s"))  # around a cell it is no part of it


@pytest.mark.parametrize("blank", BLANKS, ids=lambda blank: f"{ord(blank):04x}")
@pytest.mark.parametrize("column", ["lot", "product", "customer_sample_id", "order"])
def test_a_blank_of_another_kind_makes_no_second_lot(column: str, blank: str) -> None:
    for data in (csv_of(**{column: f"Z{blank}3"}), book_of(**{column: f"Z{blank}3"})):
        (problem,) = read_samples(data, "s")
        assert isinstance(problem, Problem)
        assert (problem.code, problem.where.endswith(f"({column})")) == ("documents.blank-odd", True)
        assert f"U+{ord(blank):04X}" in problem.what
    (plain,) = read_samples(csv_of(**{column: f"{blank}Z 3{blank}"}), "s")  # around it, nobody meant it
    assert getattr(plain, column) == "Z 3"


def test_free_text_keeps_its_blanks_and_line_ends() -> None:
    (row,) = read_samples(csv_of(description='"a\nb"', quantity_received="30\xa0g"), "s")
    assert not isinstance(row, Problem)
    assert (row.description, row.quantity_received) == ("a\nb", "30\xa0g")
    assert said(read_samples(csv_of(lot='"a\nb"'), "s")) == [("documents.blank-odd", "s, line 2, cell 1 (lot)")]
    assert ordered(order_of(WHAT="a\nb"), LINES)[0].description == "a\nb"
    assert codes(order_of(SAMPLE="a\nb"), LINES) == [("documents.blank-odd", "o, line 1, SAMPLE (customer_sample_id)")]


@pytest.mark.parametrize("cells", [{"SAMPLE": "\ud800"}, {"SAMPLE": "a\udfffb"}, {"ARTICLE": "\ud800"}])
def test_half_a_surrogate_pair_is_refused_at_its_key(cells: dict[str, str]) -> None:
    (key,) = cells
    assert codes(order_of(**cells), LINES) == [("documents.control-sign", f"o, line 1, {key} ({key})")]


def test_what_is_said_of_odd_keys_can_be_printed() -> None:
    value: dict[str, Any] = {"\ud800": "x", "a\0": "y"}
    (problem,) = imported_rows(json.dumps(value).encode(), "o", LINES)
    assert isinstance(problem, Problem)
    assert "<U+D800>" in problem.what
    assert problem.what.encode().isascii()


@pytest.mark.parametrize("sign", ["\\u200b", "\\u202e", "\\0", "\\ud800", "\\ufffe"])
def test_a_document_brings_in_no_such_sign_by_an_escape(sign: str) -> None:
    text = _text("method").replace("title:", f'title: "a{sign}b" #', 1)
    (problem,) = _problems(text.encode())
    assert problem.code == "documents.control-sign"
    line = 1 + text[: text.index("title:")].count("\n")
    assert problem.where == f"it.yaml, line {line}, column 8"


def test_letters_and_signs_of_the_trade_are_fit() -> None:
    for text in ("µg/L ± 2 °C", "äöü ß ñ", "Ελλάδα", "日本", "½ ≤ 3", "🙂", "a_b/c-1 +"):
        assert unfit_in_cell(text) is None
        assert odd_blank(text) is None
    assert unfit_in_text("a\tb\nc") is None
    assert printable("a\u200bb") == "a<U+200B>b"


def test_the_table_holds_what_unicode_calls_control_format_and_odd_blank() -> None:
    """Categories Cc, Cf, Cs, Zl and Zp of this Python's Unicode data, but for signs that show themselves."""
    shown = {*range(0x0600, 0x0606), 0x06DD, 0x070F, 0x0890, 0x0891, 0x08E2, 0x110BD, 0x110CD, *range(0x13430, 0x13440)}
    for code in range(0x110000):
        kind = unicodedata.category(chr(code))
        if kind in {"Cc", "Cf", "Cs", "Zl", "Zp"} and code not in shown and chr(code) not in "\n\r":
            assert unfit_in_cell(f"a{chr(code)}"), f"{code:04x}"
        if kind == "Zs" and code != 0x20:
            assert odd_blank(f"a{chr(code)}b"), f"{code:04x}"


def test_a_grid_of_any_kind_checks_its_first_line_too() -> None:
    found = read_grid(b"lot,product,a\tb\na,b,c\n", "s", frozenset({"lot", "product"}))
    (problem,) = [one for one in found if isinstance(one, Problem)]
    assert isinstance(problem, Problem)
    assert (problem.code, problem.where) == ("documents.control-sign", "s, line 1, cell 3")
