"""Patterns people write, in linear time: google-re2, so no pattern can hang the reader."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Protocol, cast

import re2

LONGEST_PATTERN = 500
_LONGEST_REMEMBERED, _MOST_REMEMBERED = 200, 256  # signs of a line; lines of each pattern
_GROUP = re.compile(r"\(\?P?<([A-Za-z_0-9]+)>")
_LITERAL = re.compile(r"[A-Za-z0-9 #=,;:_-]*")


class Match(Protocol):
    """The part of a match this program uses."""

    def groupdict(self) -> dict[str, str | None]:
        """Text of every named group."""
        ...

    def start(self, group: str) -> int:
        """Place of a group in the line, from 0."""
        ...


class _Match(Protocol):
    def groupdict(self) -> dict[str, str | None]: ...

    def start(self, group: int) -> int: ...


class _Compiled(Protocol):
    @property
    def groupindex(self) -> dict[str, int]: ...

    def fullmatch(self, text: str) -> _Match | None: ...


class Found:
    """What a match found, kept: text of each named group, and its place in the line, from 0."""

    __slots__ = ("_starts", "_texts")

    def __init__(self, found: _Match, places: dict[str, int]) -> None:
        """Everything of a match that is ever asked for. places: number of each named group."""
        self._texts = found.groupdict()
        self._starts = {name: found.start(place) for name, place in places.items()}

    def groupdict(self) -> dict[str, str | None]:
        """Text of every named group; not to be changed."""
        return self._texts

    def start(self, group: str) -> int:
        """Place of a group in the line, from 0."""
        return self._starts[group]


class Pattern:
    """A compiled pattern. Lines that do not begin with its literal beginning never reach the automaton.

    What was found in the last short lines is remembered: the heads of one instrument's files repeat each other.
    """

    __slots__ = ("_compiled", "_prefix", "_remembered")

    def __init__(self, pattern: str, automaton: _Compiled) -> None:
        """Pattern text and what re2 made of it."""
        self._compiled = automaton
        self._prefix = _literal_beginning(pattern)
        self._remembered: dict[str, Found | None] = {}

    def fullmatch(self, text: str) -> Match | None:
        """Match from the beginning to the end of ``text``."""
        if not text.startswith(self._prefix):
            return None
        if text in self._remembered:
            return self._remembered[text]
        matched = self._compiled.fullmatch(text)
        found = None if matched is None else Found(matched, self._compiled.groupindex)
        if len(text) <= _LONGEST_REMEMBERED:
            if len(self._remembered) >= _MOST_REMEMBERED:
                self._remembered.clear()
            self._remembered[text] = found
        return found

    @property
    def prefix(self) -> str:
        """What every line it matches begins with; empty where that is not known."""
        return self._prefix

    @property
    def groups(self) -> tuple[str, ...]:
        """Named groups."""
        return tuple(self._compiled.groupindex)

    def column(self, found: Match, group: str) -> int:
        """Column of a named group of a match, from 1."""
        return found.start(group) + 1


@lru_cache(maxsize=1024)
def compiled(pattern: str) -> Pattern:
    """Compile one pattern. Raises ValueError with the reason for a pattern that is none."""
    if len(pattern) > LONGEST_PATTERN:
        raise ValueError(f"longer than {LONGEST_PATTERN} signs")
    names = _GROUP.findall(pattern)
    if len(set(names)) != len(names):
        raise ValueError("two groups have the same name")
    options = re2.Options()
    options.log_errors = False
    options.max_mem = 1 << 22
    try:
        return Pattern(pattern, cast("_Compiled", re2.compile(pattern, options)))
    except (re2.error, UnicodeError) as fault:
        reason = fault.args[0] if fault.args else fault
        raise ValueError(reason.decode() if isinstance(reason, bytes) else str(reason)) from None


def _literal_beginning(pattern: str) -> str:
    """Signs every match begins with; a sign that a repetition follows does not count."""
    if "|" in pattern:
        return ""
    found = _LITERAL.match(pattern)
    literal = found[0] if found else ""
    return literal[:-1] if pattern[len(literal) : len(literal) + 1] in {"*", "+", "?", "{"} else literal
