"""Guesses about a line by what stands in it, whatever its key.

A day and a time, a symbol with its wavelength, a technique, what the signal is, a serial number.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.ingest.guess_text import date_pattern, loosely, time_pattern
from benchseal.ingest.trade_words import FACTS, SYMBOLS, bare
from benchseal.records.layout import FileForm, Word

if TYPE_CHECKING:
    from collections.abc import Iterator
    from collections.abc import Set as AbstractSet

# Between two cells of a line outside tables: a separator, quotes, a stroke between blanks, two blanks or more.
_BETWEEN = re.compile(r'[:=;,\t|│"]| / | {2,}')
_TECHNIQUES = (
    (re.compile(r"(?i)\b(?:cold vapou?r|kaltdampf)\b"), "cold_vapour"),
    (re.compile(r"(?i)\bhydride?\b"), "hydride"),
    (re.compile(r"(?i)\b(?:(?:graphite |tube )?furnace|graphite tube|graphit(?:rohr)?ofen|graphitrohr)\b"), "furnace"),
    (re.compile(r"(?i)\bflam(?:e|me)\b"), "flame"),
)
_ABSORBANCE = re.compile(
    r'(?i)\b(?P<is>absorbance|extinktion)\b(?:(?P<gap>[ ,;\t|/"]+)(?P<unit>(?-i:A(?:bs|U)?)(?:[ .·*]s)?)(?![\w.]))?'
)
_SYMBOL = re.compile(r"(?<![A-Za-z])(?P<e>[A-Z][a-z]?)(?![A-Za-z])")
_NM = re.compile(r"[^0-9]{1,24}(?P<w>[1-8][0-9]{2}[.,][0-9]{1,2})(?![0-9])")
_NANOMETRES = "[1-9][0-9]{2}(?:[.,][0-9]{1,3})?"
_WAVELENGTH = re.compile(rf"(?i)(?<![\w.,])(?P<w>{_NANOMETRES}) ?nm\b|\bnm[^\w.]{{1,6}}(?P<v>{_NANOMETRES})(?![\w.])")
_SHORTEST, _LONGEST = 180, 900  # nanometres of the lines of atomic absorption: common practice, no source
_OPERATOR = re.compile(
    r"(?i)\b(?:oper(?:ator|\.)|analyst|user|bediener|anwender|bearbeiter|laborant|(?:read|measured) by)"
    r'["\]) ]*(?:[:=;,\t|.]|(?<=\.)|  )["\[( ]*(?P<o>(?!\d)[\w.-]*[\w])(?![\w.@-])'
)
_SERIAL = re.compile(r"(?<![\w-])[A-Z]{1,5}-?(?:[A-Z]{1,2}-)?[0-9]{2,8}(?![\w/.-])")


@dataclass(frozen=True, slots=True)
class Span:
    """A fact at a place of the line, from 0; the pattern that reads it; what its word means, where it is one."""

    fact: str
    begins: int
    ends: int
    pattern: str
    means: str = ""


@dataclass(frozen=True, slots=True)
class Content:
    """A pattern for the line, its facts, words it may use, and what was seen in it, in words."""

    pattern: str
    facts: tuple[str, ...]
    words: tuple[Word, ...]
    why: str


def by_content(text: str, form: FileForm, given: AbstractSet[str], known: tuple[Span, ...] = ()) -> Content | None:
    """What a line says by its content; None where it says nothing.

    given: facts that stand elsewhere. known: spans found already.
    """
    spans = sorted(_spans(text, form, given, known), key=lambda span: span.begins)
    if not spans:
        return None
    pattern, at = "", 0
    for span in spans:
        pattern += loosely(text[at : span.begins]) + f"(?P<{span.fact}>{span.pattern})"
        at = span.ends
    facts = tuple(span.fact for span in spans)
    words = tuple(Word(one.fact, text[one.begins : one.ends], one.means) for one in spans if one.means)
    seen = ", ".join(f"{text[one.begins : one.ends]} for {one.fact}" for one in spans)
    return Content(pattern + loosely(text[at:].rstrip()) + r"\s*", facts, words, f"taken by what stands in it: {seen}")


def _spans(text: str, form: FileForm, given: AbstractSet[str], known: tuple[Span, ...]) -> Iterator[Span]:
    taken = list(known)
    for find in (_moment, _element, _wavelength, _technique, _signal, _serial, _operator):
        for span in find(text, form, taken):
            if span.fact not in given and not any(span.begins < one.ends and one.begins < span.ends for one in taken):
                taken.append(span)
    yield from taken


def _moment(text: str, form: FileForm, _: list[Span]) -> Iterator[Span]:
    day, clock = date_pattern(form.date_form), time_pattern(form.time_form)
    found = re.search(rf'(?<![\w.:/-])({day})[ ,;T\t|"]+({clock})(?![\d:])', text)
    if found is not None:
        yield Span("started_date", *found.span(1), day)
        yield Span("started_time", *found.span(2), clock)


def _element(text: str, _: FileForm, __: list[Span]) -> Iterator[Span]:
    """A symbol with its wavelength behind it, or a cell that is nothing but a symbol of two letters.

    Behind a word such as ``Element`` it is the last word of its line.
    """
    for found in _SYMBOL.finditer(text):
        if found["e"] not in SYMBOLS:
            continue
        near = _NM.match(text, found.end())
        if near is not None:
            yield Span("element", *found.span(), "[A-Z][a-z]?")
            yield Span("wavelength_nm", *near.span("w"), "[0-9]+[.,][0-9]+")
            return
        alone = len(found["e"]) == 2 and found["e"] == _cell_at(text, found.start())
        keyed = _key_before(text, found.start()) == "element" and not re.search(r"\w", text[found.end() :])
        if alone or keyed:
            yield Span("element", *found.span(), "[A-Z][a-z]?")
            return


def _wavelength(text: str, _: FileForm, __: list[Span]) -> Iterator[Span]:
    """The only number of nanometres of a line that may be a wavelength; of two nothing tells which."""
    found = [
        span
        for each in _WAVELENGTH.finditer(text)
        for span in (each.span("w") if each["w"] else each.span("v"),)
        if _SHORTEST <= float(text[slice(*span)].replace(",", ".")) <= _LONGEST
    ]
    if len(found) == 1:
        yield Span("wavelength_nm", *found[0], "[0-9]+(?:[.,][0-9]+)?")


def _operator(text: str, _: FileForm, __: list[Span]) -> Iterator[Span]:
    """The name behind a word for whoever measured, if it stands alone up to the next cell."""
    found = _OPERATOR.search(text)
    if found is not None and found["o"] == _cell_at(text, found.start("o")).split()[-1].strip('"[]()'):
        yield Span("operator", *found.span("o"), r"\S*\w")


def _technique(text: str, _: FileForm, taken: list[Span]) -> Iterator[Span]:
    """A word for a technique that is a cell of its own, stands behind a key, or beside other facts."""
    for words, means in _TECHNIQUES:
        for found in words.finditer(text):
            alone = found[0] == _cell_at(text, found.start())
            other = taken or _SERIAL.search(text)
            if alone or other or _key_before(text, found.start()) == "technique":
                pattern = " ".join(["[A-Za-zÄÖÜäöüß]+"] * (found[0].count(" ") + 1))
                yield Span("technique", *found.span(), pattern, means)
                return


def _signal(text: str, _: FileForm, taken: list[Span]) -> Iterator[Span]:
    found = _ABSORBANCE.search(text)
    if found is None or not (taken or _BETWEEN.search(text.strip())):
        return  # in a line of one cell it is a title
    yield Span("signal_is", *found.span("is"), "[A-Za-z]+", "absorbance")
    if found["unit"]:
        seconds = found["unit"][-1] == "s" and not found["unit"].isalpha()
        pattern = r"[A-Za-z]+\W[A-Za-z]+" if seconds else "[A-Za-z]+"
        yield Span("signal_unit", *found.span("unit"), pattern, "A.s" if seconds else "A")


def _serial(text: str, _: FileForm, __: list[Span]) -> Iterator[Span]:
    found = _SERIAL.search(text)
    if found is not None:
        yield Span("instrument_serial", *found.span(), "[A-Za-z0-9-]+")


def _cell_at(text: str, place: int) -> str:
    """The cell of the line a place stands in."""
    before = max((found.end() for found in _BETWEEN.finditer(text) if found.end() <= place), default=0)
    behind = _BETWEEN.search(text, place)
    return text[before : behind.start() if behind else len(text)].strip()


def _key_before(text: str, place: int) -> str:
    """The fact that the word before a place is a key of."""
    words = bare(text[:place]).split()
    return FACTS.get(words[-1], "") if words else ""
