"""The words of a title or fixed text as a reader sees them, and what they say: senses, units, elements.

Common practice, no source, as the lists of ``senses``. They only ever refuse more.
"""

from __future__ import annotations

import itertools
import re
import unicodedata
from functools import cache
from typing import TYPE_CHECKING, Final

from benchseal.export.analytes import ANALYTES
from benchseal.export.element_words import named_symbol
from benchseal.export.senses import SENSES, Sense
from benchseal.records.quantities import known_units

if TYPE_CHECKING:
    from collections.abc import Iterator

_CAMEL: Final = re.compile(r"(?<=[^\W\d_A-Z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][^\W\d_A-Z]{2})")
_WORD: Final = re.compile(r"[^\W\d_]+|[0-9]+|[<>\u2264\u2265=%\u2030]+")
_YES_OR_NO: Final = re.compile(r"(?<=[^\W\d_]{3})(?:yn|jn|flag)$")  # FAILYN, failflag

# Words that say something of a result alone, and in a longer title are like any other.
_ORDINARY: Final = frozenset(
    "is no number value result wert total tot original first initial insert go met good gut bad safe si non sec change "  # noqa: SIM905
    "changed update updated exact present positive missing none over plus more min medium lower upper four available "
    "whole filtered content text numeric amended".split()
)
_CLEAR_SHORT: Final = frozenset({"ok", "ko", "nd"})
_SHORTEST: Final = 2

_FAILURE: Final = frozenset({"fail", "conditional_fail", "conditional_pass", "inconclusive"})
_PASS: Final = frozenset({"pass", "conditional_pass"})
# What titles say besides the texts a map may write.
_ALSO: Final[dict[str, tuple[tuple[str, frozenset[str], str], ...]]] = {
    "verdict": (
        ("a failure", _FAILURE,
         ("above limit|over limit|exceeds|exceeds limit|exceed|exceeded|exceedance|limit exceeded|violation|"
         "violates|ko|"
         "überschritten|überschreitung|grenzwertverletzung|grenzwertüberschreitung|grenzwert überschritten|outside|out|"
         "alarm|hors norme|hors spécification|beanstandung|rejection|failing|defect|defective|not in spec|not valid|"
         "not within limits|above specification|nicht eingehalten|dépassement|superado")),
        ("a pass", _PASS,
         ("compliance|conformance|conformité|konformität|conformidad|conformità|passing|below limit|under limit|"
         "eingehalten|grenzwert eingehalten|inside|in norm|in spezifikation|acceptance|meets spec|meets specification|"
         "meets limit|meets limits|dans la norme")),
    ),
    "reported_kind": (
        ("a measured value", frozenset({"measured"}),
         ("above loq|above lod|>loq|>lod|above detection limit|quantifiable|detectable|detektiert|nachgewiesen|"
         "nachweisbar|quantifiziert|détecté|detectado|rilevato")),
        ("a value below its limit", frozenset({"below_limit"}),
         ("below loq|below lod|under loq|under lod|below detection limit|below quantitation limit|non detect|nondetect|"
         "undetected|not detectable|not quantifiable|censored|unter bestimmungsgrenze|unter nachweisgrenze|"
         "non détecté")),
        ("a value that was not determined", frozenset({"not_determined"}),
         "not measured|not analysed|not analyzed|not tested|no result|nicht gemessen|non mesuré"),
    ),
    "change_kind": (
        ("a result that holds", frozenset({"new", "corrected"}), "in force|in kraft|effective|live|en vigueur"),
        ("a withdrawal", frozenset({"withdrawn"}),
         "invalid|not valid|no longer valid|not in force|cancellation|recalled|annulled|nicht gültig|inactive"),
    ),
    "signature_state": (
        ("signed", frozenset({"signed"}), "in force|in kraft"),
        ("revoked", frozenset({"revoked"}), "not valid|not in force|nicht gültig"),
    ),
}  # fmt: skip

_PER: Final = frozenset({"per", "pro", "par", "por", "je"})
_MASSES: Final = {
    "microgram": "ug", "mikrogramm": "ug", "microgramme": "ug", "mcg": "ug", "milligram": "mg", "milligramm": "mg",
    "milligramme": "mg", "nanogram": "ng", "nanogramm": "ng", "gram": "g", "gramm": "g", "gramme": "g",
    "kilogram": "kg", "kilogramm": "kg", "kilo": "kg", "litre": "l", "liter": "l", "millilitre": "ml", "milliliter": "ml",  # noqa: E501
}  # fmt: skip
_PARTS: Final = {
    "ppm": "mg/kg", "ppb": "ug/kg", "ppt": "ng/kg", "ppmw": "mg/kg", "ppbw": "ug/kg", "percent": "%", "prozent": "%",
    "procent": "%", "pourcent": "%", "pct": "%", "promille": "g/kg", "permille": "g/kg", "per cent": "%",
    "per mille": "g/kg", "per mil": "g/kg", "por ciento": "%", "per cento": "%", "pour cent": "%",
}  # fmt: skip
_UNIT_WORD: Final = re.compile("[a-z]+[23]?|[0-9]+")
_SHORTEST_GLUED: Final = 3
# Symbols in capitals that are no other word or unit; a symbol as it is written counts but for As and In.
_PLAIN_SYMBOLS: Final = frozenset("PB CD HG ZN CU FE CR NI SB SN MN TL AG BA MO SR".split())  # noqa: SIM905
_AROUND_SYMBOL: Final = frozenset("total tot gesamt result value wert ergebnis conc".split())  # noqa: SIM905


