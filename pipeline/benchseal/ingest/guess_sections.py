"""Guesses about lines that come again with each section: what differs from one to the next, and what they share."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from benchseal.documents.patterns import LONGEST_PATTERN, compiled
from benchseal.ingest.guess_text import loosely, one_of, words_of
from benchseal.ingest.trade_words import symbol_of
from benchseal.records.layout import Word

if TYPE_CHECKING:
    from collections.abc import Sequence
    from collections.abc import Set as AbstractSet

    from benchseal.ingest.guess_lines import LineGuess

_WORD = re.compile("[A-Za-zÄÖÜäöüß]+")
_KEY = re.compile(r"[^:;=\t|,]*[:;=\t|,]")


def shape_of(line: str) -> str:
    """A line without what may differ from table to table: words of one or two letters, names of metals, numbers."""
    keyed = _KEY.match(line.strip())
    if keyed:
        without = _WORD.sub(lambda found: "" if symbol_of(found[0]) else found[0], keyed[0])
        return without if _WORD.search(without) else keyed[0]
    words = (word for word in line.split() if not word[:1].isdigit() and len(word) > 2)
    return " ".join(word for word in words if not symbol_of(word.strip(".,()[]")))


def is_like(line: str, other: str) -> bool:
    """Whether two lines differ by no more than what may differ from table to table."""
    return loosely(shape_of(line)) == loosely(shape_of(other))


def over_sections(lines: Sequence[str], guess: LineGuess, given: AbstractSet[str]) -> LineGuess:
    """The guess for the line of the first section, so that it fits those of the others, too.

    Where the only words that differ are names of elements, they are the fact.
    """
    parts = [words_of(line) for line in lines]
    if guess.facts or len({len(each) for each in parts}) != 1:
        return guess
    pattern, facts, words = r"\s*", guess.facts, list(guess.words)
    for together in zip(*parts, strict=True):
        symbols = [symbol_of(word) for word in together]
        if all(symbols) and len(set(together)) > 1 and "element" not in {*given, *facts}:
            pattern += "(?P<element>[A-Za-zäöüß]+)"
            facts = (*facts, "element")
            words += [Word("element", word, of) for word, of in zip(together, symbols, strict=True) if word != of]
        else:
            pattern += one_of(together)
    if not facts and len(guess.pattern) <= LONGEST_PATTERN and all(map(compiled(guess.pattern).fullmatch, lines)):
        return guess
    why = "the names of elements in it differ from section to section" if facts else guess.why
    return replace(guess, pattern=pattern + r"\s*", facts=facts, sure=False, why=why, words=tuple(dict.fromkeys(words)))
