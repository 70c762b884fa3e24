"""What a sheet of a workbook shows otherwise than it holds it: merged cells, hidden rows and columns."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import IO, TYPE_CHECKING
from xml.etree.ElementTree import Element, iterparse

from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

_SHOW = "Show it and look at it; delete it where it does not belong to the sheet. Then save again."
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
    marks, at = Marks(sheet_hidden), 0
    for _, element in iterparse(part):  # noqa: S314  declared entities were refused before
        name = element.tag.rpartition("}")[2]
        if name == "row":
            at = int(element.get("r") or at + 1)
            if _hidden(element):
                marks.rows.add(at)
        elif name == "col" and _hidden(element):
            last = min(int(element.get("max", "0")), most_columns)
            marks.columns.update(range(int(element.get("min", "0")), last + 1))
        elif name == "mergeCell":
            marks.merged.append(element.get("ref", ""))
        if name in {"row", "col", "mergeCell"}:
            element.clear()
    return marks


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


def _hidden(element: Element) -> bool:
    return element.get("hidden", "0") in {"1", "true"}