def words_of(text: str) -> tuple[tuple[str, ...], ...]:
    """Words as they stand: split at all but letters, and, where that gives others, at capitals within too."""
    plain = unicodedata.normalize("NFKC", text)
    return tuple(dict.fromkeys(tuple(_WORD.findall(one)) for one in (plain, _CAMEL.sub(" ", plain))))


def senses_in(field: str, text: str) -> list[Sense]:
    """Every sense of ``field`` that a text says, as a whole or in some of its words; the longest phrase counts."""
    found: list[Sense] = []
    for words in words_of(text):
        small = [_YES_OR_NO.sub("", word.casefold()) for word in words]
        for sense in _said(tuple(word for word in small if word), _phrases(field)):
            if sense not in found:
                found.append(sense)
    return found


def _said(words: tuple[str, ...], phrases: dict[str, Sense]) -> Iterator[Sense]:
    start = 0
    while start < len(words):
        for end in range(len(words), start, -1):
            phrase = "".join(words[start:end])
            if phrase in phrases and _counts(words[start:end], is_whole=end - start == len(words)):
                yield phrases[phrase]
                start = end - 1
                break
        start += 1


def _counts(words: tuple[str, ...], *, is_whole: bool) -> bool:
    """Whether words say something by themselves: no single letter, and no ordinary or short word in a longer text."""
    if len(words) > 1:
        return len("".join(words)) > _SHORTEST
    (word,) = words
    if not word.isalpha():
        return is_whole or word not in {"%", "="}
    return (
        len(word) >= _SHORTEST
        if is_whole
        else (len(word) > _SHORTEST and word not in _ORDINARY) or word in _CLEAR_SHORT
    )


@cache
def _phrases(field: str) -> dict[str, Sense]:
    """Phrases without what stands between their words, with what they say."""
    found = {_bare(text): sense for sense in SENSES.get(field, ()) for text in sense.texts if not text.isdigit()}
    for says, words, texts in _ALSO.get(field, ()):
        found |= {_bare(text): Sense(says, frozenset(texts.split("|")), words) for text in texts.split("|")}
    return found


def _bare(text: str) -> str:
    return "".join(_WORD.findall(unicodedata.normalize("NFKC", text).casefold()))


def units_in(title: str) -> tuple[str, ...]:
    """Codes of the units a title says in words or with another stroke: ``ug_per_kg``, ``Result mg l``, ``ppb``."""
    plain = unicodedata.normalize("NFKC", title).replace("\u03bc", "u").replace("\u00b5", "u")
    found: list[str] = []
    for text in (plain, _CAMEL.sub(" ", plain)):
        words = [_MASSES.get(word.removesuffix("s"), word) for word in _UNIT_WORD.findall(text.casefold())]
        found += [_PARTS[f"{one} {two}"] for one, two in itertools.pairwise(words) if f"{one} {two}" in _PARTS]
        words = [word for word in words if word not in _PER]
        found += [_PARTS[word] for word in words if word in _PARTS]
        found += [_glued()[word] for word in words if word in _glued()]
        pairs = (f"{one}/{two}" for one, two in itertools.pairwise(words) if len(one + two) >= _SHORTEST_GLUED)
        found += [_stroked()[pair] for pair in pairs if pair in _stroked()]
    return tuple(dict.fromkeys(found))


@cache
def _stroked() -> dict[str, str]:
    return {unit.casefold(): unit for unit in known_units() if "/" in unit} | {"g/t": "mg/kg", "mg/t": "ug/kg"}


@cache
def _glued() -> dict[str, str]:
    """``UGKG``, ``mgl``; not of a day, which would be a word."""
    per = {unit: unit.replace("/", "").casefold() for unit in known_units() if "/" in unit and not unit.endswith("/d")}
    return {text: unit for unit, text in per.items() if len(text) >= _SHORTEST_GLUED}


def elements_in(title: str) -> frozenset[str]:
    """Symbols of the elements a title names: by name, by symbol in some of its words, or in capitals."""
    found: set[str] = set()
    for words in words_of(title):
        left = [word for word in words if word.casefold() not in _AROUND_SYMBOL]
        for word in words:
            symbol = named_symbol(word)
            is_symbol = len(word) == len("Pb") and (
                word in _PLAIN_SYMBOLS or (word in ANALYTES and word not in {"As", "In"})
            )
            if symbol and len(word) > len("Pb"):
                found.add(symbol)
            elif is_symbol or (
                left == [word] and len(word) == len("Pb") and word.capitalize() in ANALYTES and word.isupper()
            ):
                found.add(word.capitalize())
            elif left == [word] and word in {"As", "In"}:
                found.add(word)
    return frozenset(found)
