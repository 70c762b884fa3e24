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
# Over a value words of two letters say something too; a total may be one of a sum or of a fraction.
_SHORT_IN: Final = frozenset({"basis", "fraction", "sum_bound"})
_TOTALS: Final = {"basis": frozenset({"total", "tot"})}
# ``% w/w`` and ``ug/dm2`` are units, whatever their letters say elsewhere.
_OF_A_UNIT: Final = re.compile(
    r"(?:%|\bpp[mb]|\bper ?cent|\bpct|\bmass)\s*\(?\s*w\s*/\s*w\b\)?|[cd]m\s*(?:\^?\s*[-\u2212]?\s*)[23]\b",
    re.IGNORECASE,
)

_FAILURE: Final = frozenset({"fail", "conditional_fail", "conditional_pass", "inconclusive"})
_PASS: Final = frozenset({"pass", "conditional_pass"})
# What titles say besides the texts a map may write. ``value`` is no field: what is true of no released value.
ALSO: Final[dict[str, tuple[tuple[str, frozenset[str], str], ...]]] = {
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
    "value": (
        ("preliminary", frozenset(),
         ("preliminary|provisional|draft|interim|tentative|not reviewed|unreviewed|not approved|unapproved|"
         "not released|unreleased|not final|not signed|vorläufig|vorläufiger|entwurf|ungeprüft|nicht geprüft|"
         "nicht freigegeben|provisoire|provisorio|preliminar|provvisorio|brouillon|borrador|bozza|rascunho|"
         "voorlopig")),
        ("a number on another scale", frozenset(),
         ("log|lg|ln|log10|logarithm|logarithmic|logarithmus|logarithmisch|logarithme|logaritmo|antilog|reciprocal|"
         "kehrwert|square root|in thousands|in millions|thousandth|thousandths|in tausend|tausendstel|en milliers")),
    ),
}  # fmt: skip
# What the title of a flag asks its reader to do, by what its yes would then say.
ASKED: Final[dict[str, tuple[tuple[str, frozenset[str], str], ...]]] = {
    "verdict": (
        ("a failure", _FAILURE,
         ("hold|on hold|to hold|withhold|block|blocked|to block|quarantine|quarantined|stop|stopped|scrap|dispose|"
         "destroy|discard|recall|refuse|do not use|do not ship|do not release|not released|sperren|gesperrt|sperre|"
         "sperrung|blockieren|blockiert|anhalten|zurückhalten|zurückweisen|ablehnen|abgelehnt|verwerfen|vernichten|"
         "quarantäne|nicht freigeben|bloquer|bloqué|rejeter|refuser|quarantaine|retenir|bloquear|bloqueado|rechazar|"
         "retener|cuarentena|bloccare|bloccato|respingere|trattenere|quarantena|blokkeren|geblokkeerd|afkeuren|"
         "bloquear|rejeitar|reter|zablokować|odrzucić")),
        ("a pass", _PASS,
         ("release|to release|ship|to ship|use|may be used|free|unblock|freigeben|freigabe|verwenden|frei|annehmen|"
         "libérer|accepter|liberar|aceptar|liberare|accettare|vrijgeven|goedkeuren|aceitar|zwolnić")),
    ),
    "change_kind": (
        ("a result that holds", frozenset({"new", "corrected"}),
         ("keep|load|import|use|store|apply|upsert|take over|retain|behalten|laden|übernehmen|importieren|verwenden|"
         "einlesen|conserver|garder|charger|importer|utiliser|conservar|cargar|usar|conservare|caricare|importare|"
         "behouden|zachować")),
        ("a withdrawal", frozenset({"withdrawn"}),
         ("remove|removed|drop|ignore|discard|purge|erase|unload|do not use|do not load|rescind|entfernen|löschen|"
         "verwerfen|ignorieren|stornieren|zurückziehen|supprimer|retirer|ignorer|eliminar|borrar|ignorar|rimuovere|"
         "eliminare|cancellare|verwijderen|usunąć")),
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


def senses_in(field: str, text: str, *, is_short: bool = False, is_flag: bool = False) -> list[Sense]:
    """Every sense of ``field`` that a text says, as a whole or in some of its words; the longest phrase counts.

    is_short: words of two letters count in a longer text too. is_flag: so does what it asks a reader to do.
    """
    found: list[Sense] = []
    short_in = field if is_short and field in _SHORT_IN else ""
    for words in words_of(text):
        small = [_YES_OR_NO.sub("", word.casefold()) for word in words]
        for sense in _said(tuple(word for word in small if word), _phrases(field, is_flag=is_flag), short_in):
            if sense not in found:
                found.append(sense)
    return found


def _said(words: tuple[str, ...], phrases: dict[str, Sense], short_in: str) -> Iterator[Sense]:
    start = 0
    while start < len(words):
        for end in range(len(words), start, -1):
            phrase = "".join(words[start:end])
            if phrase in phrases and _counts(words[start:end], short_in, is_whole=end - start == len(words)):
                yield phrases[phrase]
                start = end - 1
                break
        start += 1


def _counts(words: tuple[str, ...], short_in: str, *, is_whole: bool) -> bool:
    """Whether words say something by themselves: no single letter, and no ordinary or short word in a longer text."""
    if len(words) > 1:
        return len("".join(words)) > _SHORTEST or bool(short_in)
    (word,) = words
    if not word.isalpha():
        return is_whole or word not in {"%", "="}
    if is_whole or short_in:
        return len(word) >= _SHORTEST and (is_whole or word not in _TOTALS.get(short_in, ()))
    return (len(word) > _SHORTEST and word not in _ORDINARY) or word in _CLEAR_SHORT


@cache
def _phrases(field: str, *, is_flag: bool = False) -> dict[str, Sense]:
    """Phrases without what stands between their words, with what they say."""
    found = {_bare(text): sense for sense in SENSES.get(field, ()) for text in sense.texts if not text.isdigit()}
    for says, words, texts in (*ALSO.get(field, ()), *(ASKED.get(field, ()) if is_flag else ())):
        found |= {_bare(text): Sense(says, frozenset(texts.split("|")), words) for text in texts.split("|")}
    return found


def without_units(title: str) -> str:
    """A title without what in it is part of a unit and would be a word elsewhere."""
    return _OF_A_UNIT.sub(" ", unicodedata.normalize("NFKC", title))


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
