"""The one sheet of an .xlsx workbook to rows of text. Formulas are refused; converted cells say so."""

from __future__ import annotations

import io
import warnings
import zipfile
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from openpyxl import load_workbook
from openpyxl.cell.rich_text import CellRichText
from openpyxl.utils.escape import unescape

from benchseal.documents.grid import MOST_ROWS, Cell, Row
from benchseal.documents.signs import printable, tidy
from benchseal.documents.workbook_forms import (
    drawn_by,
    drawn_otherwise,
    shown_as,
    shows_itself,
    shows_nothing,
    text_shown_otherwise,
)
from benchseal.documents.workbook_marks import Marks, mark_problems, marks_of
from benchseal.documents.workbook_parts import archive_fault
from benchseal.problems import Problem
from benchseal.records.quantities import plain

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_MEMBERS = 1000
LARGEST_UNPACKED = 64 * 2**20
MOST_COLUMNS = 100
_AS_TEXT = "Give it the form of text, look at it, delete what does not belong there."
_SAVE_AS_CSV = "Save the sheet as CSV (UTF-8), or as a plain .xlsx workbook."


def workbook_rows(data: bytes, source: str) -> tuple[Row | Problem, ...]:
    """Every problem, and rows of the only worksheet that is not empty; a cell with a problem is marked as told."""
    unsafe = _unsafe(data)
    if unsafe:
        return (Problem("documents.workbook-unfit", source, unsafe, _SAVE_AS_CSV),)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False, rich_text=True)
            return _read(book, source)
    except Exception as fault:  # noqa: BLE001  openpyxl lets almost any exception out for a damaged workbook
        what = f"The workbook cannot be read ({type(fault).__name__})."
        return (Problem("documents.workbook-unfit", source, what, _SAVE_AS_CSV),)


def _read(book: Any, source: str) -> tuple[Row | Problem, ...]:  # noqa: ANN401  openpyxl is untyped
    """The same of an opened workbook; openpyxl reads its parts, and its styles, as they are asked for."""
    marked = [(sheet, _marks(sheet)) for sheet in book.worksheets]
    if unread := tuple(_unread(marked, source)):
        return unread
    sheets = [(sheet.title, _cells(sheet, marks.last), marks) for sheet, marks in marked]
    filled = [(title, rows, marks) for title, rows, marks in sheets if rows]
    if len(filled) != 1:
        what = f"The workbook has {len(filled)} sheets that are not empty; one is read."
        return (Problem("documents.workbook-sheets", source, what, "Keep one sheet in the workbook."),)
    title, rows, marks = filled[0]
    used = {nth: {at for at, cell in enumerate(cells, 1) if _holds(cell)} for nth, cells in rows}
    place = f"{source}, sheet {title}"
    problems = (*mark_problems(marks, used, place), *_by_condition(book, marks, place))
    return problems or _rows(rows, place, marks)  # of merged or hidden cells nobody knows what is missing


def _holds(cell: Any) -> bool:  # noqa: ANN401  openpyxl is untyped
    return cell.value is not None and str(cell.value) != ""


def _by_condition(book: Any, marks: Marks, place: str) -> Iterator[Problem]:  # noqa: ANN401  openpyxl is untyped
    """Conditional formats that change what is read (ECMA-376 part 1, 18.3.1.10 cfRule, 18.8.14 dxf)."""
    styles = book._differential_styles.styles  # noqa: SLF001
    if any(_changes_text(styles[nth]) if 0 <= nth < len(styles) else True for nth in marks.rules):
        what = "A conditional format strikes, raises or hides what cells hold, or gives it another number form."
        yield Problem("documents.cell-form", place, what, "Remove the conditional formats, look again, save again.")


def _changes_text(style: Any) -> bool:  # noqa: ANN401  openpyxl is untyped
    font = style.font
    drawn = font is not None and drawn_by(strike=bool(font.strike), place=font.vertAlign or "", points=font.sz)
    return bool(drawn) or style.numFmt is not None


def _marks(sheet: Any) -> Marks:  # noqa: ANN401  openpyxl is untyped
    """Read from the part itself: of a sheet read row by row openpyxl does not tell them."""
    with sheet._get_source() as part:  # noqa: SLF001
        return marks_of(part, (MOST_ROWS, MOST_COLUMNS), sheet_hidden=sheet.sheet_state != "visible")


def _unread(marked: list[tuple[Any, Marks]], source: str) -> Iterator[Problem]:
    """Cells and rows that would be passed over: what is left would look like the whole sheet."""
    for sheet, marks in marked:
        if marks.beyond:
            where = f"{source}, sheet {sheet.title}, cell {marks.beyond}"
            what = f"Something stands there; {MOST_ROWS} rows and {MOST_COLUMNS} columns are read."
            remedy = "Delete what does not belong there, or split the sheet."
            yield Problem("documents.too-large", where, what, remedy)
        if marks.twice:
            where = f"{source}, sheet {sheet.title}, {marks.twice}"
            what = "It comes twice, or after a later one: programs may show different sheets."
            yield Problem("documents.workbook-unfit", where, what, _SAVE_AS_CSV)
        for cell, fault in () if marks.twice else marks.odd.items():  # of what comes twice the places are wrong as well
            where = f"{source}, sheet {sheet.title}, cell {cell}"
            what = f"{fault} Programs may show different sheets."
            yield Problem("documents.workbook-unfit", where, what, _SAVE_AS_CSV)


