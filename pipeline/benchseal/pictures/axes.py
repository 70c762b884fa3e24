"""Scales and ticks: where a value falls on paper, and which round numbers stand beside the axis.

Steps are 1, 2 or 5 times a power of ten. A label is exact decimal text of its tick, never a rounded one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

_STEPS = (1, 2, 5)
_LONG = 6  # a step of so many figures more than one makes labels too long
_SHORT = 10_000  # labels of at most four figures before the decimal sign
_SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


@dataclass(frozen=True, slots=True)
class Tick:
    """One mark on an axis: its place on paper and the text beside it."""

    at: float
    label: str


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight map of ``low … high`` (data) to ``start … end`` (paper); ``end`` may be less than ``start``."""

    low: float
    high: float
    start: float
    end: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low < self.high):
            raise ValueError(f"a scale needs finite low < high, got {self.low!r} and {self.high!r}")

    def __call__(self, value: float) -> float:
        """Place of ``value`` on paper, to a hundredth of a point."""
        share = (value - self.low) / (self.high - self.low)
        return on_paper(self.start + share * (self.end - self.start))

    def holds(self, value: float) -> bool:
        """Whether ``value`` lies on the axis."""
        return self.low <= value <= self.high


def on_paper(place: float) -> float:
    """``place`` to a hundredth of a point; never minus zero, so that equal pictures have equal bytes."""
    return round(place, 2) + 0.0


def padded(low: float, high: float, share: float = 0.05) -> tuple[float, float]:
    """The span ``low … high`` widened by ``share`` of itself at both ends; a span of nothing gets one."""
    room = (high - low) * share or abs(high) * share or 1.0
    return low - room, high + room


def step_for(low: float, high: float, at_most: int) -> Decimal:
    """The smallest step of 1, 2 or 5 times a power of ten that puts at most ``at_most`` steps in the span."""
    if at_most < 1 or not high > low:
        raise ValueError("ticks need a span and room for one step")
    span = high - low
    power = math.floor(math.log10(span / at_most))
    steps = (Decimal(step).scaleb(power + up) for up in (0, 1, 2) for step in _STEPS)
    return next(step for step in steps if float(step) * at_most >= span)


def round_values(low: float, high: float, at_most: int) -> tuple[Decimal, ...]:
    """The multiples of the step that lie within ``low … high``, ascending and exact."""
    step = step_for(low, high, at_most)
    first = math.ceil(low / float(step) - 1e-9)
    last = math.floor(high / float(step) + 1e-9)
    return tuple(step * count for count in range(first, last + 1))


def plain_label(value: Decimal, places: int = 0) -> str:
    """``value`` as a reader writes it: no exponent, a true minus sign, ``places`` figures after the mark."""
    text = f"{value:.{max(places, 0)}f}"
    return "0" if value == 0 else text.replace("-", "\N{MINUS SIGN}")


def places_of(step: Decimal) -> int:
    """Figures after the decimal mark that ``step`` needs."""
    exponent = step.normalize().as_tuple().exponent
    if not isinstance(exponent, int):
        raise TypeError("a step is finite")
    return max(0, -exponent)


def ticks(scale: Scale, at_most: int, power: int = 0) -> tuple[Tick, ...]:
    """Round ticks of ``scale``; labels are in units of ten to the ``power``."""
    values = round_values(scale.low, scale.high, at_most)
    places = places_of(step_for(scale.low, scale.high, at_most).scaleb(-power))
    return tuple(Tick(scale(float(value)), plain_label(value.scaleb(-power), places)) for value in values)


def power_for(low: float, high: float, at_most: int) -> int:
    """The power of ten, a multiple of three, that keeps labels short: 0 while two decimals are enough.

    0, too, where numbers close together are so large that they would only lose their decimal sign by it.
    """
    power = power_of_step(step_for(low, high, at_most))
    return 0 if power < 0 and max(abs(low), abs(high)) >= _SHORT * 10.0**power else power


def power_of_step(step: Decimal) -> int:
    """As ``power_for``, for a step already chosen; steps of a million and more are shortened, too."""
    if step.adjusted() >= _LONG:
        return 3 * (step.adjusted() // 3)
    return 0 if places_of(step) <= 2 else 3 * math.floor((step.adjusted() + 1) / 3)


def power_words(power: int) -> str:
    """``10⁻³`` for -3; empty for 0."""
    return f"10{str(power).translate(_SUPERSCRIPT)}" if power else ""


def balanced_ticks(scale: Scale) -> tuple[tuple[Tick, ...], int]:
    """Three ticks of a scale that is symmetric about zero (minus a round value, 0, plus it), and their power."""
    step = _largest_step(scale.high)
    value = step * math.floor(scale.high / float(step) + 1e-9)
    power = power_of_step(step)
    places = places_of(step.scaleb(-power))
    return tuple(
        Tick(scale(float(at)), plain_label(at.scaleb(-power), places)) for at in (-value, Decimal(0), value)
    ), power


def _largest_step(reach: float) -> Decimal:
    """The largest 1, 2 or 5 times a power of ten that is at most ``reach``."""
    power = math.floor(math.log10(reach))
    steps = [Decimal(step).scaleb(power + up) for up in (-1, 0) for step in _STEPS]
    return max(step for step in steps if float(step) <= reach)
