"""Two standards close around a sample, and one standard that corrects a stored curve: exact until the last step."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import sqrt
from typing import Literal, TypeAlias

NoBracket: TypeAlias = Literal["not_rising", "outside_brackets", "brackets_wide"]
NoFactor: TypeAlias = Literal["not_rising", "reference_outside", "no_sensitivity", "no_signal"]
NoSample: TypeAlias = Literal["no_root", "over_range", "below_lowest"]
WINDOW = Fraction(1, 5)  # common practice, no source
_EDGE = 1e-12  # of the top of the range: what rounding may move a reading on its edge


@dataclass(frozen=True, slots=True)
class Standard:
    """A standard of concentration x > 0 and its reading y."""

    x: Fraction
    y: Fraction


def bracketed(low: Standard, high: Standard, y: Fraction, window: Fraction = WINDOW) -> Fraction | NoBracket:
    """Concentration at reading ``y`` on the straight line through two standards. Common practice, no source.

    x = x1 + (x2 - x1)(A - A1)/(A2 - A1), only for A1 <= A <= A2 and standards within x (1 - window) and
    x (1 + window).
    """
    if low.x >= high.x or low.y >= high.y:
        return "not_rising"
    if not low.y <= y <= high.y:
        return "outside_brackets"
    x = low.x + (high.x - low.x) * (y - low.y) / (high.y - low.y)
    close = low.x >= (1 - window) * x and high.x <= (1 + window) * x
    return x if close else "brackets_wide"


def u_bracketed(low: Standard, high: Standard, y: Fraction, u_readings: tuple[float, float, float]) -> float:
    """Standard uncertainty of ``bracketed`` from those of the readings of low, high, sample; standards not in it."""
    u_low, u_high, u_y = u_readings
    part = float((y - low.y) / (high.y - low.y))
    per_signal = float((high.x - low.x) / (high.y - low.y))
    parts = (u_y, (1.0 - part) * u_low, part * u_high)
    return per_signal * sqrt(parts[0] * parts[0] + parts[1] * parts[1] + parts[2] * parts[2])


@dataclass(frozen=True, slots=True)
class StoredCurve:
    """A stored curve of net absorbances: coefficients in rising powers (two or three), and its range."""

    coefficients: tuple[Fraction, ...]
    low: Fraction
    high: Fraction

    def at(self, x: Fraction) -> Fraction:
        """Net absorbance at ``x``."""
        value = Fraction(0)
        for coefficient in reversed(self.coefficients):
            value = value * x + coefficient
        return value

    @property
    def rises(self) -> bool:
        """Whether the curve rises over its whole range."""
        _, b1, b2 = (*self.coefficients, Fraction(0))[:3]
        return all(b1 + 2 * b2 * x > 0 for x in (self.low, self.high))


@dataclass(frozen=True, slots=True)
class Correction:
    """factor = nominal/net: what later net absorbances are multiplied by."""

    nominal: Fraction
    net: Fraction
    factor: Fraction

    def within(self, window: Fraction = WINDOW) -> bool:
        """Whether the factor lies from 1 - window to 1 + window. 0.8 to 1.2 is common practice, no source."""
        return abs(self.factor - 1) <= window


def one_standard(curve: StoredCurve, standard: Standard, blank: Fraction) -> Correction | NoFactor:
    """Factor from one standard read today against the stored curve. Common practice, no source.

    factor = A_nominal/(A_measured - B), A_nominal from the curve at the standard. A quadratic is scaled in y, not
    fitted again. The curve must be one of net absorbances.
    """
    if not curve.rises:
        return "not_rising"
    if not curve.low <= standard.x <= curve.high:
        return "reference_outside"
    nominal, net = curve.at(standard.x), standard.y - blank
    if nominal <= 0:
        return "no_signal"
    return Correction(nominal, net, nominal / net) if net > 0 else "no_sensitivity"


def on_curve(curve: StoredCurve, net: Fraction) -> tuple[float, NoSample | None]:
    """Concentration at net absorbance ``net`` on the rising branch, and why it is no result; NaN without a root.

    x = 2 (y - b0)/(b1 + sqrt(D)), D = b1^2 - 4 b2 (b0 - y), which stays right as b2 goes to zero.
    """
    b0, b1, b2 = (*curve.coefficients, Fraction(0))[:3]
    under = b1 * b1 - 4 * b2 * (b0 - net)
    if under < 0:
        return float("nan"), "no_root"
    root = sqrt(under)
    rise = float(b1) + root
    x = 2.0 * float(net - b0) / rise if b1 > 0 else (root - float(b1)) / (2.0 * float(b2))
    room = _EDGE * float(max(abs(curve.low), abs(curve.high)))
    if x > float(curve.high) + room:
        return x, "over_range"
    return x, "below_lowest" if x < float(curve.low) - room else None
