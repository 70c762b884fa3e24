"""What a receiver takes a text for: usual words beside those of the record, units by their other names, numbers.

The lists are common practice, no source: what laboratories and their receivers write. They only ever refuse more.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Final

from benchseal.records.quantities import known_units, unit_factor, unit_shown

_NUMBER: Final = re.compile(r"\s*[<>≤≥=~+-]*\s*[0-9]+([.,][0-9]*)*([eE][+-]?[0-9]+)?\s*")
_PER: Final = re.compile(r"[ .*·⋅]?([A-Za-z]+)([0-9]?)\^?[-\u2212\u207b]1")


@dataclass(frozen=True, slots=True)
class Sense:
    """texts: small letters. words: of the field, for which such a text may stand."""

    says: str
    texts: frozenset[str]
    words: frozenset[str]


def _sense(says: str, texts: str, *words: str) -> Sense:
    return Sense(says, frozenset(texts.split("|")), frozenset(words))


# A verdict may be told more strictly than it is, never more mildly: nothing but a pass may read as one.
_SENSES: Final[dict[str, tuple[Sense, ...]]] = {
    "verdict": (
        _sense(
            "a pass",
            "pass|passed|passes|p|ok|okay|good|conform|conforms|conforming|conformity|compliant|complies|comply|accept|"
            "accepted|acceptable|in spec|in specification|within limits|within specification|met|meets|is|satisfactory|"
            "bestanden|i.o.|io|konform|entspricht|erfüllt|in ordnung|✓|✔",
            "pass",
            "conditional_pass",
        ),
        _sense(
            "a failure",
            "fail|failed|fails|failure|f|nok|not ok|n.ok|bad|nonconform|nonconforming|non-conforming|not conforming|"
            "nonconformity|non-compliant|noncompliant|not compliant|reject|rejected|unacceptable|not acceptable|oos|"
            "out of spec|out of specification|outside limits|not met|unsatisfactory|nicht bestanden|n.i.o.|nio|"
            "nicht konform|entspricht nicht|nicht erfüllt|nicht in ordnung|✗|✘",
            "fail",
            "conditional_fail",
            "conditional_pass",
            "inconclusive",
        ),
        _sense("inconclusive", "inconclusive", "inconclusive"),
        _sense("a conditional pass", "conditional_pass|conditional pass", "conditional_pass"),
        _sense("a conditional failure", "conditional_fail|conditional fail", "conditional_fail"),
    ),
    "change_kind": (
        _sense("a withdrawal", "withdrawn|withdraw|cancelled|canceled|cancel|deleted|delete|void|revoked", "withdrawn"),
        _sense("a new result", "new|first|original|initial|insert", "new"),
        _sense("a correction", "corrected|correction|amended|changed|update|updated", "corrected"),
        _sense("a result that holds", "valid|active|current|final|ok", "new", "corrected"),
    ),
    "reported_kind": (
        _sense("a measured value", "measured|quantified|numeric|number|value|exact", "measured"),
        _sense(
            "a value below its limit",
            "below_limit|below limit|below|less than|<|lt|<loq|<lod|loq|lod|nd|n.d.|not detected",
            "below_limit",
        ),
        _sense("a value that was not determined", "not_determined|not determined|missing", "not_determined"),
    ),
    "qualifier": (
        _sense("less than", "<|lt|less|less than|below", "<"),
        _sense("more than", ">|gt|greater|greater than|more|more than|above"),
        _sense("equal", "=|==|eq|equal|equals|exact"),
        _sense("up to or from", "<=|>=|≤|≥|le|lte|ge|gte"),
    ),
    "basis": (
        _sense("as received", "as received|as is|as-is|ar|wet|wet basis|fresh|fresh weight|fw|ww", "as received"),
        _sense("on dry basis", "dry|dry basis|dry weight|dry matter|dried|dw|dm|db", "dry"),
    ),
    "signature_state": (
        _sense("signed", "signed|valid|ok", "signed"),
        _sense("revoked", "revoked|invalid|withdrawn|unsigned|not signed", "revoked"),
    ),
}  # fmt: skip
# Parts of a mass: of a volume or an area they say something else.
_OTHER_NAMES: Final = {
    "ppm": "mg/kg", "ppb": "ug/kg", "ppt": "ng/kg", "‰": "g/kg", "permille": "g/kg", "percent": "%", "per cent": "%",
    "pct": "%", "wt%": "%", "wt.%": "%", "%w/w": "%", "% w/w": "%", "%(w/w)": "%", "% (w/w)": "%", "mass%": "%",
    "mass %": "%", "wt %": "%", "ppmw": "mg/kg", "ppbw": "ug/kg", "prozent": "%",
    "ppm (w/w)": "mg/kg", "ppb (w/w)": "ug/kg",
    # What UCUM calls parts of ten to a power; and units of other sizes that no result of ours has.
    "[ppm]": "mg/kg", "[ppb]": "ug/kg", "[pptr]": "ng/kg", "[ppth]": "g/kg", "ppth": "g/kg",
}  # fmt: skip


def sense_of(field: str, text: str) -> Sense | None:
    """What ``text`` says of ``field`` in usual words; None where it is no such word."""
    plain = unicodedata.normalize("NFKC", text).strip().casefold()
    return next((sense for sense in _SENSES.get(field, ()) if plain in sense.texts), None)


def is_number(text: str) -> bool:
    """Whether a reader takes ``text`` for a number: figures of any width or script, ``inf``, ``nan``, ``1_000``."""
    plain = unicodedata.normalize("NFKC", text).strip()
    if _NUMBER.fullmatch(plain):
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
    return loose.get(bare.replace("mcg", "ug"), "")


@cache
def _units() -> tuple[dict[str, str], dict[str, str]]:
    """Every text a unit is known by with its code: as it stands, and in small letters."""
    exact = {}
    for unit in known_units():
        for text in (unit, unicodedata.normalize("NFKC", unit_shown(unit)).replace("\u03bc", "u")):
            exact[text] = unit
    return exact, {text.casefold(): unit for text, unit in exact.items()}


def same_size(one: str, other: str) -> bool:
    """Whether two texts are units of one size: ``ug/g`` and ``mg/kg``, ``ug/g`` and ``µg/g``."""
    codes = unit_meant(one), unit_meant(other)
    if not all(codes):
        return one.strip() == other.strip()
    try:
        return unit_factor(*codes) == 1
    except ValueError:
        return False
