"""Rows that a quotation mark has swallowed: within one quoted cell of a delimited file stand lines that are rows.

By RFC 4180 a cell in quotes may hold line ends. A stray mark at the beginning of one cell, and one at the end of a cell
some rows below, make of all between them a text that is well-formed, and the rows are gone.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

_LINE_END = re.compile("\r\n|\n|\r")
_SAYS_ALONE = 3  # separators in the first or last line of a cell; fewer stand in people's sentences too


def swallowing(cells: Sequence[str], separator: str, due: int) -> int | None:
    """Which cell, from 0, holds lines that are rows of ``due`` cells; None where none does.

    cells: of one row, as cut, nothing taken off. A line within the cell is such a row by its separators alone; the
    first and the last count together with the cells before and behind, and both must, unless one holds several.
    """
    if due < 2:
        return None
    for nth, cell in enumerate(cells):
        first, *between = (line.count(separator) for line in _LINE_END.split(cell))
        if not between:
            continue
        last = between.pop()
        opens, closes = nth + first + 1 == due, last + len(cells) - nth == due
        alone = (opens and first >= _SAYS_ALONE) or (closes and last >= _SAYS_ALONE)
        if (opens and closes) or alone or any(count + 1 == due for count in between):
            return nth
    return None


def swallowed(source: str, lines: tuple[int, int], cell: int, due: int, remedy: str = "") -> Problem:
    """What is said of it. lines: first and last of the row; cell: its number from 1."""
    first, last = lines
    where = f"{source}, lines {first} to {last}, cell {cell}"
    what = (
        f"One quoted cell holds these lines, and they look like rows of {due} cells: a quote may have swallowed them."
    )
    at_home = (
        f'Take out the quotation mark (") that opens in line {first} and the one that closes in line {last}, or double '
        "each and quote its cell; where the text is meant, write it without the line breaks."
    )
    return Problem("documents.rows-in-cell", where, what, remedy or at_home)
