"""What every picture has: plotting areas, and axes whose labels never cover each other.

Room around the areas in points: a title stands over each y axis, the x title below the x labels at the right end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from benchseal.pictures.axes import balanced_ticks, on_paper, power_for, power_words, ticks
from benchseal.pictures.labels import GAP, Box, Label, width_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.pictures.axes import Scale, Tick

TOP: Final = 12.0  # room for the title over a y axis
BETWEEN: Final = 17.0  # room between two areas, holds the title of the lower one
FOOT: Final = 20.0  # room for x labels and x title
LEAST_LEFT: Final = 24.0
_A_LABEL: Final = 8.5  # height an axis needs for each of its labels


@dataclass(frozen=True, slots=True)
class Panel:
    """A plotting area on paper: ``left … right``, ``top … bottom`` (y grows downwards)."""

    left: float
    right: float
    top: float
    bottom: float

    @property
    def box(self) -> Box:
        """The same as a part of the paper."""
        return Box(self.left, self.top, self.right, self.bottom)


@dataclass(frozen=True, slots=True)
class Axis:
    """Ticks of one axis, in units of ten to the ``power``."""

    ticks: tuple[Tick, ...]
    power: int = 0

    @property
    def widest(self) -> float:
        """Points that the widest label takes."""
        return max((width_of(tick.label) for tick in self.ticks), default=0.0)


def y_axis(scale: Scale) -> Axis:
    """As many ticks, up to five, as the height of the scale has room for."""
    most = min(5, int(abs(scale.start - scale.end) / _A_LABEL))
    power = power_for(scale.low, scale.high, max(1, most))
    return Axis(ticks(scale, max(1, most), power), power)


def balanced_axis(scale: Scale) -> Axis:
    """Ticks of a scale symmetric about zero: zero is left out where it would cover its neighbours."""
    found, power = balanced_ticks(scale)
    low, zero, high = found
    close = abs(low.at - zero.at) < 6.0
    return Axis((low, high) if close else found, power)


def x_axis(scale: Scale, at_most: int = 6, *, whole: bool = False) -> Axis:
    """As many ticks, up to ``at_most``, as can be labelled side by side. whole: at whole numbers from 1 on only."""
    span = scale.high - scale.low
    most = min(at_most, math.ceil(span) if span > 1.0 else 1) if whole else at_most  # one more would part whole numbers
    axes = (_with_ticks(scale, count, whole=whole) for count in range(most, 0, -1))
    return next((axis for axis in axes if _side_by_side(axis)), _first_only(_with_ticks(scale, 1, whole=whole)))


def _first_only(axis: Axis) -> Axis:
    return Axis(axis.ticks[:1], axis.power)


def _with_ticks(scale: Scale, at_most: int, *, whole: bool) -> Axis:
    power = 0 if whole else power_for(scale.low, scale.high, at_most)
    found = ticks(scale, at_most, power)
    return Axis(tuple(one for one in found if not whole or one.at >= scale(1.0)), power)


def _side_by_side(axis: Axis) -> bool:
    places = [(tick.at, width_of(tick.label) / 2.0) for tick in axis.ticks]
    return all(at + half + GAP <= other - wide for (at, half), (other, wide) in pairwise(places))


def left_of(axes: Sequence[Axis]) -> float:
    """Where areas begin so that the labels of their y axes fit before them."""
    return max(LEAST_LEFT, on_paper(max(axis.widest for axis in axes) + 6.0))


def y_labels(axis: Axis, left: float) -> tuple[Label, ...]:
    """Labels before the marks of a y axis that stands at ``left``."""
    return tuple(Label(left - 4.0, on_paper(tick.at + 2.4), tick.label, "end") for tick in axis.ticks)


def x_labels(axis: Axis, panel: Panel, title: str) -> tuple[Label, ...]:
    """Labels under the marks of the x axis of ``panel``, and its title."""
    named = tuple(Label(tick.at, on_paper(panel.bottom + 9.5), tick.label, "middle") for tick in axis.ticks)
    return (*named, Label(panel.right, on_paper(panel.bottom + 18.0), title, "end", quiet=True))


def over(panel: Panel, title: str) -> Label:
    """The title over a y axis."""
    return Label(0.0, on_paper(panel.top - 5.5), title, quiet=True)


def title_of(quantity: str, unit: str, power: int = 0) -> str:
    """``absorbance, 10⁻³``: quantity, power of ten and unit, what there is of them."""
    parts = " ".join(part for part in (power_words(power), unit) if part)
    return f"{quantity}, {parts}" if parts else quantity
