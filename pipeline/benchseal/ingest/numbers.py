"""The file's own number text to plain decimal text; digits kept, nothing guessed."""

from __future__ import annotations

import re
from decimal import Decimal

from benchseal.records.quantities import PlainDecimal, is_plain_decimal, plain

_SIMPLE = re.compile(r"-?[0-9]+(?:\.[0-9]+)?\Z")
_NUMBER = re.compile(r"([+-]?)([0-9]*)(?:\.([0-9]+))?(?:[eE]([+-]?[0-9]{1,3}))?\Z")
_NEGATIVE_ZERO = re.compile(r"-[0.]+\Z")
LONGEST_NUMBER = 64
LARGEST_DILUTION = 1_000_000  # at the instrument, in one factor (common practice, no source)


def plain_number(text: str, decimal_mark: str, thousands_mark: str = "") -> PlainDecimal | None:
    """Plain decimal text of ``text``, or None when it is not a number in this notation.

    An exponent is turned into digits exactly; a leading plus is dropped; ``.5`` becomes ``0.5``; minus zero, zero.
    """
    if decimal_mark == "." and not thousands_mark:
        pointed = text
    else:
        shape = _grouped(decimal_mark, thousands_mark)
        if not shape.match(text):
            return None
        pointed = text.replace(thousands_mark, "") if thousands_mark else text
        pointed = pointed.replace(decimal_mark, ".")
    if len(pointed) <= LONGEST_NUMBER and _SIMPLE.match(pointed):
        return pointed if not pointed.startswith("-") or not _NEGATIVE_ZERO.match(pointed) else pointed[1:]
    return _unusual_number(pointed)


def dilutes(factor: str) -> bool:
    """Whether a factor of extra dilution, as plain decimal text, is one: from 1 to the largest that is likely."""
    at_least_one = not factor.startswith("-") and bool(factor.partition(".")[0].strip("0"))
    return at_least_one and Decimal(factor) <= LARGEST_DILUTION


def bare_count(text: str) -> str:
    """A whole number without leading zeros, as ``007`` is 7; any other text as it stands."""
    return text.lstrip("0") or text if text.isascii() and text.isdigit() else text


def _unusual_number(text: str) -> PlainDecimal | None:
    found = _NUMBER.match(text.replace("\N{MINUS SIGN}", "-")) if len(text) <= LONGEST_NUMBER else None
    if found is None or not (found[2] or found[3]):
        return None
    number = plain(Decimal(found[0]))
    return number if is_plain_decimal(number) else None


def _grouped(decimal_mark: str, thousands_mark: str) -> re.Pattern[str]:
    key = (decimal_mark, thousands_mark)
    if key not in _SHAPES:
        mark, group = re.escape(decimal_mark), re.escape(thousands_mark)
        whole = "[0-9]*" if not thousands_mark else f"(?:[0-9]*|[1-9][0-9]{{0,2}}(?:{group}[0-9]{{3}})+)"
        _SHAPES[key] = re.compile(rf"[+\-\N{{MINUS SIGN}}]?{whole}(?:{mark}[0-9]+)?(?:[eE][+-]?[0-9]{{1,3}})?\Z")
    return _SHAPES[key]


_RATIO = re.compile("[0-9]+ ?[:/] ?[0-9]+")
_SHAPES: dict[tuple[str, str], re.Pattern[str]] = {}


def why_unreadable(text: str, decimal_mark: str) -> str:
    """One more sentence about a text that is no number: the likely reason, or nothing."""
    other = "," if decimal_mark == "." else "."
    if plain_number(text, other) is not None:
        return f"With decimal mark '{other}' it would be a number; the layout says '{decimal_mark}'."
    if not text:
        return "The cell is empty."
    if len(text) > LONGEST_NUMBER:
        return f"It is longer than {LONGEST_NUMBER} signs."
    if _NUMBER.match(text.replace(decimal_mark, ".")) and any(map(str.isdigit, text)):
        return f"Written without its exponent it is longer than {LONGEST_NUMBER} signs, so it is no reading."
    return ""


def remedy_of_mark(text: str, decimal_mark: str) -> str:
    """What helps where a text is a number with the other decimal mark, is empty, or two numbers; else empty."""
    if not text:
        return (
            "Where the instrument leaves it empty each time, a new version of the layout says what that means "
            "(no_dilution of dilutions); else export again."
        )
    if _RATIO.fullmatch(text):
        return "It can be read in two ways: set the export to one number, of dilutions the factor, and export again."
    other = "," if decimal_mark == "." else "."
    if plain_number(text, other) is None:
        return ""
    return (
        f"Where the instrument writes '{other}', have a new version of the layout approved with decimal_mark "
        f"'{other}'; where it usually writes '{decimal_mark}', export again."
    )
