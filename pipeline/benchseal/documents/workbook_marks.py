"""What a sheet of a workbook shows otherwise than it holds it: merged cells, rows, columns and cells nobody sees."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import IO, TYPE_CHECKING
from xml.etree.ElementTree import Element, iterparse

from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

_SHOW = "Show it and look at it; delete it where it does not belong to the sheet. Then save again."
# Points of a row and signs of a column below which nothing can be read (common practice, no source).
_LEAST_HEIGHT, _LEAST_WIDTH = 2.0, 0.5
_SECTIONS = re.compile(r'(?:"[^"]*"|\\.|\[[^\]]*\]|[^;"\\\[])*')
_SAYS_NOTHING = re.compile(r'(?:""|\[[^\]]*\]|_.|\*.|\s)*')
_UNMERGE = "Undo the merging and write into every cell what belongs there."


@dataclass(slots=True)
class Marks:
    """sheet: whether it is hidden. merged: areas such as ``A2:A5``. rows, columns: numbers of hidden ones, from 1."""

    sheet: bool
    merged: list[str] = field(default_factory=list)
    rows: set[int] = field(default_factory=set)
    columns: set[int] = field(default_factory=set)


def marks_of(part: IO[bytes], most_columns: int, *, sheet_hidden: bool) -> Marks:
    """Marks of one worksheet part (ECMA-376 part 1, 18.3.1.13 col, 18.3.1.55 mergeCell, 18.3.1.73 row)."""
    marks, at, low = Marks(sheet_hidden), 0, False
    for _, element in iterparse(part):  # noqa: S314  declared entities were refused before
        name = element.tag.rpartition("}")[2]
        if name == "row":
            at = int(element.get("r") or at + 1)
            if _hidden(element) or _below(element, "ht", _LEAST_HEIGHT) or (low and not element.get("ht")):
                marks.rows.add(at)
        elif name == "sheetFormatPr":
            low = _true(element, "zeroHeight") or _below(element, "defaultRowHeight", _LEAST_HEIGHT)
            if _below(element, "defaultColWidth", _LEAST_WIDTH):
                marks.columns.update(range(1, most_columns + 1))
        elif name == "col":
            _note_columns(element, most_columns, marks.columns)
        elif name == "mergeCell":
            marks.merged.append(element.get("ref", ""))
        if name in {"row", "col", "mergeCell"}:
            element.clear()
    return marks


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
    for area in marks.merged:
        where = f"{place}, cells {re.sub('[^A-Z0-9:]', '', area)[:20]}"
        what = "The cells are merged: one text seems to stand in all of them and stands in the first alone."
        yield Problem("documents.cells-merged", where, what, _UNMERGE)
    for row in sorted(marks.rows & filled.keys()):
        yield Problem("documents.cells-hidden", f"{place}, row {row}", "The row is hidden and holds something.", _SHOW)
    for column in sorted(marks.columns & set().union(*filled.values())):
        where, what = f"{place}, column {column}", "The column is hidden and holds something."
        yield Problem("documents.cells-hidden", where, what, _SHOW)


def shows_nothing(form: str, value: object) -> bool:
    """Whether a number form shows a text or a number as nothing, or as another text (ECMA-376 part 1, 18.8.31).

    Its sections are for what is above zero, below, zero, and text; one that is left out is the first one's.
    """
    sections = _sections(form)
    if isinstance(value, str):
        return len(sections) > 3 and "@" not in re.sub(r'"[^"]*"|\\.', "", sections[3])
    if isinstance(value, int | float) and not isinstance(value, bool):
        nth = 0 if value > 0 else 1 if value < 0 else 2
        return _SAYS_NOTHING.fullmatch(sections[nth if nth < len(sections) else 0]) is not None
    return False


def _sections(form: str) -> list[str]:
    """A form cut at the semicolons that stand in no quotes and no brackets."""
    found, at = [], 0
    while at <= len(form):
        section = _SECTIONS.match(form, at)
        end = section.end() if section else at
        found.append(form[at:end])
        at = end + 1
    return found


def _hidden(element: Element) -> bool:
    return _true(element, "hidden")


def _true(element: Element, name: str) -> bool:
    return element.get(name, "0") in {"1", "true"}


def _below(element: Element, name: str, least: float) -> bool:
    return element.get(name) is not None and float(element.get(name, "")) < least
