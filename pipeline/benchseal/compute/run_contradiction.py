"""Readings of one portion, at one dilution or several, that cannot all be right: none counts until a person decides.

A reading says between which bounds the content of the solution as prepared lies, concentration times dilution at the
instrument: over range, at least the highest standard; below the lowest level, at most that level; else its own value.
Two readings whose bounds leave nothing between them are of two solutions, or a dilution is not the one entered.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from benchseal.compute.run_numbers import exact_text, fraction_of, ratio_text, shown
from benchseal.records.quantities import unit_shown
from benchseal.records.results import Voided

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from benchseal.compute.run_measured import Measured
    from benchseal.records.method import Method
    from benchseal.records.quantities import PlainDecimal

CODE = "reading.contradicted"
_OFF = Fraction(1, 10)  # of each reading: a dilution is held to 90 to 110 % of the original (EPA 7000B and 7010, 9.8.2)
_K = 2  # standard uncertainties of a reading on top of it (JCGM 100, 6.2.1)


@dataclass(frozen=True, slots=True)
class _Said:
    """What one reading says of the solution as prepared. low, high: bounds, None where it gives none. words: for it."""

    position: int
    low: Fraction | None
    high: Fraction | None
    words: str


def contradicted(
    method: Method, highest: PlainDecimal, measured: Sequence[Measured], void: Collection[int]
) -> tuple[Voided, ...]:
    """Every reading of a portion whose readings contradict each other: none of them counts.

    highest: standard of the curve. measured: as read on the curve. void: positions that checks around them took; they
    say nothing, and neither does one without a value for another reason than its range, nor a tube of additions.
    """
    readings: dict[tuple[str, str], list[_Said]] = {}
    for one in measured:
        said = None if one.position in void else _said(method, highest, one)
        if said is not None:
            readings.setdefault(one.key, []).append(said)
    found: list[Voided] = []
    for own in readings.values():
        pair = next((pair for pair in combinations(own, 2) if _apart(*pair)), None)
        if pair is not None:
            found.extend(Voided(one.position, CODE, _why(*pair)) for one in own)
    return tuple(found)


def _said(method: Method, highest: PlainDecimal, one: Measured) -> _Said | None:
    portion = one.portion
    if portion is None or portion.not_determined:
        return None
    if method.calibration.additions and portion.additions.get(method.element):
        return None
    unit = unit_shown(method.solution_unit)
    diluted = "" if one.extra == 1 else f", diluted {exact_text(one.extra)} times,"
    place = f"position {one.position}{diluted}"
    if one.lost is not None and one.lost.code == "reading.over-range":
        bound = fraction_of(highest) * one.extra
        return _Said(one.position, bound * (1 - _OFF), None, f"{place} shows more than {_short(bound)} {unit}")
    if one.lost is not None or not one.x_text:
        return None
    value, lowest = fraction_of(one.x_text), fraction_of(method.lowest_level)
    if value < lowest:
        bound = lowest * one.extra
        return _Said(one.position, None, bound, f"{place} shows less than {_short(bound)} {unit}")
    off = value * _OFF + _K * fraction_of(one.u_text or "0")
    words = f"{place} shows {_short(value * one.extra)} {unit}"
    return _Said(one.position, (value - off) * one.extra, (value + off) * one.extra, words)


def _apart(one: _Said, other: _Said) -> bool:
    return any(
        low.low is not None and high.high is not None and low.low > high.high
        for low, high in ((one, other), (other, one))
    )


def _why(one: _Said, other: _Said) -> str:
    return (
        f"readings of one portion contradict each other: {one.words}, {other.words} in the solution as prepared; "
        "find out which is wrong and leave it out with its cause, or read again"
    )


def _short(value: Fraction) -> str:
    return shown(ratio_text(value))
