"""Guesses about lines outside tables: which facts they give, and the pattern that reads them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from benchseal.ingest.guess_spans import by_content
from benchseal.ingest.guess_text import date_pattern, exactly, loosely, time_pattern
from benchseal.ingest.trade_words import SECONDS, VALUES, fact_of, symbol_of
from benchseal.records.layout import FileForm, Word

_KEYED = re.compile(
    r'(?P<open>"?)(?P<key>[^:=;,\t|"]*?[A-Za-zÄÖÜäöüß/.)\]])'
    r'(?P<between>"? *[:=;,\t|]+\s*"?| *(?:\.{3,}|_{3,}|-{3,}) *[:=]? *|  +)'
    r'(?P<value>[^\s"].*?)(?P<end>[\s;,"]*)'
)
_END = r'[\s;,"]*'  # what may stand behind a value
_UNITS = {"wavelength_nm": r"\s*nm", "slit_nm": r"\s*nm", "injection_ul": r"\s*[uµμ][lL]"}


@dataclass(slots=True)
class LineGuess:
    """One line outside tables. facts: names its pattern gives. why: what it was taken for, in words."""

    number: int
    pattern: str
    facts: tuple[str, ...] = ()
    sure: bool = False
    why: str = ""
    words: tuple[Word, ...] = field(default=())


def guess_line(
    number: int, line: str, form: FileForm, given: set[str], keyed: frozenset[str] = frozenset()
) -> LineGuess:
    """What a line says, by its key or by its content, whichever says more.

    given: facts other lines give already. keyed: facts some line gives by a key of the lists; content gives way.
    """
    text = line.rstrip()
    by_key = guess_keyed(number, line, form, given)
    own = set(by_key.facts) if by_key else set()
    content = by_content(text, form, given | (keyed - own))
    if content is not None and len(content.facts) > len(own):
        return LineGuess(number, content.pattern, content.facts, why=content.why, words=content.words)
    if by_key is not None:
        return by_key
    found = _KEYED.fullmatch(line)
    if found is None:
        return LineGuess(number, loosely(text) + r"\s*", why="it says nothing; its figures may differ")
    fact = fact_of(found["key"])
    why = f"{fact} stands elsewhere, or cannot be read" if fact else f"the lists know no '{found['key'].strip()}'"
    behind = ".*" if found["between"].strip() else r"(?:\s.*)?"
    return LineGuess(number, _begun(found) + behind, why=f"{why}; whatever stands behind it is passed over")


def _begun(found: re.Match[str]) -> str:
    """The pattern of a key and what stands between it and its value; leaders may be of any length."""
    return re.sub(r"(\\?[._-])\1{2,}", r"\1+", exactly(found["open"] + found["key"] + found["between"].rstrip()))


def _ends(found: re.Match[str]) -> str:
    """What may stand behind the value: a quote, where one does."""
    return _END if '"' in found["end"] else r"[\s;,]*"


def guess_keyed(number: int, line: str, form: FileForm, given: set[str]) -> LineGuess | None:
    """What a line says by its key; None where it says nothing."""
    found = _KEYED.fullmatch(line)
    return None if found is None else _valued(number, found, fact_of(found["key"]), form, given)


def keyed_facts(lines: list[str], form: FileForm) -> frozenset[str]:
    """Facts some of these lines give by a key of the lists."""
    found: set[str] = set()
    for line in lines:
        keyed = _KEYED.fullmatch(line)
        guess = guess_keyed(0, line, form, set()) if keyed and fact_of(keyed["key"]) else None
        found |= set(guess.facts) if guess else set()
    return frozenset(found)


def _valued(number: int, found: re.Match[str], fact: str, form: FileForm, given: set[str]) -> LineGuess | None:
    before = _begun(found) + (r"\s*" if found["between"].strip() else r"\s+")
    value, why = found["value"], f"its key is '{found['key'].strip()}'"
    moment = _moment(value, form, given)
    if moment and (fact.startswith("started") or not fact):
        return LineGuess(number, before + moment[0] + _ends(found), moment[1], sure=bool(fact), why=why)
    if not fact or fact.startswith("started") or fact in given:
        return None
    if fact == "element":
        return _element(number, before, found, given, why)
    if fact in _UNITS:
        mark = re.match(r"[0-9]+([.,][0-9]+)?", value)
        group = rf"{before}(?P<{fact}>[0-9]+(?:[.,][0-9]+)?)"
        return _with_rest(LineGuess(number, group, (fact,), why=why), value[mark.end() :], found) if mark else None
    words: tuple[Word, ...] = ()
    if fact == "signal_unit" and re.fullmatch(SECONDS, value):
        words = (Word(fact, value, "A.s"),)
    if fact in VALUES:
        means = next((to for like, to in VALUES[fact] if re.search(like, value, re.IGNORECASE)), "")
        if not means:
            return None
        words = (Word(fact, value, means),)
        why += f"; '{value}' is taken for {means}"
    return LineGuess(number, f"{before}(?P<{fact}>.*?){_ends(found)}", (fact,), sure=not words, why=why, words=words)


def _element(number: int, before: str, found: re.Match[str], given: set[str], why: str) -> LineGuess | None:
    value = found["value"]
    both = re.match(r"([A-Za-zÄÖÜäöüß]+)([^0-9]+)([0-9]{3}[.,][0-9]+)", value)
    name = both[1] if both else (re.match("[A-Za-zäöüß]+", value) or [""])[0]
    symbol = symbol_of(name)
    if not symbol:
        return None
    words = () if symbol == name else (Word("element", name, symbol),)
    pattern = before + "(?P<element>[A-Za-zäöüß]+)"
    if both and "wavelength_nm" not in given:
        pattern += loosely(both[2]) + "(?P<wavelength_nm>[0-9]+[.,][0-9]+)"
        guess = LineGuess(number, pattern, ("element", "wavelength_nm"), why=why, words=words)
        return _with_rest(guess, value[both.end() :], found)
    return _with_rest(LineGuess(number, pattern, ("element",), why=why, words=words), value[len(name) :], found)


def _with_rest(guess: LineGuess, rest: str, found: re.Match[str]) -> LineGuess:
    """The guess, sure where a unit or nothing stands behind its value; else the rest is asked about.

    The rest must stand so in every file: behind an open end another element, or another number, would pass unread.
    """
    sure = not rest or bool(re.fullmatch(_UNITS.get(guess.facts[-1], ""), rest))
    why = guess.why if sure else f"{guess.why}; behind the value '{rest.strip()}' is passed over, where it stands so"
    return replace(guess, pattern=guess.pattern + loosely(rest) + _ends(found), sure=sure, why=why)


def _moment(value: str, form: FileForm, given: set[str]) -> tuple[str, tuple[str, ...]] | None:
    day, clock = date_pattern(form.date_form), time_pattern(form.time_form)
    shapes = (
        (rf'(?P<started_date>{day})[ ,;T\t|"]+(?P<started_time>{clock})', ("started_date", "started_time")),
        (rf"(?P<started_date>{day})", ("started_date",)),
        (rf"(?P<started_time>{clock})", ("started_time",)),
    )
    return next((shape for shape in shapes if re.fullmatch(shape[0], value) and not given & set(shape[1])), None)
