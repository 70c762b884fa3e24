"""What is likely behind a text that was refused: numbers that read two ways, headers that differ."""

from __future__ import annotations

import re
from difflib import get_close_matches
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.layout import Column

DECLARE_MARKS: Final = "Declare its marks in a new version of the layout."
_LED_BY_ZERO = re.compile(r"[+\-\N{MINUS SIGN}]?0+[1-9][0-9]*(?:[eE][+-]?[0-9]{1,3})?\Z")
_GROUPED = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:([.,])[0-9]{3})(?:\1[0-9]{3})*\Z")

WORDS_FOR_NOTHING = (
    "Export with a separator, or let the instrument write names without blanks and a word where there is no value."
)
MORE_ROOM = "Export with a blank between the columns, or with a separator; no layout can tell them apart."


def two_readings(text: str, decimal_mark: str) -> str:
    """Both numbers a text may mean where its mark is not the layout's decimal mark; empty where it means one.

    ``1.234`` with a decimal comma: one and a bit, or one thousand two hundred thirty-four.
    """
    found = _GROUPED.match(text)
    if found is None or found[1] == decimal_mark:
        return ""
    mark = found[1]
    whole = text.replace(mark, "")
    if text.count(mark) > 1:
        return f"It may mean {whole}, with '{mark}' between thousands; the layout declares no such mark."
    point = text.replace(mark, ".")
    known = f"the layout's decimal mark is '{decimal_mark}', and '{mark}' has no meaning in it."
    return f"It may mean {point} or {whole}: {known}"


def lost_mark(text: str, decimal_mark: str) -> str:
    """What a whole number that begins with 0 may be: ``01622`` is 0.1622 without its mark, or 1622; else empty.

    Of zeros alone the value is the same either way.
    """
    if not _LED_BY_ZERO.match(text):
        return ""
    return f"It begins with 0 and has no decimal mark '{decimal_mark}': it may have been lost."


def header_words(found: Sequence[str] | None, columns: Sequence[Column]) -> str:
    """In what a header differs: names gone, names new with the nearest known one; or that only the order differs."""
    if found is None:
        return "The table's header cannot be cut into columns."
    known = [column.header for column in columns]
    gone = [column.header for column in columns if column.needed and column.header not in found]
    new = [name for name in found if name not in known]
    parts = [f"'{name}' is missing" for name in gone]
    for name in new:
        near = get_close_matches(name, gone or known, n=1, cutoff=0.5)
        parts.append(f"'{name[:30]}' is not in the layout" + (f" (near: '{near[0]}')" if near else ""))
    twice = sorted({name for name in found if found.count(name) > known.count(name) > 0})
    parts += [f"'{name}' comes too often" for name in twice]
    differs = "; ".join(parts[:6]) or "the columns stand in another order"
    return f"The table's header differs: {differs}. Due: {', '.join(known)}."


def touch(one: tuple[str, str], two: tuple[str, str]) -> str:
    """What is wrong with two cells at fixed places that no blank parts. one, two: header and text of each."""
    cells = f"'{one[1][:30]}' of '{one[0]}' and '{two[1][:30]}' of '{two[0]}'"
    return f"{cells} touch: nothing shows where the one ends and the other begins."


def stray(own: str, other: str) -> str:
    """What is wrong with a cell that stands under another column than it is counted for. own, other: their headers."""
    what = (
        f"By its count of cells '{own}' of this row is the one that stands under '{other}' in the rows around it, and "
    )
    return (
        f"{what}another column is empty: a name holds a blank and a cell is missing, or the row is printed otherwise."
    )
