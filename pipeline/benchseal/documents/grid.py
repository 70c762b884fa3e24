"""Sheets to rows of text: CSV or .xlsx, nothing converted, each cell with its place."""

from __future__ import annotations

import csv
import difflib
import io
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal.documents.damaged import is_error
from benchseal.documents.signs import tidy, unfit_in_cell, unfit_in_text
from benchseal.documents.swallowed import swallowed, swallowing
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

LARGEST_SHEET = 16 * 2**20
MOST_ROWS = 100_000
LONGEST_CELL = 2000
_SAVE_AGAIN = "Save the sheet again as CSV (UTF-8) or .xlsx."


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. was: ``text``, or ``number``, ``date``, ``date with time`` where a spreadsheet had converted it.

    form: the number form of a spreadsheet that does not show the number itself; shown: what it shows, if that is known.
    told: whether a problem of it was told already, so that nothing else is said of it.
    """

    text: str
    where: str
    was: str = "text"
    form: str = ""
    shown: str = ""
    told: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One row that is not blank; where names its line."""

    cells: tuple[Cell, ...]
    where: str


def read_grid(data: bytes, source: str, known: frozenset[str]) -> tuple[Row | Problem, ...]:
    """Every problem, and the rows of a sheet, header first; no rows where it cannot be cut into them.

    A cell with a problem is marked as told. known: names of columns, by which a CSV's separator is told.
    """
    if not data.strip():
        return (Problem("documents.sheet-empty", source, "The sheet holds nothing.", _SAVE_AGAIN),)
    if len(data) > LARGEST_SHEET:
        what = f"The sheet has {len(data)} bytes; at most {LARGEST_SHEET} are read."
        return (Problem("documents.too-large", source, what, "Split it."),)
    if data[:4] == b"PK\x03\x04":
        from benchseal.documents.workbook import workbook_rows  # noqa: PLC0415  openpyxl is heavy

        return _judged(workbook_rows(data, source))
    return _csv_rows(data, source, known)


def _judged(found: tuple[Row | Problem, ...]) -> tuple[Row | Problem, ...]:
    """The same with the problems every cell may have."""
    told: list[Problem] = [item for item in found if isinstance(item, Problem)]
    rows: list[Row] = []
    for row in found:
        if isinstance(row, Row):
            faults = list(cell_faults((row,)))
            places = {fault.where for fault in faults}
            cells = (replace(cell, told=True) if cell.where in places else cell for cell in row.cells)
            rows.append(replace(row, cells=tuple(cells)) if faults else row)
            told += faults
    return (*told, *rows)


def _csv_rows(data: bytes, source: str, known: frozenset[str]) -> tuple[Row | Problem, ...]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        column = fault.start - data.rfind(b"\n", 0, fault.start)
        what = f"Byte {data[fault.start]:02x} (hexadecimal) is not UTF-8 text."
        where = f"{source}, line {line}, byte {column} of the line"
        return (Problem("documents.byte-undecodable", where, what, _SAVE_AGAIN),)
    unfit = tuple(unfit_signs(text, source))
    if unfit:
        return unfit
    separator = _separator(text, known)
    if separator is None:
        what = "The first line names no columns separated by comma or by semicolon."
        remedy = f"The first line must hold column names, for instance {', '.join(sorted(known)[:4])}."
        if text[:4].lower() == "sep=":
            remedy = (
                "Delete this line, which speaks to spreadsheets alone: the separator is told from the column names."
            )
        return (Problem("documents.separator-unknown", f"{source}, line 1", what, remedy),)
    return (*cut_off(text, source), *_judged(_split(text, separator, source)))


def cut_off(text: str, source: str) -> Iterator[Problem]:
    """A text that stops within a line: 1.0 may be what is left of 1.0120, and nothing in the file would tell."""
    if not text.endswith(("\n", "\r")):
        where = f"{source}, line {len(text.splitlines())}"
        what = "The last line has no line end, so the file may be cut off within it."
        remedy = "Compare that line with what you saved. Where it is whole, end it with a line break and save again."
        yield Problem("documents.line-end-missing", where, what, remedy)


