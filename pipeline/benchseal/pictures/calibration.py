"""The calibration picture: standards as open circles, the thin curve, and the residuals on the same x axis.

``calibration_picture`` turns numbers into places on paper, in points (1/72 inch). The SVG macro only draws them.
A straight line and a parabola are drawn exactly: a parabola is one quadratic Bézier segment.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from benchseal.pictures.axes import (
    Scale,
    Tick,
    balanced_ticks,
    on_paper,
    padded,
    power_for,
    power_words,
    ticks,
)

_TOP = 11.0  # room for the title over the y axis
_GAP = 15.0  # room between the panels, holds the title of the lower one
_FOOT = 19.0  # room for x labels and x title
_RIGHT = 5.0
_RESIDUAL_SHARE = 0.31


@dataclass(frozen=True, slots=True)
class Standard:
    """One standard: assigned concentration, signal, and why it was left out of the fit ("" if it was not)."""

    x: float
    y: float
    excluded: str = ""


@dataclass(frozen=True, slots=True)
class BandPoint:
    """The confidence band of the curve at ``x``, in signal."""

    x: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class CalibrationData:
    """What the picture is made of. ``coefficients`` are b0, b1 and, for a parabola, b2; units may be empty."""

    subject: str
    model: str
    x_quantity: str
    x_unit: str
    y_quantity: str
    y_unit: str
    standards: tuple[Standard, ...]
    coefficients: tuple[float, ...]
    band: tuple[BandPoint, ...] = ()

    def __post_init__(self) -> None:
        numbers = [n for s in self.standards for n in (s.x, s.y)] + list(self.coefficients)
        numbers += [n for b in self.band for n in (b.x, b.low, b.high)]
        if not all(math.isfinite(number) for number in numbers):
            raise ValueError("a picture needs finite numbers")
        if len({s.x for s in self.used}) < 2 or len(self.coefficients) not in (2, 3):
            raise ValueError("a calibration picture needs two levels and a line or a parabola")

    @property
    def used(self) -> tuple[Standard, ...]:
        """The standards of the fit."""
        return tuple(standard for standard in self.standards if not standard.excluded)

    def fitted(self, x: float) -> float:
        """Signal of the curve at ``x``."""
        b0, b1, b2 = (*self.coefficients, 0.0)[:3]
        return b0 + (b1 + b2 * x) * x

    def slope(self, x: float) -> float:
        """Slope of the curve at ``x``."""
        _, b1, b2 = (*self.coefficients, 0.0)[:3]
        return b1 + 2.0 * b2 * x


@dataclass(frozen=True, slots=True)
class Mark:
    """One point on paper; ``reason`` is set if it was excluded, and stands at ``label_x, label_y`` by ``anchor``."""

    x: float
    y: float
    reason: str
    label_x: float
    label_y: float
    anchor: str


@dataclass(frozen=True, slots=True)
class Panel:
    """A plotting area on paper: ``left … right``, ``top … bottom`` (y grows downwards)."""

    left: float
    right: float
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class CalibrationPicture:
    """Everything the macro draws. ``sentence`` is the text for those who cannot see the picture."""

    width: float
    height: float
    sentence: str
    x_title: str
    y_title: str
    residual_title: str
    upper: Panel
    lower: Panel
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    residual_ticks: tuple[Tick, ...]
    curve: str
    band: str
    marks: tuple[Mark, ...]
    residual_zero: float
    residual_marks: tuple[Mark, ...]


def calibration_picture(data: CalibrationData, width: float, height: float, left: float = 24.0) -> CalibrationPicture:
    """Lay ``data`` out on ``width`` x ``height`` points; ``left`` is the room for y labels."""
    upper, lower = _panels(width, height, left)
    x = _x_scale(data, upper)
    y = _y_scale(data, upper)
    residual = _residual_scale(data, lower)
    residual_ticks, power = balanced_ticks(residual)
    y_power = power_for(y.low, y.high, 5)
    return CalibrationPicture(
        width=width,
        height=height,
        sentence=_sentence(data),
        x_title=_title(data.x_quantity, data.x_unit, 0),
        y_title=_title(data.y_quantity, data.y_unit, y_power),
        residual_title=_title("residual", data.y_unit, power),
        upper=upper,
        lower=lower,
        x_ticks=ticks(x, 6),
        y_ticks=ticks(y, 5, y_power),
        residual_ticks=residual_ticks,
        curve=_curve(data, x, y),
        band=_band(data, x, y),
        marks=tuple(_mark(s, x, y, s.y) for s in data.standards),
        residual_zero=residual(0.0),
        residual_marks=tuple(
            _mark(s, x, residual, s.y - data.fitted(s.x))
            for s in data.standards
            if residual.holds(s.y - data.fitted(s.x))
        ),
    )


def _panels(width: float, height: float, left: float) -> tuple[Panel, Panel]:
    right = width - _RIGHT
    plot = height - _TOP - _GAP - _FOOT
    middle = on_paper(_TOP + plot * (1.0 - _RESIDUAL_SHARE))
    upper = Panel(left, right, _TOP, middle)
    return upper, Panel(left, right, on_paper(middle + _GAP), on_paper(height - _FOOT))


def _x_scale(data: CalibrationData, panel: Panel) -> Scale:
    levels = [standard.x for standard in data.standards]
    low, high = padded(min(levels), max(levels), 0.04)
    return Scale(low, high, panel.left, panel.right)


def _y_scale(data: CalibrationData, panel: Panel) -> Scale:
    heights = [s.y for s in data.standards] + [data.fitted(s.x) for s in data.standards]
    heights += [edge for b in data.band for edge in (b.low, b.high)]
    low, high = padded(min(heights), max(heights), 0.06)
    return Scale(low, high, panel.bottom, panel.top)


def _residual_scale(data: CalibrationData, panel: Panel) -> Scale:
    """Symmetric about zero; an excluded point does not stretch it. A perfect fit gets the signal's own scale."""
    largest = max(abs(s.y - data.fitted(s.x)) for s in data.used)
    reach = 1.25 * largest or max(abs(s.y) for s in data.used) or 1.0
    return Scale(-reach, reach, panel.bottom, panel.top)


