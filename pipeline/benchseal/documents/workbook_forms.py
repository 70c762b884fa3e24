"""What a cell of a workbook shows otherwise than it holds it: by the form of its number, by how its script is drawn.

Forms as in ECMA-376 part 1, 18.8.31 (numFmts); runs of script in one text as in 18.4.4 (r).
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

from openpyxl.cell.rich_text import CellRichText, TextBlock

# The forms that show a number itself, if they have its decimals. No other: none with a percent sign, a scale, groups of
# thousands (1,012 may have been typed for 1.012), an exponent, a text, a colour, a condition, or sections.
_PLAIN = re.compile(r"0(?:\.(0*#*))?")
_GENERAL_SIGNS = 11  # what General shows of a number without its sign; it rounds what is longer (from memory)
_LEAST_POINTS = 2.0  # of script that can be read (common practice, no source)
_SECTIONS = re.compile(r'(?:"[^"]*"|\\.|\[[^\]]*\]|[^;"\\\[])*')
_SAYS_NOTHING = re.compile(r'(?:""|\[[^\]]*\]|_.|\*.|\s)*')
_QUOTED = r'(?:"[^"]*"|\\.|[-+$%() ])*'
_DIGITS = re.compile(rf"({_QUOTED})([0#,]*[0#])(?:\.([0#]*))?(,*)({_QUOTED})")
_PADDING = re.compile(r"_.|\* |\[\$-[0-9A-Fa-f]+\]")  # width, filling up with blanks, the language


def shows_itself(form: str, text: str) -> bool:
    """Whether a number form shows a number as it is held. text: the number as plain decimal text."""
    bare = text.lstrip("-").rstrip("0").rstrip(".") if "." in text else text.lstrip("-")
    if form.casefold() == "general" or form == "@":
        return len(bare) <= _GENERAL_SIGNS
    plain_form = _PLAIN.fullmatch(form)
    return plain_form is not None and len(bare.partition(".")[2]) <= len(plain_form[1] or "")


def shown_as(form: str, number: Decimal) -> str:
    """What a form of digits, percent, scale and text makes of a number; empty where it is none of these.

    For messages only: whether a number is taken is ``shows_itself``.
    """
    sections = _sections(form)
    nth = 0 if number > 0 else 1 if number < 0 else 2
    digits = _DIGITS.fullmatch(sections[nth if nth < len(sections) else 0])
    if digits is None:
        return ""
    before, whole, part, scale, after = digits[1], digits[2], digits[3] or "", digits[4], digits[5]
    marks = re.sub(r'"[^"]*"|\\.', "", before + after).count("%")
    try:
        value = (abs(number) * 100**marks / 1000 ** len(scale)).quantize(Decimal(1).scaleb(-len(part)), ROUND_HALF_UP)
    except InvalidOperation:
        return ""
    text = f"{value:,f}" if "," in whole else f"{value:f}"
    figures, point, behind = text.partition(".")
    least = part.count("0")
    behind = behind[:least] + behind[least:].rstrip("0")
    sign = "-" if number < 0 and len(sections) == 1 else ""
    return f"{sign}{_said(before)}{figures.zfill(whole.count('0'))}{point}{behind}{_said(after)}"


def text_shown_otherwise(form: str) -> bool:
    """Whether a form adds to a text what the cell does not hold: ``"9"@`` shows 9 before it."""
    bare = (re.sub(r'"[^"]*"|\\.', "", section) for section in _sections(form))
    with_text = [section for section, own in zip(_sections(form), bare, strict=True) if "@" in own]
    return any(_PADDING.sub("", section).strip() != "@" for section in with_text)


def shows_nothing(form: str, value: object) -> bool:
    """Whether a number form shows a text or a number as nothing, or a text as another one.

    Its sections are for what is above zero, below, zero, and text; one that is left out is the first one's.
    """
    sections = _sections(form)
    if isinstance(value, str):
        return len(sections) > 3 and "@" not in re.sub(r'"[^"]*"|\\.', "", sections[3])
    if isinstance(value, int | float) and not isinstance(value, bool):
        nth = 0 if value > 0 else 1 if value < 0 else 2
        return _SAYS_NOTHING.fullmatch(sections[nth if nth < len(sections) else 0]) is not None
    return False


def drawn_otherwise(cell: Any) -> str:  # noqa: ANN401  openpyxl is untyped
    """How script of a cell, or a part of it, is drawn so that it reads as another text; empty where it is not."""
    blocks = cell.value if isinstance(cell.value, CellRichText) else ()
    fonts = (cell.font, *(block.font for block in blocks if isinstance(block, TextBlock)))
    if found := next(filter(None, map(_drawn, fonts)), ""):
        return found
    return "repeated over the width of the cell" if getattr(cell.alignment, "horizontal", None) == "fill" else ""


def _drawn(font: Any) -> str:  # noqa: ANN401  openpyxl is untyped
    if font is None:
        return ""
    return drawn_by(strike=bool(font.strike), place=font.vertAlign or "", points=font.sz)


def drawn_by(*, strike: bool, place: str, points: float | None) -> str:
    """The same of the properties of one run of script. place: ``superscript`` or ``subscript``."""
    if strike:
        return "struck through"
    if place in {"superscript", "subscript"}:
        return "raised" if place == "superscript" else "lowered"
    return "too small to be read" if points is not None and points < _LEAST_POINTS else ""


def _said(part: str) -> str:
    return re.sub(r'"([^"]*)"|\\(.)', lambda found: found[1] or found[2] or "", part)


def _sections(form: str) -> list[str]:
    """A form cut at the semicolons that stand in no quotes and no brackets."""
    found, at = [], 0
    while at <= len(form):
        section = _SECTIONS.match(form, at)
        end = section.end() if section else at
        found.append(form[at:end])
        at = end + 1
    return found
