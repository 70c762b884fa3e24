"""Signs that stand in no text of record: what a person reads must be what the program compares.

One table for every way in: sheets (CSV and .xlsx), orders of other systems, prints of balances, controlled documents.
"""

from __future__ import annotations

import re
import unicodedata

# Control signs without tab and line ends; halves of surrogate pairs; line and paragraph separators; noncharacters of
# the basic plane; signs that show nothing or turn the direction of writing (Unicode's Default_Ignorable_Code_Point and
# interlinear marks; the Braille pattern without dots; from memory).
_UNFIT = (
    "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\xad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f"
    "\u2028-\u202e\u2060-\u206f\u2800\u3164\ud800-\udfff\ufdd0-\ufdef\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb\ufffe\uffff"
    "\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff"
    + "".join(chr(plane << 16 | low) for plane in range(1, 17) for low in (0xFFFE, 0xFFFF))
)
_IN_TEXT = re.compile(f"[{_UNFIT}]")
_IN_CELL = re.compile(f"[\t{_UNFIT}]")
_BLANKS = " \t\r\n\xa0\u1680" + "".join(map(chr, range(0x2000, 0x200B))) + "\u202f\u205f\u3000"  # Zs, tab, line ends
_ODD_BLANK = re.compile(f"[{_BLANKS[1:]}]")


def unfit_in_text(text: str) -> tuple[int, str] | None:
    """Place, from 0, and name of the first sign that stands in no text; a tab and line ends may."""
    return _first(_IN_TEXT, text)


def unfit_in_cell(text: str) -> tuple[int, str] | None:
    """As ``unfit_in_text``, within one cell: no tab either."""
    return _first(_IN_CELL, text)


def odd_blank(text: str) -> tuple[int, str] | None:
    """Place and name of a blank that is no plain one: two identifiers would look alike and be two."""
    return _first(_ODD_BLANK, text)


def tidy(text: str) -> str:
    """Text without blanks around it, in Unicode form NFC."""
    return unicodedata.normalize("NFC", text.strip(_BLANKS))


def printable(text: str) -> str:
    """Text for a message: what is unfit is written as its number."""
    return _IN_CELL.sub(lambda found: f"<U+{ord(found[0]):04X}>", text)


def _first(signs: re.Pattern[str], text: str) -> tuple[int, str] | None:
    if text.isascii() and text.isprintable():
        return None
    found = signs.search(text)
    return None if found is None else (found.start(), f"U+{ord(found[0]):04X}")
