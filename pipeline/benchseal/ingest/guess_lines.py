"""Guesses about lines outside tables: which facts they give, and the pattern that reads them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from benchseal.ingest.guess_text import date_pattern, time_pattern
from benchseal.ingest.trade_words import FACTS, SYMBOLS, VALUES, bare
from benchseal.records.layout import FileForm, Word

if TYPE_CHECKING:
    from collections.abc import Iterator

_KEYED = re.compile(
    r"(?P<key>[^:=;,\t|]*?[A-Za-zÄÖÜäöüß/.)\]])(?P<between> *[:=;,\t|]+\s*|  +)(?P<value>\S.*?)(?P<end>[\s;,]*)"
)
_KEYLESS = re.compile(r"(?P<word>[^:=;,\t|]+)")
_METALS = {"lead": "Pb", "blei": "Pb", "cadmium": "Cd", "copper": "Cu", "kupfer": "Cu", "zinc": "Zn", "zink": "Zn",
           "nickel": "Ni", "chromium": "Cr", "chrom": "Cr", "iron": "Fe", "eisen": "Fe", "mercury": "Hg",
           "quecksilber": "Hg", "arsenic": "As", "arsen": "As", "selenium": "Se", "selen": "Se", "sodium": "Na",
           "natrium": "Na", "potassium": "K", "kalium": "K", "calcium": "Ca", "magnesium": "Mg", "silver": "Ag",
           "silber": "Ag", "manganese": "Mn", "mangan": "Mn", "cobalt": "Co", "aluminium": "Al"}  # fmt: skip


@dataclass(slots=True)
class LineGuess:
    """One line outside tables. facts: names its pattern gives. why: what it was taken for, in words."""

    number: int
    pattern: str
    facts: tuple[str, ...] = ()
    sure: bool = False
    why: str = ""
    words: tuple[Word, ...] = field(default=())


def exactly(text: str) -> str:
    """A pattern for this text; runs of blanks may be of any length."""
    return re.sub(r"(?:\\? )+", " +", "".join(_escaped(text)))


def _escaped(text: str) -> Iterator[str]:
    for sign in text:
        if sign == "\t":
            yield r"\t"
        else:
            yield f"\\{sign}" if sign in r"\.+*?()[]{}^$|" else sign


def loosely(text: str) -> str:
    """A pattern for lines like this one: its figures may differ."""
    return re.sub(r"[0-9]+", "[0-9]+", exactly(text))


def guess_line(number: int, line: str, form: FileForm, given: set[str]) -> LineGuess:
    """What a line says, by its key or by its content. given: facts other lines give already."""
    text = line.rstrip()
    together = _together(number, text, form, given)
    if together is not None:
        return together
    found = _KEYED.fullmatch(line)
    if found is not None:
        fact = FACTS.get(bare(found["key"]), "")
        guess = _valued(number, found, fact, form, given)
        if guess is not None:
            return guess
        why = (
            f"the lists know no '{found['key'].strip()}'" if not fact else f"{fact} stands elsewhere, or cannot be read"
        )
        return LineGuess(number, exactly(found["key"] + found["between"].rstrip()) + ".*", why=why)
    free = _free(number, text, form, given)
    return free or LineGuess(number, exactly(text) + r"\s*", why="it is read as it stands and says nothing")


def _valued(number: int, found: re.Match[str], fact: str, form: FileForm, given: set[str]) -> LineGuess | None:
    before = exactly(found["key"] + found["between"].rstrip()) + (r"\s*" if found["between"].strip() else r"\s+")
    value, why = found["value"], f"its key is '{found['key'].strip()}'"
    moment = _moment(value, form, given)
    if moment and (fact.startswith("started") or not fact):
        return LineGuess(number, before + moment[0] + r"[\s;,]*", moment[1], sure=bool(fact), why=why)
    if not fact or fact.startswith("started") or fact in given:
        return None
    if fact == "element":
        return _element(number, before, value, given, why)
    if fact in {"wavelength_nm", "slit_nm", "injection_ul"}:
        mark = re.match(r"[0-9]+([.,][0-9]+)?", value)
        group = rf"(?P<{fact}>[0-9]+(?:[.,][0-9]+)?).*"
        return LineGuess(number, before + group, (fact,), sure=True, why=why) if mark else None
    words: tuple[Word, ...] = ()
    if fact in VALUES:
        means = next((to for like, to in VALUES[fact] if re.search(like, value, re.IGNORECASE)), "")
        if not means:
            return None
        words = (Word(fact, value, means),)
        why += f"; '{value}' is taken for {means}"
    return LineGuess(number, f"{before}(?P<{fact}>.*?)[\\s;,]*", (fact,), sure=not words, why=why, words=words)


def _element(number: int, before: str, value: str, given: set[str], why: str) -> LineGuess | None:
    both = re.match(r"([A-Za-zÄÖÜäöüß]+)([^0-9]+)([0-9]{3}[.,][0-9]+)", value)
    name = both[1] if both else (re.match("[A-Za-zäöüß]+", value) or [""])[0]
    symbol = name if name in SYMBOLS else _METALS.get(name.lower(), "")
    if not symbol:
        return None
    words = () if symbol == name else (Word("element", name, symbol),)
    pattern = before + "(?P<element>[A-Za-zäöüß]+)"
    if both and "wavelength_nm" not in given:
        pattern += r"[^0-9]+(?P<wavelength_nm>[0-9]+[.,][0-9]+).*"
        return LineGuess(number, pattern, ("element", "wavelength_nm"), sure=True, why=why, words=words)
    return LineGuess(number, pattern + r"(?:\W.*)?", ("element",), sure=True, why=why, words=words)


def _moment(value: str, form: FileForm, given: set[str]) -> tuple[str, tuple[str, ...]] | None:
    day, clock = date_pattern(form.date_form), time_pattern(form.time_form)
    shapes = (
        (rf"(?P<started_date>{day})[ ,;T]+(?P<started_time>{clock})", ("started_date", "started_time")),
        (rf"(?P<started_date>{day})", ("started_date",)),
        (rf"(?P<started_time>{clock})", ("started_time",)),
    )
    return next((shape for shape in shapes if re.fullmatch(shape[0], value) and not given & set(shape[1])), None)


def _together(number: int, text: str, form: FileForm, given: set[str]) -> LineGuess | None:
    """A symbol, its wavelength, then a day and a time, all in one line."""
    facts = ("element", "wavelength_nm", "started_date", "started_time")
    both = rf"(?P<started_date>{date_pattern(form.date_form)})[ ,;T]+(?P<started_time>{time_pattern(form.time_form)})"
    found = re.fullmatch(rf"(?P<lead>.*?)\b(?P<e>[A-Z][a-z]?)[ ,;]+[0-9]{{3}}[.,][0-9]+(?P<mid>[^0-9]+){both}", text)
    if found is None or found["e"] not in SYMBOLS or given & set(facts):
        return None
    line = r"(?P<element>[A-Z][a-z]?)[ ,;]+(?P<wavelength_nm>[0-9]{3}[.,][0-9]+)"
    pattern = f"{loosely(found['lead'])}{line}{exactly(found['mid'])}{both}\\s*"
    return LineGuess(number, pattern, facts, why="a symbol, a wavelength, a day and a time stand in it")


def _free(number: int, text: str, form: FileForm, given: set[str]) -> LineGuess | None:
    """A line without a key: an element with its wavelength, or a day and time somewhere in it."""
    found = re.fullmatch(
        r"(?P<lead>\W*(?:[A-Za-z]+\W+)?)(?P<e>[A-Z][a-z]?)(?P<b>\W+)(?P<w>[0-9]{3}[.,][0-9]+)(?P<r>.*)", text
    )
    if found and found["e"] in SYMBOLS and not given & {"element", "wavelength_nm"}:
        pattern = f"{exactly(found['lead'])}(?P<element>[A-Z][a-z]?)[^0-9]+(?P<wavelength_nm>[0-9]+[.,][0-9]+).*"
        return LineGuess(number, pattern, ("element", "wavelength_nm"), sure=True, why="a symbol and a wavelength")
    day, clock = date_pattern(form.date_form), time_pattern(form.time_form)
    found = re.search(rf"(?P<d>{day})(?P<b>[ ,;T]+)(?P<t>{clock})", text)
    if found and not given & {"started_date", "started_time"}:
        head, tail = text[: found.start()], text[found.end() :]
        both = f"(?P<started_date>{day})[ ,;T]+(?P<started_time>{clock})"
        pattern = loosely(head) + both + loosely(tail) + r"\s*"
        return LineGuess(number, pattern, ("started_date", "started_time"), why="a day and a time stand in it")
    return None