def _title(quantity: str, unit: str, power: int) -> str:
    parts = " ".join(part for part in (power_words(power), unit) if part)
    return f"{quantity}, {parts}" if parts else quantity


def _curve(data: CalibrationData, x: Scale, y: Scale) -> str:
    """The curve between the outermost used standards."""
    levels = [standard.x for standard in data.used]
    first, last = min(levels), max(levels)
    start = f"M{x(first):g} {y(data.fitted(first)):g}"
    end = f"{x(last):g} {y(data.fitted(last)):g}"
    if len(data.coefficients) == 2:
        return f"{start}L{end}"
    half = (last - first) / 2.0
    handle = data.fitted(first) + data.slope(first) * half
    return f"{start}Q{x(first + half):g} {y(handle):g} {end}"


def _band(data: CalibrationData, x: Scale, y: Scale) -> str:
    if not data.band:
        return ""
    forth = [f"{x(b.x):g} {y(b.high):g}" for b in data.band]
    back = [f"{x(b.x):g} {y(b.low):g}" for b in reversed(data.band)]
    return f"M{'L'.join(forth + back)}Z"


def _mark(standard: Standard, x: Scale, y: Scale, height: float) -> Mark:
    """The reason stands off a rising curve: to the lower right, or in the right half to the upper left."""
    place, level = x(standard.x), y(height)
    if place > (x.start + x.end) / 2.0:
        return Mark(place, level, standard.excluded, on_paper(place - 4.0), on_paper(level - 3.0), "end")
    return Mark(place, level, standard.excluded, on_paper(place + 4.0), on_paper(level + 8.0), "start")


def _said(number: float) -> str:
    """Three figures, without an exponent."""
    return f"{Decimal(f'{number:.3g}'):f}".replace("-", "minus ")


def _sentence(data: CalibrationData) -> str:
    used = data.used
    left_out = [s for s in data.standards if s.excluded]
    worst = max(used, key=lambda s: abs(s.y - data.fitted(s.x)))
    without = "; ".join(f"{_said(s.x)} {data.x_unit}: {s.excluded}" for s in left_out)
    return (
        f"Calibration of {data.subject}, {data.model}: {len(used)} standards from "
        f"{_said(min(s.x for s in used))} to {_said(max(s.x for s in used))} {data.x_unit}, "
        f"{data.y_quantity} from {_said(min(s.y for s in used))} to {_said(max(s.y for s in used))}; "
        f"largest residual {_said(worst.y - data.fitted(worst.x))} at {_said(worst.x)} {data.x_unit}; "
        f"{'left out: ' + without if left_out else 'no standard left out'}."
    )