def _unsafe(data: bytes) -> str:
    """Why the archive is not opened; empty when it may be."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            if len({member.filename.casefold() for member in members}) < len(members):
                return "The archive holds a part twice: two programs may show two sheets."
            if len(members) > MOST_MEMBERS or sum(member.file_size for member in members) > LARGEST_UNPACKED:
                return f"The workbook unpacks to more than {MOST_MEMBERS} parts or {LARGEST_UNPACKED} bytes."
            return archive_fault(archive)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, ValueError, OSError, EOFError, RuntimeError, NotImplementedError):
        return "The file begins like a workbook but is damaged."
    except zipfile.zlib.error:  # type: ignore[attr-defined]  # the module zipfile itself uses
        return "The file begins like a workbook but is damaged."


def _cells(sheet: Any, last: int) -> list[tuple[int, list[Any]]]:  # noqa: ANN401  openpyxl is untyped
    """Rows that hold something. last: the last of them; openpyxl alone would stop where the sheet says that it ends."""
    rows: list[tuple[int, list[Any]]] = []
    for nth, row in enumerate(sheet.iter_rows(max_row=last, max_col=MOST_COLUMNS) if last else (), 1):
        cells = list(row)
        while cells and (cells[-1].value is None or cells[-1].value == ""):
            cells.pop()
        if cells:
            rows.append((nth, cells))
    return rows


def _rows(found: list[tuple[int, list[Any]]], sheet: str, marks: Marks) -> tuple[Row | Problem, ...]:
    problems: list[Problem] = []
    rows: list[Row] = []
    width = len(found[0][1])
    for nth, cells in found:
        place = f"{sheet}, row {nth}"
        made = []
        for index, cell in enumerate(cells, 1):
            where, before = f"{place}, cell {index}", len(problems)
            read = _cell(cell, where, problems)
            problems.extend(_unseen(cell, where, marks.drawn.get((nth, index), "")))
            made.append(replace(read, told=len(problems) > before))
        made += [Cell("", f"{place}, cell {index}") for index in range(len(made) + 1, width + 1)]
        rows.append(Row(tuple(made), place))
    return (*problems, *rows)


def _unseen(cell: Any, where: str, drawn: str) -> Iterator[Problem]:  # noqa: ANN401  openpyxl is untyped
    """Why what a cell shows is not what it holds; of a number's form the column decides later. drawn: known before."""
    if not _holds(cell):
        return
    value, form = cell.value, cell.number_format or "General"
    if drawn := drawn or drawn_otherwise(cell):
        what = f"The cell, or a part of it, is {drawn}: '{printable(str(value))[:40]}' is not what is read there."
        remedy = "Write into the cell what counts, in plain script, and delete what does not."
        yield Problem("documents.cell-script", where, what, remedy)
    if shows_nothing(form, str(value) if isinstance(value, CellRichText) else value):
        what = f"The cell is hidden by its number form '{printable(form)[:40]}'."
        yield Problem("documents.cells-hidden", where, what, _AS_TEXT)
    elif isinstance(value, str | CellRichText) and text_shown_otherwise(form):
        what = (
            f"The number form '{printable(form)[:40]}' shows more than '{printable(str(value))[:40]}', which is held."
        )
        yield Problem("documents.cell-form", where, what, _AS_TEXT)


def _cell(cell: Any, where: str, problems: list[Problem]) -> Cell:  # noqa: ANN401  openpyxl is untyped
    value = cell.value
    if value is None:
        return Cell("", where)
    if isinstance(value, str | CellRichText) and getattr(cell, "data_type", "s") in {"s", "inlineStr", "str"}:
        return Cell(tidy(_unescaped(value)), where)
    if isinstance(value, datetime):
        midnight = (value.hour, value.minute, value.second) == (0, 0, 0)
        text = value.date().isoformat() if midnight else value.replace(microsecond=0).isoformat()
        return Cell(text, where, "date" if midnight else "date with time")
    if isinstance(value, date):
        return Cell(value.isoformat(), where, "date")
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _number(value, where, cell.number_format or "General", problems)
    shown = str(value).upper() if isinstance(value, bool) else str(value)[:40]  # TRUE, as the sheet shows it
    what = f"The cell holds a formula, a truth value or an error: '{shown}'."
    problems.append(Problem("documents.cell-not-text", where, what, "Put the value itself there, as text."))
    return Cell("", where)


def _unescaped(value: Any) -> str:  # noqa: ANN401  openpyxl is untyped
    """The text a spreadsheet shows: ``_x000D_`` is a sign written as its number (ECMA-376-1, 22.9.2.19 ST_Xstring).

    openpyxl leaves that to its callers.
    """
    return "".join(unescape(str(part)) for part in value) if isinstance(value, CellRichText) else unescape(value)


def _number(value: float, where: str, form: str, problems: list[Problem]) -> Cell:
    """Shortest decimal text that gives the same number back."""
    number = Decimal(repr(value))
    if not number.is_finite():
        problems.append(Problem("documents.cell-not-text", where, "The cell is no finite number.", "Correct it."))
        return Cell("", where)
    text = plain(number)
    if shows_itself(form, text):
        return Cell(text, where, "number")
    return Cell(text, where, "number", printable(form)[:40], printable(shown_as(form, number))[:40])
