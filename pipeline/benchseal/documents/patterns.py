"""Patterns people write, in linear time: google-re2, so no pattern can hang the reader."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Protocol, cast

import re2

LONGEST_PATTERN = 500
_GROUP = re.compile(r"\(\?P?<([A-Za-z_0-9]+)>")
_LITERAL = re.compile(r"[A-Za-z0-9 #=,;:_-]*")


class Match(Protocol):
    """The part of a match this program uses."""

    def groupdict(self) -> dict[str, str | None]:
        """Text of every named group."""
        ...

    def start(self, group: int) -> int:
        """Place of a group in the line, from 0."""
        ...


class _Compiled(Protocol):
    @property
    def groupindex(self) -> dict[str, int]: ...

    def fullmatch(self, text: str) -> Match | None: ...


class Pattern:
    """A compiled pattern. Lines that do not begin with its literal beginning never reach the automaton."""

    __slots__ = ("_compiled", "_prefix")

    def __init__(self, pattern: str, automaton: _Compiled) -> None:
        """Pattern text and what re2 made of it."""
        self._compiled = automaton
        self._prefix = _literal_beginning(pattern)

    def fullmatch(self, text: str) -> Match | None:
        """Match from the beginning to the end of ``text``."""
        return self._compiled.fullmatch(text) if text.startswith(self._prefix) else None

    @property
    def groups(self) -> tuple[str, ...]:
        """Named groups."""
        return tuple(self._compiled.groupindex)

    def column(self, found: Match, group: str) -> int:
        """Column of a named group of a match, from 1."""
        return found.start(self._compiled.groupindex[group]) + 1


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
