"""A quick look at a whole column: is every cell so plain that it stands in the file as it is? It only ever says yes.

Text is plain when it is made of harmless ASCII and begins with a letter, a figure or "<"; a number, when it is a plain
decimal. Whatever is not plain goes the long way, cell by cell (``cells.py``); a test holds both ways equal.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.export.cells import form_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.profile import Column

_HARMLESS: Final = b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.:/_<()%- \n"
_NOT_FIRST_OR_LAST: Final = ("\n ", "\n-", "\n.", " \n")
_SIGNS: Final = frozenset({b"", b".", b"-", b"-."})  # all that a plain decimal may hold besides figures
_NO_FIGURE_BESIDE: Final = (b"\n.", b"-.", b".\n", b"-\n")
_LONGEST_NUMBER: Final = 18


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
    joined = "\n" + "\n".join(values) + "\n"
    if not joined.isascii() or joined.count("\n") != len(values) + 1:
        return False
    if form == "number":
        return max(map(len, values)) <= _LONGEST_NUMBER and _all_decimals(joined.encode())
    return not joined.encode().translate(None, _HARMLESS) and not any(pair in joined for pair in _NOT_FIRST_OR_LAST)


def _all_decimals(lines: bytes) -> bool:
    """Whether each line is empty or a plain decimal; the lines begin and end with a line end."""
    if any(pair in lines for pair in _NO_FIGURE_BESIDE) or lines.count(b"-") != lines.count(b"\n-"):
        return False
    return _SIGNS.issuperset(lines.translate(None, b"0123456789").split(b"\n"))
