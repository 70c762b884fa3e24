"""What a receiver takes a text for: usual words beside those of the record, units by their other names, numbers.

The lists are common practice, no source: what laboratories and their receivers write. They only ever refuse more.
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import TYPE_CHECKING, Final

from benchseal.export.senses import NOTHING, NUMBER_WORDS, SENSES
from benchseal.records.quantities import known_units, unit_factor, unit_shown
from benchseal.records.unit_sizes import size_of

if TYPE_CHECKING:
    from benchseal.export.senses import Sense

_NUMBER: Final = re.compile(r"\s*[<>≤≥=~+-]*\s*[0-9]+([.,][0-9]*)*([eE][+-]?[0-9]+)?\s*")
_PER: Final = re.compile(r"[ .*·⋅]?([A-Za-z]+)([0-9]?)\^?[-\u2212\u207b]1")


# Letters of other scripts, and figures, that a reader takes for Latin letters: the commonest.
_LOOKS_LIKE: Final = str.maketrans(
    "\u0430\u0435\u043e\u0440\u0441\u0445\u0443\u0456\u0455\u043a\u043c\u0442\u043d\u0432"
    "\u03b1\u03bf\u03c1\u03b5\u03b9\u03ba\u03bd\u03c4\u03c5",
    "aeopcxyiskmthbaopeikvtu",
)
_FIGURES_AS_LETTERS: Final = str.maketrans("0134578", "oleastb")
_CODE: Final = re.compile("[A-Z0-9][A-Z0-9._-]{0,19}")
_POWER: Final = re.compile(r"\s*[+-]?(?:0[xX][0-9a-fA-F]+|[0-9.,]+\s*(?:[*x\u00d7\u00b7^/]|\*\*)\s*[0-9.,^*+-]+)\s*")


# Parts of a mass: of a volume or an area they say something else.
_OTHER_NAMES: Final = {
    "ppm": "mg/kg", "ppb": "ug/kg", "ppt": "ng/kg", "‰": "g/kg", "permille": "g/kg", "percent": "%", "per cent": "%",
    "pct": "%", "wt%": "%", "wt.%": "%", "%w/w": "%", "% w/w": "%", "%(w/w)": "%", "% (w/w)": "%", "mass%": "%",
    "mass %": "%", "wt %": "%", "ppmw": "mg/kg", "ppbw": "ug/kg", "prozent": "%",
    "ppm (w/w)": "mg/kg", "ppb (w/w)": "ug/kg",
    "g/t": "mg/kg", "mg/t": "ug/kg", "ng/mg": "ug/g", "ug/mg": "mg/g", "g/100g": "%", "g/100 g": "%",
    "per mille": "g/kg",
    # What UCUM calls parts of ten to a power; and units of other sizes that no result of ours has.
    "[ppm]": "mg/kg", "[ppb]": "ug/kg", "[pptr]": "ng/kg", "[ppth]": "g/kg", "ppth": "g/kg",
}  # fmt: skip


def sense_of(field: str, text: str) -> Sense | None:
    """What ``text`` says of ``field`` in usual words, exactly as listed; None where it is no such word."""
    plain = unicodedata.normalize("NFKC", text).strip().casefold()
    return next((sense for sense in SENSES.get(field, ()) if plain in sense.texts), None)


def read_as(field: str, text: str) -> Sense | None:
    """What a reader may take ``text`` for: as ``sense_of``, and with look-alike letters, points, marks and figures."""
    plain = unicodedata.normalize("NFKC", text).strip().casefold().translate(_LOOKS_LIKE)
    bare = plain.strip(" .,;:!?()[]_-")
    letters = bare.strip("0123456789 ._-")  # of a code; one letter of it says nothing
    forms = (plain, bare, bare.translate(_FIGURES_AS_LETTERS), letters if len(letters) > 1 else "")
    found = (sense_of(field, form) for form in forms if form)
    return next((sense for sense in found if sense is not None), None)


def is_code(text: str) -> bool:
    """Whether ``text`` is a code that says nothing by itself: ASCII capitals and figures, one figure at least."""
    return bool(_CODE.fullmatch(text)) and any(sign.isdigit() for sign in text) and text.lstrip("0") not in {"", "1"}


def says_nothing(text: str) -> bool:
    """Whether ``text`` is listed as one that says that nothing is there."""
    return unicodedata.normalize("NFKC", text).strip().casefold() in NOTHING or text.strip() in NOTHING


def is_number(text: str) -> bool:
    """Whether a reader takes ``text`` for a number: figures of any width or script, ``inf``, ``nan``, ``1_000``."""
    plain = unicodedata.normalize("NFKC", text).strip()
    if _NUMBER.fullmatch(plain) or _POWER.fullmatch(plain) or plain.casefold() in NUMBER_WORDS:
        return True
    if any(unicodedata.numeric(sign, None) is not None and not sign.isascii() for sign in text) or "\u221e" in text:
        return True
    for reader in (float, Decimal):
        try:
            reader(plain)
        except (ValueError, InvalidOperation):
            continue
        return True
    return False


def unit_meant(text: str) -> str:
    """The unit code that ``text`` is another way to write: ``µg/g``, ``MG/KG``, ``mg kg-1``, ``ppm``; else empty."""
    plain = unicodedata.normalize("NFKC", text.strip()).replace("\u03bc", "u").replace("\u00b5", "u")
    exact, loose = _units()
    if plain in exact:
        return exact[plain]
    small = plain.casefold()
    if small in _OTHER_NAMES:
        return _OTHER_NAMES[small]
    bare = _PER.sub(r"/\1\2", plain).replace(" ", "").casefold()
    return loose.get(bare.replace("mcg", "ug"), "") or _of_its_size(plain)


def _of_its_size(text: str) -> str:
    """The unit code of the size a text has as units are read in files of instruments; absorbance is of no result."""
    size = size_of(text)
    return next((unit for unit in known_units() if size and size_of(unit) == size), "")


def unit_spelled(text: str) -> str:
    """The unit code of a text that is listed as a way to write it; empty for every other text.

    As the code has it, in capitals alone, with a small l, with a blank beside the stroke, ``per``, or with a power.
    """
    plain = unicodedata.normalize("NFKC", text.strip()).replace("\u03bc", "u").replace("\u2212", "-")
    return _spellings().get(plain) or _OTHER_NAMES.get(plain.casefold(), "")


@cache
def _spellings() -> dict[str, str]:
    found: dict[str, str] = {}
    for unit in known_units():
        shown = unicodedata.normalize("NFKC", unit_shown(unit)).replace("\u03bc", "u")
        for text in (unit, shown, unit.replace("ug", "mcg")):
            above, _, below = text.partition("/")
            written = {text, text.replace("L", "l")}
            if below:
                letters, figure = below.rstrip("23"), below[len(below.rstrip("23")) :]
                power = f"-{figure or 1}"
                written |= {f"{above} / {below}", f"{above} per {below}"}
                written |= {f"{above}{sign}{letters}{mark}{power}" for sign in " .*\u00b7\u22c5" for mark in ("", "^")}
            if below or len(text) > 1:
                written |= {one.upper() for one in written}
            for one in written:
                found.setdefault(one, unit)
    return found | {unit: unit for unit in known_units()}


@cache
def _units() -> tuple[dict[str, str], dict[str, str]]:
    """Every text a unit is known by with its code: as it stands, and in small letters."""
    exact = {}
    for unit in known_units():
        for text in (unit, unicodedata.normalize("NFKC", unit_shown(unit)).replace("\u03bc", "u")):
            exact[text] = unit
    return exact, {text.casefold(): unit for text, unit in exact.items()}


def same_size(one: str, other: str) -> bool:
    """Whether two texts are listed ways to write units of one size: ``ug/g`` and ``mg/kg``, ``ug/g`` and ``µg/g``."""
    codes = unit_spelled(one), unit_spelled(other)
    if not all(codes):
        return one.strip() == other.strip()
    try:
        return unit_factor(*codes) == 1
    except ValueError:
        return False


def like_a_unit(text: str) -> bool:
    """Whether a reader takes ``text`` for a unit: a listed one, or anything with a stroke, ``per`` or percent."""
    small = unicodedata.normalize("NFKC", text).casefold()
    if unit_meant(text) or unit_spelled(text):
        return True
    size = size_of(text)
    if size is not None and not size.kind.startswith("absorbance"):
        return True
    return bool(re.search(r"[a-z0-9]\s*/\s*[a-z0-9]|%|\u2030|\bper\b|\bpp[mbtq]\b", small))
