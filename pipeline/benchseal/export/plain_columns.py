"""A quick look at a whole column: is every cell so plain that it stands in the file as it is? It only ever says yes.

Text is plain when it is made of harmless ASCII and begins with a letter, a figure or "<"; a number, when it is a plain
decimal. Whatever is not plain goes the long way, cell by cell (``cells.py``); a test holds both ways equal.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import re2

from benchseal.export.cells import form_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.profile import Column

# What a plain cell looks like: harmless ASCII without a blank at its end; a decimal as records hold them.
TEXT: Final = "[A-Za-z0-9<](?:[A-Za-z0-9.:/_<()% -]*[A-Za-z0-9.:/_<()%-])?"
NUMBER: Final = r"-?[0-9]{1,30}(?:\.[0-9]{1,30})?"
_LINES: Final = {
    form: re2.compile(f"(?:(?:{cell})?\n)+".encode()) for form, cell in (("text", TEXT), ("number", NUMBER))
}
_LONGEST_NUMBER: Final = 18  # figures that every kind of file holds exactly


def all_plain(values: Sequence[str], column: Column) -> bool:
    """Whether every cell of ``column`` is written as its field has it, in any encoding and behind any separator.

    False where that would have to be looked at cell by cell.
    """
    form = form_of(column)
    if form in {"date", "flag"} or column.map or column.date_form or not values:
        return False
    if column.when_missing != "empty" and "" in values:
        return False
    if column.max_length and max(map(len, values)) > column.max_length:
        return False
    if form == "number" and max(map(len, values)) > _LONGEST_NUMBER:
        return False
    joined = "\n".join(values) + "\n"
    if not joined.isascii() or joined.count("\n") != len(values):
        return False
    return _LINES[form].fullmatch(joined.encode()) is not None
