"""Which passwords are accepted. Never whether one is right: that is ``password_hashes.py``.

Rules: NIST SP 800-63B-4 section 3.1.1.2 (length; no composition rules; compare with common, expected and compromised
values; say why one is refused), from memory of the published text. How much must be left once guessable parts
are taken out (8) is common practice, no source.

A message says which rule refused and never shows any part of the password.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

from benchseal.identity.common_words import COMMON_WORDS
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Sequence

SHORTEST = 15  # the only factor: SP 800-63B-4
LONGEST = 128  # at least 64 must be allowed; the bound keeps one sign-in from costing more than another
LEFT_AT_LEAST = 8

_PROGRAM = "benchseal"
_ROWS = (
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890",
    "qwertyuiop",
    "qwertzuiop",
    "azertyuiop",
    "asdfghjkl",
    "zxcvbnm",
    "yxcvbnm",
    "1qaz2wsx3edc4rfv5tgb6yhn7ujm8ik9ol0p",
    "1q2w3e4r5t6y7u8i9o0p",
    "qazwsxedcrfvtgbyhnujmikolp",
)
_SHORTEST_RUN = 4
_SHORTEST_WORD = 3


def normalized(password: str) -> str:
    """The password as it is checked and hashed: Unicode NFKC, nothing trimmed or cut (SP 800-63B-4)."""
    return unicodedata.normalize("NFKC", password)


def password_problems(password: str, *, person: str, laboratory: str) -> tuple[Problem, ...]:
    """Everything that speaks against this password for this person; empty if it is accepted."""
    text = normalized(password)
    problems = [*_length_problems(text), *_character_problems(text)]
    if len(text) >= SHORTEST:
        once = _length_counted_once(text)
        if once < SHORTEST:
            problems.append(
                _problem(
                    "repeats",
                    f"it repeats itself; counted once it has {once} characters, at least {SHORTEST} are needed.",
                )
            )
        problems += _guessable_problems(text, person, laboratory)
    return tuple(problems)


def _length_problems(text: str) -> list[Problem]:
    if len(text) < SHORTEST:
        return [_problem("short", f"it has {len(text)} characters; at least {SHORTEST} are needed.")]
    if len(text) > LONGEST:
        return [_problem("long", f"it has {len(text)} characters; at most {LONGEST} are possible.")]
    return []


def _character_problems(text: str) -> list[Problem]:
    if any(unicodedata.category(letter) in {"Cc", "Cs", "Cn", "Zl", "Zp"} for letter in text):
        return [_problem("character", "it holds a character that cannot be typed at a prompt (control or unassigned).")]
    return []


def _length_counted_once(text: str) -> int:
    """Length of the shortest beginning of which ``text`` is a repetition (its own length if it is none)."""
    return next(size for size in range(1, len(text) + 1) if text[size:] == text[:-size])


def _guessable_problems(text: str, person: str, laboratory: str) -> list[Problem]:
    """One rule: take out what anybody would try first, and look at what is left."""
    plain = _plain(text)
    left, found = plain, list[str]()
    for words, name in (
        (_words_of(person.removeprefix("p-")), "the user id"),
        (_words_of(laboratory), "the laboratory name"),
        ([_PROGRAM], "the program name"),
        (COMMON_WORDS, "common passwords"),
    ):
        without = _without_words(left, words)
        if without != left:
            left, found = without, [*found, name]
    without = _without_runs(left)
    if without != left:
        left, found = without, [*found, "runs of keys, letters or figures"]
    if not found or (len(left) >= LEFT_AT_LEAST and not left.isdigit()):
        return []
    return [_problem("guessable", f"it is made of {_listed(found)}; too little else is left.")]


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def _words_of(name: str) -> list[str]:
    """A name as one word, and each of its words."""
    parts = "".join(letter if letter.isalnum() else " " for letter in normalized(name).casefold()).split()
    return [word for word in ("".join(parts), *parts) if len(word) >= _SHORTEST_WORD]


def _without_words(text: str, words: Sequence[str]) -> str:
    for word in sorted(words, key=len, reverse=True):
        text = text.replace(word, "")
    return text


def _without_runs(text: str) -> str:
    kept, at = [], 0
    while at < len(text):
        run = _run_at(text, at)
        if run < _SHORTEST_RUN:
            kept.append(text[at])
            run = 1
        at += run
    return "".join(kept)


def _run_at(text: str, at: int) -> int:
    """Length of the longest run that begins at ``at``: one character repeated, or a row read either way."""
    same = len(text[at:]) - len(text[at:].lstrip(text[at]))
    longest = same
    for row in _ROWS:
        for line in (row, row[::-1]):
            size = longest + 1
            while at + size <= len(text) and text[at : at + size] in line:
                longest, size = size, size + 1
    return longest


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def _problem(rule: str, what: str) -> Problem:
    return Problem(
        f"identity.password-{rule}",
        "password",
        f"It cannot be used: {what}",
        "Choose another, for instance four or more unrelated words; blanks and any script are welcome.",
    )
