"""The calibration picture: standards as open circles, the thin curve, and the residuals on the same x axis.

``calibration_picture`` turns numbers into places on paper, in points (1/72 inch). The SVG macro only draws them.
A straight line and a parabola are drawn exactly: a parabola is one quadratic Bézier segment. The band of the curve is
drawn about the curve and, where it can be seen, about zero among the residuals.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.pictures.axes import Scale, on_paper, padded
from benchseal.pictures.frame import (
    BETWEEN,
    FOOT,
    TOP,
    Panel,
    balanced_axis,
    left_of,
    over,
    title_of,
    x_axis,
    x_labels,
    y_axis,
    y_labels,
)
from benchseal.pictures.labels import Label, around, beside

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.pictures.axes import Tick
    from benchseal.pictures.labels import Box

_RIGHT = 9.0  # half a label may stand out there
_RESIDUAL_SHARE = 0.31
_DOT = 2.4  # reach of a point on paper
_DECIMAL = re.compile(r"(?<=[0-9])\.(?=[0-9])")
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


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
class CalibrationWords:
    """What the picture itself says: the name of the lower axis, the decimal sign, the sentence with its places.

    sentence: empty for the English one, which also says what was left out.
    """

    residual: str = "residual"
    decimal: str = "."
    sentence: str = ""


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
    words: CalibrationWords = CalibrationWords()

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
    """One point on paper; ``reason`` is set if it was excluded."""

    x: float
    y: float
    reason: str


@dataclass(frozen=True, slots=True)
class CalibrationPicture:
    """Everything the macro draws. ``sentence`` is the text for those who cannot see the picture.

    labels: all words on it. notes: reasons there was no room for beside their points, each with the letter that stands
    there. residual_band: the band about zero.
    """

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
    residual_band: str
    residual_marks: tuple[Mark, ...]
    labels: tuple[Label, ...]
    notes: tuple[str, ...]


def calibration_picture(data: CalibrationData, width: float, height: float) -> CalibrationPicture:
    """Lay ``data`` out on ``width`` x ``height`` points."""
    heights = _panels(width, height, 0.0)
    y, residual = _y_scale(data, heights[0]), _residual_scale(data, heights[1])
    y_marks, residual_marks = y_axis(y), balanced_axis(residual)
    left = left_of((y_marks, residual_marks))
    upper, lower = _panels(width, height, left)
    x = _x_scale(data, upper)
    x_marks = x_axis(x)
    x_title = title_of(data.x_quantity, data.x_unit, x_marks.power)
    y_title = title_of(data.y_quantity, data.y_unit, y_marks.power)
    residual_title = title_of(data.words.residual, data.y_unit, residual_marks.power)
    marks = tuple(_mark(s, x, y, s.y) for s in data.standards)
    reasons, notes = _reasons(marks, upper, _along(data, x, y))
    return CalibrationPicture(
        width=width,
        height=height,
        sentence=_sentence(data),
        x_title=x_title,
        y_title=y_title,
        residual_title=residual_title,
        upper=upper,
        lower=lower,
        x_ticks=x_marks.ticks,
        y_ticks=y_marks.ticks,
        residual_ticks=residual_marks.ticks,
        curve=_curve(data, x, y),
        band=_band([(b.x, b.low, b.high) for b in data.band], x, y),
        marks=marks,
        residual_zero=residual(0.0),
        residual_band=_residual_band(data, x, residual),
        residual_marks=tuple(
            _mark(s, x, residual, s.y - data.fitted(s.x))
            for s in data.standards
            if residual.holds(s.y - data.fitted(s.x))
        ),
        labels=(
            over(upper, y_title),
            *_signed(y_labels(y_marks, left), data.words.decimal),
            *reasons,
            over(lower, residual_title),
            *_signed(y_labels(residual_marks, left), data.words.decimal),
            *_signed(x_labels(x_marks, lower, x_title), data.words.decimal),
        ),
        notes=notes,
    )


def _signed(labels: Sequence[Label], decimal: str) -> tuple[Label, ...]:
    """Labels whose numbers have the decimal sign asked for; full stop and comma are equally wide."""
    return tuple(replace(one, text=_DECIMAL.sub(decimal, one.text)) for one in labels)


def _panels(width: float, height: float, left: float) -> tuple[Panel, Panel]:
    right = width - _RIGHT
    plot = height - TOP - BETWEEN - FOOT
    middle = on_paper(TOP + plot * (1.0 - _RESIDUAL_SHARE))
    upper = Panel(left, right, TOP, middle)
    return upper, Panel(left, right, on_paper(middle + BETWEEN), on_paper(height - FOOT))


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
    """Symmetric about zero; an excluded point does not stretch it, and a wide band by no more than double.

    A perfect fit gets the signal's own scale.
    """
    largest = max(abs(s.y - data.fitted(s.x)) for s in data.used)
    band = max((abs(edge - data.fitted(b.x)) for b in data.band for edge in (b.low, b.high)), default=0.0)
    reach = max(1.25 * largest, min(1.1 * band, 2.5 * largest)) or max(abs(s.y) for s in data.used) or 1.0
    return Scale(-reach, reach, panel.bottom, panel.top)


def _reasons(marks: Sequence[Mark], panel: Panel, curve: Sequence[Box]) -> tuple[tuple[Label, ...], tuple[str, ...]]:
    """Why points were left out, beside them; a letter where the words find no place, and then a note."""
    labels: list[Label] = []
    notes: list[str] = []
    dots = [around(mark.x, mark.y, _DOT) for mark in marks]
    for mark in (mark for mark in marks if mark.reason):
        taken = [*dots, *(label.box for label in labels)]
        letter = _LETTERS[len(notes) % len(_LETTERS)]
        at, others = (mark.x, mark.y), [(one.x, one.y) for one in marks]
        found = beside(mark.reason, at, panel.box, [*taken, *curve], others)
        if found is None:
            found = beside(letter, at, panel.box, [*taken, *curve], others) or beside(letter, at, panel.box, taken)
            notes.append(f"{letter}: {mark.reason}" if found else mark.reason)
        labels += [found] if found else []
    return tuple(labels), tuple(notes)


def _along(data: CalibrationData, x: Scale, y: Scale) -> list[Box]:
    """Small squares along the curve, which words should not cross."""
    first, last = min(s.x for s in data.used), max(s.x for s in data.used)
    places = [first + (last - first) * nth / 40.0 for nth in range(41)]
    return [around(x(place), y(data.fitted(place)), 1.5) for place in places]


def _residual_band(data: CalibrationData, x: Scale, residual: Scale) -> str:
    """The band about zero, cut at the edges of the panel."""
    reach = residual.high
    rows = [(b.x, b.low - data.fitted(b.x), b.high - data.fitted(b.x)) for b in data.band]
    return _band([(place, max(low, -reach), min(high, reach)) for place, low, high in rows], x, residual)


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


def _band(rows: Sequence[tuple[float, float, float]], x: Scale, y: Scale) -> str:
    """A closed path through x, low, high of each row; nothing without rows."""
    if not rows:
        return ""
    forth = [f"{x(place):g} {y(high):g}" for place, _, high in rows]
    back = [f"{x(place):g} {y(low):g}" for place, low, _ in reversed(rows)]
    return f"M{'L'.join(forth + back)}Z"


def _mark(standard: Standard, x: Scale, y: Scale, height: float) -> Mark:
    return Mark(x(standard.x), y(height), standard.excluded)


def _said(number: float) -> str:
    """Three figures, without an exponent."""
    return f"{Decimal(f'{number:.3g}'):f}".replace("-", "minus ")


def _sentence(data: CalibrationData) -> str:
    used = data.used
    left_out = [s for s in data.standards if s.excluded]
    worst = max(used, key=lambda s: abs(s.y - data.fitted(s.x)))
    if data.words.sentence:
        return _in_words(data, worst)
    without = "; ".join(f"{_said(s.x)} {data.x_unit}: {s.excluded}" for s in left_out)
    return (
        f"Calibration of {data.subject}, {data.model}: {len(used)} standards from "
        f"{_said(min(s.x for s in used))} to {_said(max(s.x for s in used))} {data.x_unit}, "
        f"{data.y_quantity} from {_said(min(s.y for s in used))} to {_said(max(s.y for s in used))}; "
        f"largest residual {_said(worst.y - data.fitted(worst.x))} at {_said(worst.x)} {data.x_unit}; "
        f"{'left out: ' + without if left_out else 'no standard left out'}."
    )


def _in_words(data: CalibrationData, worst: Standard) -> str:
    """The sentence in the words given."""
    used = data.used
    numbers = {
        "low": min(s.x for s in used),
        "high": max(s.x for s in used),
        "least": min(s.y for s in used),
        "most": max(s.y for s in used),
        "residual": worst.y - data.fitted(worst.x),
        "at": worst.x,
    }
    said = {name: _said(number).replace(".", data.words.decimal) for name, number in numbers.items()}
    return data.words.sentence.format(
        subject=data.subject, model=data.model, count=len(used), unit=data.x_unit, signal=data.y_quantity, **said
    )
