"""What a sheet of a workbook shows otherwise than it holds it: merged cells, rows, columns and cells nobody sees."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import IO, TYPE_CHECKING
from xml.etree.ElementTree import Element, iterparse

from openpyxl.utils.cell import coordinate_to_tuple, get_column_letter

from benchseal.documents.workbook_forms import drawn_by
from benchseal.documents.workbook_parts import cell_fault
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

_SHOW = "Show it and look at it; delete it where it does not belong to the sheet. Then save again."
# Points of a row and signs of a column below which nothing can be read (common practice, no source).
_LEAST_HEIGHT, _LEAST_WIDTH = 2.0, 0.5
_MOST_ODD = 20  # cells named: a program that writes one so writes all
_UNMERGE = "Undo the merging and write into every cell what belongs there."


@dataclass(slots=True)
class Marks:
    """sheet: whether it is hidden. merged: areas such as ``A2:A5``. rows, columns: numbers of hidden ones, from 1.

    last: number of the last row that holds something, counted here: what a sheet says of its own size
    (``dimension``) need not be true. beyond: the first cell that holds something where no sheet is read, such as
    ``XFD7``; twice: the first row or cell that comes again, or after a later one. odd: why programs differ in what they
    take from a cell, by its place. drawn: how runs of script within a
    cell are drawn so that they read as another text, by its place; of texts kept beside the sheet openpyxl tells it.
    no_zeros: whether zeros are not shown. rules: numbers of the styles that conditional formats set, ``-1`` of one that
    changes by itself what is read.
    """

    sheet: bool
    merged: list[str] = field(default_factory=list)
    rows: set[int] = field(default_factory=set)
    columns: set[int] = field(default_factory=set)
    last: int = 0
    beyond: str = ""
    twice: str = ""
    odd: dict[str, str] = field(default_factory=dict)
    drawn: dict[tuple[int, int], str] = field(default_factory=dict)
    no_zeros: bool = False
    rules: set[int] = field(default_factory=set)


def marks_of(part: IO[bytes], most: tuple[int, int], *, sheet_hidden: bool) -> Marks:
    """Marks of one worksheet part (ECMA-376 part 1, 18.3.1.13 col, 18.3.1.55 mergeCell, 18.3.1.73 row).

    most: rows and columns that are read.
    """
    marks, at, column, low = Marks(sheet_hidden), 0, 0, False
    for event, element in iterparse(part, ("start", "end")):  # noqa: S314  declared entities were refused before
        name = element.tag.rpartition("}")[2]
        if event == "start":
            if name == "row":
                at, column = _next_row(element, at, marks), 0
        elif name == "c":
            column = _note_cell(element, (at, column), most, marks)
        elif name == "sheetFormatPr":
            low = _true(element, "zeroHeight") or _below(element, "defaultRowHeight", _LEAST_HEIGHT)
            if _below(element, "defaultColWidth", _LEAST_WIDTH):
                marks.columns.update(range(1, most[1] + 1))
        elif name == "sheetView":
            marks.no_zeros = marks.no_zeros or element.get("showZeros") in {"0", "false"}
        elif name == "cfRule":
            marks.rules.update(_set_by(element))
        elif name in {"row", "col", "mergeCell"}:
            _note(name, element, (at, most[1]), marks, low=low)
            element.clear()
    return marks


def _note(name: str, element: Element, at: tuple[int, int], marks: Marks, *, low: bool) -> None:
    """Of a row, a column or a merged area what is hidden. at: number of the row, and columns that are read."""
    if name == "row":
        if _hidden(element) or _below(element, "ht", _LEAST_HEIGHT) or (low and not element.get("ht")):
            marks.rows.add(at[0])
    elif name == "col":
        _note_columns(element, at[1], marks.columns)
    else:
        marks.merged.append(element.get("ref", ""))


def _next_row(element: Element, before: int, marks: Marks) -> int:
    given = element.get("r") or str(before + 1)
    if not (given.isascii() and given.isdigit()):
        raise ValueError(f"{given!r} is no number of a row")  # Python alone would take 1_0 for ten
    row = int(given)
    if row <= before:
        marks.twice = marks.twice or f"row {row}"
    return row


def _note_cell(element: Element, at: tuple[int, int], most: tuple[int, int], marks: Marks) -> int:
    """Of one cell whether it holds something, and where; its column. at: its row, and the column before it."""
    row, before = at
    column = coordinate_to_tuple(element.get("r", ""))[1] if element.get("r") else before + 1
    name = f"{get_column_letter(column)}{row}"
    if column <= before:
        marks.twice = marks.twice or f"cell {name}"
    if len(marks.odd) < _MOST_ODD and (fault := cell_fault(element, row)):
        marks.odd[name] = fault
    if any(part.text or len(part) or part.tag.endswith("}f") for part in element):  # a shared formula has no text
        marks.last = max(marks.last, row)
        if drawn := next(filter(None, map(_drawn, element.iter())), ""):
            marks.drawn[row, column] = drawn
        if row > most[0] or column > most[1]:
            marks.beyond = marks.beyond or name
    return column


def _drawn(run: Element) -> str:
    """Of the properties of a run of script (``rPr``) how it is drawn; empty for every other element."""
    if not run.tag.endswith("}rPr"):
        return ""
    own = {part.tag.rpartition("}")[2]: part.get("val", "1") for part in run}
    strike = own.get("strike", "0") in {"1", "true"}
    points = float(own["sz"]) if "sz" in own else None
    return drawn_by(strike=strike, place=own.get("vertAlign", ""), points=points)


def _set_by(rule: Element) -> Iterator[int]:
    """Of a conditional format the style it sets; ``-1`` where it says itself that another text, or none, is read."""
    if rule.get("dxfId"):
        yield int(rule.get("dxfId", ""))
    for part in rule.iter():
        name = part.tag.rpartition("}")[2]
        if name in {"numFmt", "strike", "vertAlign"} or part.get("showValue") in {"0", "false"}:
            yield -1


def _note_columns(element: Element, most_columns: int, hidden: set[int]) -> None:
    """Of one ``col``: columns that are hidden, or seen again where the sheet's own width would hide them."""
    last = min(int(element.get("max", "0")), most_columns)
    own = range(int(element.get("min", "0")), last + 1)
    if _hidden(element) or _below(element, "width", _LEAST_WIDTH):
        hidden.update(own)
    elif element.get("width"):
        hidden.difference_update(own)