def columns_unknown(header: Row, names: Sequence[str]) -> Iterator[Problem]:
    """Columns of a sheet that has no others than ``names``; a column nobody reads may take back what another says."""
    for cell in header.cells:
        if cell.text not in names and not cell.told:
            near = difflib.get_close_matches(cell.text, names, n=1)
            remedy = f"Did you mean '{near[0]}'?" if near else f"Known columns: {', '.join(names)}."
            yield Problem("documents.column-unknown", cell.where, f"Column '{cell.text[:40]}' is not known.", remedy)


def unfit_signs(text: str, source: str, remedy: str = _SAVE_AGAIN) -> Iterator[Problem]:
    """Control and invisible signs, the first of each line."""
    for number, line in enumerate(re.split("\r\n|\n|\r", text) if unfit_in_text(text) else (), 1):
        if found := unfit_in_text(line):
            where = f"{source}, line {number}, column {found[0] + 1}"
            what = f"Control or invisible sign {found[1]} stands in the text."
            yield Problem("documents.control-sign", where, what, remedy)


def sign_fault(text: str, where: str, remedy: str = "Type the cell again.") -> Problem | None:
    """A control or invisible sign within one cell, whichever file it came from."""
    found = unfit_in_cell(text)
    if found is None:
        return None
    what = f"Sign {found[0] + 1} of the cell is {found[1]}, a control or invisible sign."
    return Problem("documents.control-sign", where, what, remedy)


def cell_faults(rows: tuple[Row, ...]) -> Iterator[Problem]:
    """Of every sheet: cells that hold a sign nobody sees, a formula, or what a spreadsheet shows of a failed one.

    What a person saw there may not be what stands there.
    """
    for row in rows:
        for cell in row.cells:
            if cell.told:
                continue
            if fault := sign_fault(cell.text, cell.where):
                yield fault
            elif cell.text[:1] in {"=", "@"}:
                what = f"The cell begins like a formula: '{cell.text[:40]}'."
                yield Problem("documents.cell-not-text", cell.where, what, "Put the value itself there.")
            elif is_error(cell.text):
                what = f"The cell holds '{cell.text}', what a spreadsheet shows where a formula failed."
                yield Problem("documents.cell-not-text", cell.where, what, "Put the value itself there, as text.")


def _separator(text: str, known: frozenset[str]) -> str | None:
    """The separator that splits the first line into at least two known names, where the other does not."""
    first = re.split("\r\n|\n|\r", text.lstrip("\r\n"), maxsplit=1)[0]
    fits = [mark for mark in ",;" if sum(name.strip().strip('"') in known for name in first.split(mark)) >= 2]
    return fits[0] if len(fits) == 1 else None


def _split(text: str, separator: str, source: str) -> tuple[Row | Problem, ...]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    told: list[Problem] = []
    rows: list[Row] = []
    line = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                row = _row(cells, f"{source}, line {line}")
                due = len(rows[0].cells) if rows else len(cells)
                nth = swallowing(cells, separator, due) if reader.line_num > line else None
                if nth is not None:
                    told.append(swallowed(source, (line, reader.line_num), nth + 1, due))
                    row = replace(row, cells=tuple(replace(cell, told=True) for cell in row.cells))
                rows.append(row)
            line = reader.line_num + 1
    except csv.Error as fault:
        what = f"The row cannot be cut into cells: {fault}."
        remedy = 'Put a cell that holds the separator between quotes (") and double each quote inside.'
        if "field limit" in str(fault):
            what = f"A cell of the row has more than {csv.field_size_limit()} signs, or a quote does not close."
            remedy = "Put in what belongs there; no cell of a sheet is as long."
        return (Problem("documents.row-unfit", f"{source}, line {line}", what, remedy),)
    if len(rows) > MOST_ROWS:
        what = f"The sheet has {len(rows)} rows; at most {MOST_ROWS} are read."
        return (Problem("documents.too-large", source, what, "Split it."),)
    return (*told, *rows)


def _row(cells: list[str], where: str) -> Row:
    made = (Cell(tidy(cell), f"{where}, cell {nth}") for nth, cell in enumerate(cells, 1))
    return Row(tuple(made), where)
