"""Control charts of single values: limits from a frozen base period, and the published run rules.

Western Electric: Statistical Quality Control Handbook, 1956. Nelson: Journal of Quality Technology 16 (1984) 237.
Both from memory. Values are compared in exact arithmetic; "beyond" means farther away, not as far.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.arrays import column
from benchseal.compute.statistics import statistics

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

NoChart: TypeAlias = Literal["base_too_few", "base_too_long", "no_spread"]
RuleSet: TypeAlias = Literal["western_electric", "nelson"]
LEAST_BASE, WISHED_BASE = 10, 20  # common practice, no source
_Finds: TypeAlias = "Callable[[Sequence[_Seen]], int | None]"


@dataclass(frozen=True, slots=True)
class Limits:
    """Centre and standard deviation of a chart; base: how many first values gave them, 0 where they were stated."""

    mean: Fraction
    s: Fraction
    base: int

    def at(self, times: int) -> tuple[Fraction, Fraction]:
        """Lower and upper limit at so many standard deviations."""
        return self.mean - times * self.s, self.mean + times * self.s


@dataclass(frozen=True, slots=True)
class Break:
    """A stretch of values, first to last (places from 0), that breaks one rule."""

    rules: RuleSet
    rule: int
    words: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class _Seen:
    """A value as the rules see it.

    side: 1 above the mean, -1 below, 0 on it. zone: how many whole standard deviations, up to 3, it lies beyond.
    """

    value: Fraction
    side: int
    zone: int


@dataclass(frozen=True, slots=True)
class _Rule:
    """A rule is broken at a place when ``finds`` something in the ``span`` values that end there.

    finds gives how many of these values come before the first that counts, or None. shortest: at the start of a
    chart fewer values than ``span`` can break it already.
    """

    number: int
    span: int
    words: str
    finds: _Finds
    shortest: int


def base_limits(values: Sequence[Fraction], base: int) -> Limits | NoChart:
    """Mean and s (n - 1) of the first ``base`` values; they stay as they are while the chart grows."""
    if base < LEAST_BASE:
        return "base_too_few"
    if base > len(values):
        return "base_too_long"
    first = values[:base]
    mean = sum(first, Fraction(0)) / base
    s = Fraction(float(statistics(column([float(value - first[0]) for value in first])).sd[0]))
    return Limits(mean, s, base) if s > 0 else "no_spread"


def breaks(values: Sequence[Fraction], limits: Limits, sets: Sequence[RuleSet]) -> tuple[Break, ...]:
    """Every stretch that breaks a rule of ``sets``, rule by rule; overlapping spans of one rule are one stretch."""
    seen = [_seen(value, limits) for value in values]
    return tuple(
        Break(name, rule.number, rule.words, first, last)
        for name in sets
        for rule in _RULES[name]
        for first, last in _stretches(seen, rule)
    )


def _seen(value: Fraction, limits: Limits) -> _Seen:
    away = abs(value - limits.mean)
    zone = sum(1 for times in (1, 2, 3) if away > times * limits.s)
    return _Seen(value, (value > limits.mean) - (value < limits.mean), zone)


def _stretches(seen: Sequence[_Seen], rule: _Rule) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for last in range(rule.shortest - 1, len(seen)):
        start = max(0, last - rule.span + 1)
        before = rule.finds(seen[start : last + 1])
        if before is None:
            continue
        first = start + before
        if found and first <= found[-1][1]:
            found[-1] = (found[-1][0], last)
        else:
            found.append((first, last))
    return found


def _some(least: int, span: int, zone: int, number: int, words: str) -> _Rule:
    """At least ``least`` of ``span`` values, the last among them, beyond ``zone`` standard deviations on one side."""

    def finds(window: Sequence[_Seen]) -> int | None:
        side = window[-1].side
        outside = [one.side == side and one.zone >= zone for one in window]
        return outside.index(True) if outside[-1] and sum(outside) >= least else None

    return _Rule(number, span, words, finds, least)


def _all(span: int, holds: Callable[[Sequence[_Seen]], bool], number: int, words: str) -> _Rule:
    """All of ``span`` values together."""
    return _Rule(number, span, words, lambda window: 0 if holds(window) else None, span)


def _one_side(window: Sequence[_Seen]) -> bool:
    return abs(sum(one.side for one in window)) == len(window)


def _steps(window: Sequence[_Seen]) -> list[int]:
    """1 for each step up, -1 for each step down, 0 where two values are equal."""
    pairs = pairwise(window)
    return [(after.value > before.value) - (after.value < before.value) for before, after in pairs]


def _trend(window: Sequence[_Seen]) -> bool:
    return abs(sum(_steps(window))) == len(window) - 1


def _alternating(window: Sequence[_Seen]) -> bool:
    steps = _steps(window)
    return all(one * other < 0 for one, other in pairwise(steps))


def _all_within(window: Sequence[_Seen]) -> bool:
    return all(one.zone == 0 for one in window)


def _none_within(window: Sequence[_Seen]) -> bool:
    return all(one.zone >= 1 for one in window)


_BEYOND_3 = "a value beyond 3 s"
_TWO_OF_THREE = "two of three values in a row beyond 2 s on one side"
_FOUR_OF_FIVE = "four of five values in a row beyond 1 s on one side"
_RULES: dict[RuleSet, tuple[_Rule, ...]] = {
    "western_electric": (
        _some(1, 1, 3, 1, _BEYOND_3),
        _some(2, 3, 2, 2, _TWO_OF_THREE),
        _some(4, 5, 1, 3, _FOUR_OF_FIVE),
        _all(8, _one_side, 4, "eight values in a row on one side of the mean"),
    ),
    "nelson": (
        _some(1, 1, 3, 1, _BEYOND_3),
        _all(9, _one_side, 2, "nine values in a row on one side of the mean"),
        _all(6, _trend, 3, "six values in a row, each above or each below the one before"),
        _all(14, _alternating, 4, "fourteen values in a row, up and down in turn"),
        _some(2, 3, 2, 5, _TWO_OF_THREE),
        _some(4, 5, 1, 6, _FOUR_OF_FIVE),
        _all(15, _all_within, 7, "fifteen values in a row within 1 s of the mean"),
        _all(8, _none_within, 8, "eight values in a row, none within 1 s of the mean"),
    ),
}
