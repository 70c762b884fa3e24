"""Worked examples: a question to ``calc`` with the figures a source gives, asked on the machine at hand.

A file of them is ``{"examples": [{id, source, confirmed, ask, expect}]}``; ``ask`` is a request as ``calc`` takes it.
Each part of ``expect`` names a place in the answer, ``samples/0/x``, and one of: ``printed``, the text of the source,
which the answer must give when rounded to its places (a half goes away from zero); ``value`` and ``digits``, on how
many significant digits the two agree; ``equals``, a text, truth value or whole number.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from math import isfinite
from typing import TYPE_CHECKING, Any, Final

from benchseal.compute.calc import answer
from benchseal.records.quantities import decimal_of, is_plain_decimal, value_of_record

if TYPE_CHECKING:
    from collections.abc import Iterator

_EXAMPLE: Final = {"id": str, "source": str, "confirmed": str, "ask": dict, "expect": list}
_FORMS: Final = ({"at", "printed"}, {"at", "value", "digits"}, {"at", "equals"})


@dataclass(frozen=True, slots=True)
class Compared:
    """One figure of one example: its place, what the source says, what this machine gives, whether the two agree."""

    at: str
    expected: str
    found: str
    holds: bool


@dataclass(frozen=True, slots=True)
class Example:
    """One worked example. confirmed: how far the source was read: ``yes``, ``second hand`` or ``from memory``."""

    id: str
    source: str
    confirmed: str
    ask: dict[str, Any]
    expect: tuple[dict[str, Any], ...]


def examples_of(value: object) -> tuple[Example, ...]:
    """The examples of a parsed file. Raises ValueError naming the first thing that does not fit."""
    listed = value.get("examples") if isinstance(value, dict) and value.keys() == {"examples"} else None
    if not isinstance(listed, list) or not listed:
        raise ValueError("it is no object with a list 'examples'")
    return tuple(_example(one, f"examples/{place}") for place, one in enumerate(listed))


def compare(example: Example) -> tuple[Compared, ...]:
    """Every figure of an example against what ``calc`` answers here."""
    answered = answer(example.ask)
    if isinstance(answered, tuple):
        refused = "; ".join(problem.what for problem in answered)
        return tuple(Compared(one["at"], _said(one), f"no answer: {refused}", holds=False) for one in example.expect)
    return tuple(_compared(one, _at(answered, one["at"])) for one in example.expect)


def _example(one: object, where: str) -> Example:
    if not isinstance(one, dict) or one.keys() != _EXAMPLE.keys():
        raise ValueError(f"{where} does not have exactly the keys {', '.join(_EXAMPLE)}")
    if wrong := [name for name, kind in _EXAMPLE.items() if not isinstance(one[name], kind) or not one[name]]:
        raise ValueError(f"{where}: {', '.join(wrong)} is empty or of another type")
    for place, expected in enumerate(one["expect"]):
        if fault := "; ".join(_faults(expected)):
            raise ValueError(f"{where}/expect/{place}: {fault}")
    return Example(one["id"], one["source"], one["confirmed"], one["ask"], tuple(one["expect"]))


def _faults(expected: object) -> Iterator[str]:
    if not isinstance(expected, dict) or expected.keys() not in _FORMS or not isinstance(expected["at"], str):
        yield "it has at and printed, or at, value and digits, or at and equals"
    elif "printed" in expected and not _is_decimal(expected["printed"]):
        yield "printed is no plain decimal text"
    elif "digits" in expected and not (type(expected["digits"]) is int and 1 <= expected["digits"] <= 15):
        yield "digits is no whole number from 1 to 15"
    elif "value" in expected and not _is_number(expected["value"]):
        yield "value is no number as text"
    elif "equals" in expected and type(expected["equals"]) not in {str, bool, int}:
        yield "equals is no text, truth value or whole number"


def _compared(expected: dict[str, Any], found: object) -> Compared:
    at, said = expected["at"], _said(expected)
    if "equals" in expected:
        holds = type(found) is type(expected["equals"]) and found == expected["equals"]
        return Compared(at, said, _word(found), holds)
    if isinstance(found, bool) or not isinstance(found, int | float):
        return Compared(at, said, _word(found), holds=False)
    if "printed" in expected:
        printed = Decimal(expected["printed"])
        rounded = Decimal(repr(found)).quantize(printed, rounding=ROUND_HALF_UP)
        return Compared(at, said, str(rounded), rounded == printed)
    true = float(expected["value"])
    apart = abs(found - true) / (abs(true) or 1.0)
    return Compared(at, said, value_of_record(float(found)), apart <= 10.0 ** -expected["digits"])


def _at(answered: object, path: str) -> object:
    """What stands at ``samples/0/x``; None where nothing does."""
    found = answered
    for part in path.split("/"):
        if isinstance(found, dict):
            found = found.get(part)
        elif isinstance(found, list) and part.isdigit() and int(part) < len(found):
            found = found[int(part)]
        else:
            return None
    return found


def _said(expected: dict[str, Any]) -> str:
    if "equals" in expected:
        return _word(expected["equals"])
    return expected["printed"] if "printed" in expected else f"{expected['value']} on {expected['digits']} digits"


def _word(found: object) -> str:
    words = {None: "nothing", True: "true", False: "false"}
    if isinstance(found, bool) or found is None:
        return words[found]
    return "a refusal" if isinstance(found, dict) and "refused" in found else str(found)[:80]


def _is_decimal(text: object) -> bool:
    return isinstance(text, str) and is_plain_decimal(text) and decimal_of(text).is_finite()


def _is_number(text: object) -> bool:
    try:
        return isinstance(text, str) and isfinite(float(text))
    except ValueError:
        return False
