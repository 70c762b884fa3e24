"""Whether a cell may be taken as it was typed: what a spreadsheet has changed, or shows otherwise, is not guessed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.documents.damaged import cell_damaged
from benchseal.documents.signs import odd_blank
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.documents.grid import Cell

Due: TypeAlias = Literal["text", "words", "list", "number", "date", "date with time"]
_ASK_AS_TEXT = "Format the whole column as text before typing, and type the value again."
_BLANKS_IN_A_ROW = re.compile(" {2,}")


def typed_faults(cell: Cell, where: str, due: Due) -> Iterator[Problem]:
    """Why a cell is not taken, at most once. due: ``words`` is people's own text, ``list`` one that is cut at blanks.

    Two identifiers that look alike must be one, so in these every blank is the plain one and stands alone.
    """
    odd = odd_blank(cell.text) if due != "words" else None
    if odd:
        what = f"Sign {odd[0] + 1} of the cell is {odd[1]}, another blank than the plain one (U+0020), or a line end."
        yield Problem("documents.blank-odd", where, what, "Type a plain blank there, or none.")
    elif cell.was != "text":
        yield from _converted(cell, where, due)
    elif due == "text" and (twice := _BLANKS_IN_A_ROW.search(cell.text)):
        what = f"{len(twice[0])} blanks stand in a row, from sign {twice.start() + 1} of the cell: they look like one."
        yield Problem("documents.blank-odd", where, what, "Type one blank there, or none.")
    elif due == "text" and cell.text.startswith("'"):
        what = f"The cell begins with an apostrophe: {cell.text[:40]}. Spreadsheets show none where one was typed."
        yield Problem("documents.cell-damaged", where, what, _ASK_AS_TEXT)
    elif due in {"text", "words", "list"} and cell_damaged(cell.text, free_text=due == "words"):
        what = f"'{cell.text}' looks like a text a spreadsheet has changed."
        yield Problem("documents.cell-damaged", where, what, _ASK_AS_TEXT)


def _converted(cell: Cell, where: str, due: Due) -> Iterator[Problem]:
    """Of a cell that holds a number or a day."""
    if due != cell.was and not (due == "date with time" and cell.was == "date"):
        what = f"The spreadsheet holds a {cell.was} here ({cell.text}); what was typed is lost."
        yield Problem("documents.cell-converted", where, what, _ASK_AS_TEXT)
    elif cell.form:
        shows = f"shows {cell.shown}" if cell.shown else "shows another text"
        what = f"The cell holds {cell.text} and {shows}: its number form is '{cell.form}'."
        remedy = "Format the whole column as text, and type the number itself, in the unit of the column."
        yield Problem("documents.cell-form", where, what, remedy)
