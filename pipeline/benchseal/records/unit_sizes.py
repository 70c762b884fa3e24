"""Units in the ways people write them, taken apart: of what kind they are and how large, exactly.

Prefixes of the SI before g, mol and L, joined by a stroke, ``per`` or an exponent (``mg L-1``, with raised figures
too), an amount below (``ug/100 mL``), parts (``ppm``, percent), absorbance and its area. The spellings are common
practice, no source; the prefixes are those of the SI brochure (from memory).
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

_PREFIXES: Final = {
    "": 0, "k": 3, "h": 2, "d": -1, "c": -2, "m": -3, "u": -6, "mc": -6, "n": -9, "p": -12, "f": -15,
}  # fmt: skip
_PARTS: Final = {
    "%": 2, "percent": 2, "pct": 2, "prozent": 2, "‰": 3, "permille": 3, "ppth": 3, "ppm": 6, "ppb": 9, "ppt": 12,
    "pptr": 12, "ppq": 15,
}  # fmt: skip
_SAME_SIGN: Final = str.maketrans(
    dict.fromkeys("\u2212\u2010\u2011\u2012\u2013", "-") | dict.fromkeys("\u00b7\u22c5\u2219\u2022\u00d7*", ".")
    | {"\u2044": "/", "\u2215": "/", "\u03bc": "u", "\u00b5": "u"}
)  # fmt: skip
_GRAM: Final = "(?:[kdcmunpf]|mc)?g"
_MOLE: Final = "(?:[munpf]|mc)?mol"
_VOLUME: Final = "(?:[hdcmunp]|mc)?(?:l|litre|liter)s?|[dcm]?m ?\\^?3|ccm?"
_AREA: Final = "[dcm]?m ?\\^?2"
_BELOW: Final = f"{_VOLUME}|{_AREA}|{_GRAM}|t|d|day"
# A power of minus one of what is below: L-1, dm-3, also with ^, ** (told as ..) and brackets.
_POWER: Final = r" ?(?:\^|\.\.)?\(?-([123])\)?"
_FRACTION: Final = re.compile(
    rf"(?P<above>{_GRAM}|{_MOLE}) ?(?:(?:/| per ) ?(?P<amount>[0-9]+(?:[.,][0-9]+)?)? ?(?P<below>{_BELOW})"
    rf"|[. ]?(?P<inverse>(?:[hdcmunp]|mc)?l|[dcm]?m|{_GRAM}){_POWER})",
    re.IGNORECASE,
)
_ABSORBANCE: Final = re.compile(r"(?P<milli>m?)(?:a|au|abs)(?P<area>[ .-]?s(?:ec)?)?")
_MOLAR: Final = re.compile("(?P<prefix>[mun])M")


@dataclass(frozen=True, slots=True)
class Size:
    """A unit's kind, such as ``mass/volume``, and how much of that kind's first unit it is.

    First units: g, mol, L, m2, day, whole parts, absorbance of 1 and that times a second.
    """

    kind: str
    factor: Fraction


@lru_cache(maxsize=4096)
def size_of(text: str) -> Size | None:
    """The size of a unit in any spelling known here; None for any other text. Capitals count only in ``mM``."""
    plain = _plain(text)
    small = plain.casefold()
    if small in _PARTS:
        return Size("parts", Fraction(1, 10 ** _PARTS[small]))
    if found := _ABSORBANCE.fullmatch(small):
        return Size("absorbance.s" if found["area"] else "absorbance", Fraction(1, 1000 if found["milli"] else 1))
    if molar := _MOLAR.fullmatch(plain):
        return Size("amount/volume", _power(_PREFIXES[molar["prefix"]]))
    if found := _FRACTION.fullmatch(plain):
        return _fraction(found)
    for pattern in (_GRAM, _MOLE, _VOLUME):
        if len(small) > 1 and re.fullmatch(pattern, small):
            return _base(small)
    return None


def fractions_in(text: str) -> tuple[tuple[str, ...], str]:
    """Every unit over another that stands somewhere in a text, and what is left: ``ug/L`` of ``Conc µg/L Std``."""
    plain = _plain(text)
    found = [
        each
        for each in _FRACTION.finditer(plain)
        if not (plain[: each.start()][-1:].isalpha() or re.match(r"[\w/]", plain[each.end() :]))
    ]
    rest = plain
    for each in reversed(found):
        rest = f"{rest[: each.start()]} {rest[each.end() :]}"
    return tuple(each[0] for each in found), rest


def _plain(text: str) -> str:
    """The text with one sign for what is written by several, and single blanks."""
    return " ".join(unicodedata.normalize("NFKC", text.translate(_SAME_SIGN)).translate(_SAME_SIGN).split())


def _fraction(found: re.Match[str]) -> Size | None:
    above = _base(found["above"].lower())
    if found["inverse"]:
        power = next(group for group in found.groups()[::-1] if group and group.isdigit())
        below = _base(found["inverse"].lower() + (power if power != "1" else ""))
    else:
        below = _base(found["below"].lower())
    if above is None or below is None or below.kind == "length":
        return None
    amount = Fraction((found["amount"] or "1").replace(",", "."))
    if amount == 0:
        return None
    kind = "parts" if above.kind == below.kind else f"{above.kind}/{below.kind}"
    return Size(kind, above.factor / (below.factor * amount))


def _base(text: str) -> Size | None:
    """A unit that is no fraction, in small letters."""
    bare = text.replace(" ", "").replace("^", "")
    if named := _NAMED.get(bare):
        return named
    for ending, kind, first in (("mol", "amount", 0), ("g", "mass", 0)):
        if bare.endswith(ending):
            return Size(kind, _power(_PREFIXES[bare.removesuffix(ending)] + first))
    if litre := re.fullmatch("(.*?)(?:l|litre|liter)s?", bare):
        return Size("volume", _power(_PREFIXES[litre[1]]))
    if metre := re.fullmatch("([dcm]?)m([23]?)", bare):
        of_one, dimension = _PREFIXES[metre[1]], int(metre[2] or 1)
        kinds = {1: "length", 2: "area", 3: "volume"}
        return Size(kinds[dimension], _power(of_one * dimension + (3 if dimension == 3 else 0)))
    return None


def _power(exponent: int) -> Fraction:
    return Fraction(10) ** exponent


_NAMED: Final = {
    **dict.fromkeys(("d", "day"), Size("time", Fraction(1))),
    **dict.fromkeys(("cc", "ccm"), Size("volume", _power(-3))),
    "t": Size("mass", _power(6)),
}
