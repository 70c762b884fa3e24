"""How wide a run of letters is, and whether its letters are set as the renderer sets them.

The shipped type kerns letters, and marks after letters, but no figure and no sign of a number: those stand exactly as
far apart as they are wide. A step back would hide a decimal point behind the figure after it, or a sign behind a blank.
Source: ISO 32000-1, 9.4.3 (steps between letters); the kerning is that of the shipped type, read from its table.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final, NamedTuple

from benchseal.certificate.page_text import MAPPED

if TYPE_CHECKING:
    import pikepdf

# All in thousandths of the letters' height.
_TOGETHER: Final = 200.0  # the closest pair of the shipped type is drawn together by 193
_APART: Final = 250.0  # a template of one's own may space letters
_NUMBER_APART: Final = 120.0  # less than the narrowest blank between words, 200
_NARROWEST: Final = 50.0  # letter of a font
_UNKNOWN_WIDTH: Final = 1000.0  # what a font without widths is due (ISO 32000-1, 9.7.4.3)
_NO_STEP: Final = frozenset({b"", b"0"})
_SET: Final = re.compile(rb"<((?:[0-9a-f]{4})*)>([-.0-9]*)")
_SIGNS: Final = frozenset("0123456789<>=\u2264\u2265\u00b1\u2212+\u00d7")


class Length(NamedTuple):
    """Of a run: how long it is, how much of that is blank before and after, whether its letters are set close."""

    whole: float
    before: float
    after: float
    close: bool


class Letters(NamedTuple):
    """Of a font: the width of each code (four hexadecimal digits), the codes that are never kerned, and the blanks.

    lengths: of the runs looked at before; tables say the same again and again.
    """

    widths: dict[bytes, float]
    numbers: frozenset[bytes]
    blanks: frozenset[bytes]
    lengths: dict[bytes, Length]


NO_LETTERS: Final = Letters({}, frozenset(), frozenset(), {})


def length(told: bytes, font: Letters) -> Length:
    """Of a run of letters as it is told, in thousandths of the letters' height."""
    found = font.lengths.get(told)
    if found is None:
        found = _measured(told, font)
        if font is not NO_LETTERS:
            font.lengths[told] = found
    return found


def _measured(told: bytes, font: Letters) -> Length:
    widths, numbers, blanks, _ = font
    whole, before, after, close, narrowest = 0.0, 0.0, 0.0, bool(widths), _NARROWEST
    last, step, begun = b"", 0.0, False
    for letters, apart in _SET.findall(told):
        for at in range(0, len(letters), 4):
            code = letters[at : at + 4]
            width = widths.get(code, _UNKNOWN_WIDTH)
            if step:
                exact = last in numbers or code in numbers
                close = close and (-_NUMBER_APART <= step <= 0 if exact else -_APART <= step <= _TOGETHER)
                whole, step = whole - step, 0.0
            whole += width
            narrowest = min(width, narrowest)
            if code not in blanks:
                begun, after = True, 0.0
            elif begun:
                after += width
            else:
                before += width
            last = code
        if apart not in _NO_STEP:
            step = float(apart)
        close = close and letters != b""
    if step:
        close = close and -_APART <= step <= 0
    return Length(whole, before, after, close and narrowest >= _NARROWEST)


def letters_of(font: pikepdf.Object) -> Letters:
    """Of a font of the file, from the one form of list the renderer writes.

    A blank counts as at least as wide as a letter must be: a hair space is narrower, and hides nothing.
    """
    widths: dict[bytes, float] = {}
    numbers, blanks = set(), set()
    told = list(font.DescendantFonts[0].W)
    for first, row in zip(told[::2], told[1::2], strict=True):
        widths |= {b"%04x" % (int(first) + at): float(width) for at, width in enumerate(row)}
    for code, text in MAPPED.findall(font.ToUnicode.read_bytes()):
        character = bytes.fromhex(text.decode("ascii")).decode("utf-16-be")
        if character.isspace():
            blanks.add(code)
            if code in widths:
                widths[code] = max(widths[code], _NARROWEST)
        if character.isspace() or character in _SIGNS:
            numbers.add(code)
    return Letters(widths, frozenset(numbers), frozenset(blanks), {})
