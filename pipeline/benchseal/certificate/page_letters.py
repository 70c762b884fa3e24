"""How wide a run of letters is, and whether its letters are set as the renderer sets them.

The shipped type kerns letters, and marks after letters, but no figure and no sign of a number: those stand exactly as
far apart as they are wide. A step back would hide a decimal point behind the figure after it, or a sign behind a blank.
Source: ISO 32000-1, 9.4.3 (steps between letters); the kerning is that of the shipped type, read from its table.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final, NamedTuple

from benchseal.certificate.page_text import characters_of

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
    """Of a run: how long it is, how much of that is blank before and after, whether its letters are set close.

    codes: one character for each letter, whose number is that of the letter in its font.
    """

    whole: float
    before: float
    after: float
    close: bool
    codes: str


class Letters(NamedTuple):
    """Of a font, by codes as in ``Length``: widths, those that are never kerned, blanks, and the characters.

    lengths, texts: of the runs looked at before; tables say the same again and again.
    """

    widths: dict[str, float]
    numbers: frozenset[str]
    blanks: str
    characters: dict[int, str]
    lengths: dict[bytes, Length]
    texts: dict[str, str]


class Lettered(NamedTuple):
    """A run of letters, with its font; the base line it is put on, None in a drawing apart."""

    run: Length
    letters: Letters
    level: float | None


NO_LETTERS: Final = Letters({}, frozenset(), "", {}, {}, {})


def length(told: bytes, font: Letters) -> Length:
    """Of a run of letters as it is told, in thousandths of the letters' height."""
    found = font.lengths.get(told)
    if found is None:
        found = _measured(told, font)
        if font is not NO_LETTERS:
            font.lengths[told] = found
    return found


def _measured(told: bytes, font: Letters) -> Length:
    widths, numbers, blanks = font.widths, font.numbers, font.blanks
    parts = _SET.findall(told)
    codes = bytes.fromhex(b"".join([letters for letters, _ in parts]).decode("ascii")).decode("utf-16-be")
    at, steps, step, close = 0, 0.0, 0.0, bool(widths)
    for letters, apart in parts:
        if step and letters:
            exact = codes[at] in numbers or codes[max(at - 1, 0)] in numbers
            close = close and (-_NUMBER_APART <= step <= 0 if exact else -_APART <= step <= _TOGETHER)
            steps, step = steps + step, 0.0
        at += len(letters) // 4
        if apart not in _NO_STEP:
            step = float(apart)
        close = close and letters != b""
    if step:
        close = close and -_APART <= step <= 0
    wide = [widths.get(code, _UNKNOWN_WIDTH) for code in codes]
    begin = len(codes) - len(begun := codes.lstrip(blanks))
    end = begin + len(begun.rstrip(blanks))
    narrow = min(wide, default=_NARROWEST) < _NARROWEST
    return Length(sum(wide) - steps, sum(wide[:begin]), sum(wide[end:]), close and not narrow, codes)


def said(run: Length, font: Letters) -> str:
    """Characters of a run. Raises KeyError for a letter without one."""
    text = font.texts.get(run.codes)
    if text is None:
        unknown = set(map(ord, run.codes)) - font.characters.keys()
        if unknown:
            raise KeyError(*sorted(unknown))
        text = font.texts[run.codes] = run.codes.translate(font.characters)
    return text


def letters_of(font: pikepdf.Object) -> Letters:
    """Of a font of the file, from the one form of list the renderer writes.

    A blank counts as at least as wide as a letter must be: a hair space is narrower, and hides nothing.
    """
    widths: dict[str, float] = {}
    told = list(font.DescendantFonts[0].W)
    for first, row in zip(told[::2], told[1::2], strict=True):
        begin = int(first)
        widths.update((chr(code), float(width)) for code, width in enumerate(row, start=begin))
    characters = characters_of(font.ToUnicode.read_bytes())
    blanks = "".join(chr(code) for code, text in characters.items() if text.isspace())
    widths.update((code, max(widths[code], _NARROWEST)) for code in blanks if code in widths)
    numbers = frozenset(chr(code) for code, text in characters.items() if text.isspace() or text in _SIGNS)
    return Letters(widths, numbers, blanks, characters, {}, {})