def mark_problems(marks: Marks, filled: dict[int, set[int]], place: str) -> Iterator[Problem]:
    """Why the sheet is not read. filled: numbers of the columns that hold something, by number of the row."""
    if marks.sheet:
        yield Problem("documents.cells-hidden", place, "The sheet that holds the rows is hidden.", _SHOW)
    if marks.no_zeros:
        what = "The sheet is set to show no zeros: a cell that holds one looks empty."
        yield Problem("documents.cells-hidden", place, what, "Let it show zeros, look at them, save again.")
    for area in marks.merged:
        where = f"{place}, cells {re.sub('[^A-Z0-9:]', '', area)[:20]}"
        what = "The cells are merged: one text seems to stand in all of them and stands in the first alone."
        yield Problem("documents.cells-merged", where, what, _UNMERGE)
    for row in sorted(marks.rows & filled.keys()):
        yield Problem("documents.cells-hidden", f"{place}, row {row}", "The row is hidden and holds something.", _SHOW)
    for column in sorted(marks.columns & set().union(*filled.values())):
        where, what = f"{place}, column {column}", "The column is hidden and holds something."
        yield Problem("documents.cells-hidden", where, what, _SHOW)


def _hidden(element: Element) -> bool:
    return _true(element, "hidden")


def _true(element: Element, name: str) -> bool:
    return element.get(name, "0") in {"1", "true"}


def _below(element: Element, name: str, least: float) -> bool:
    return element.get(name) is not None and float(element.get(name, "")) < least
