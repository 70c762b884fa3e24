"""Drift between brackets, and standard additions. A correction never rescues a failed bracket."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from benchseal.compute.arrays import Array, Mask, square, sum_points
from benchseal.compute.invert import rises
from benchseal.compute.quantiles import two_sided_t

if TYPE_CHECKING:
    from benchseal.compute.fit import Fit

Pair: TypeAlias = tuple[tuple[float, float], tuple[float, float]]  # (position, absorbance), before and after
NoDrift: TypeAlias = Literal["positions_equal", "no_sensitivity"]
NoAddition: TypeAlias = Literal["not_fitted", "not_rising", "slope_not_significant"]


@dataclass(frozen=True, slots=True, eq=False)
class Drift:
    """drift_percent of the net check standard; for each sample (samples,): baseline, net, factor, corrected.

    bracketed: False where the sample does not lie between both pairs of checks; its numbers are NaN.
    """

    drift_percent: float
    blank: Array
    net: Array
    factor: Array
    corrected: Array
    bracketed: Mask


def drift(check_blank: Pair, check_standard: Pair, positions: Array, absorbances: Array) -> Drift | NoDrift:
    """Baseline B(t) and net standard S(t), each straight between its two checks; corrected = (A - B) S0/S(t).

    Each pair is in order of position; the standard is netted with the baseline at its own position, which outside
    the two blanks is the nearer blank. positions, absorbances: (samples,). Common practice, no source.
    """
    if check_blank[0][0] >= check_blank[1][0] or check_standard[0][0] >= check_standard[1][0]:
        return "positions_equal"
    spans = [a - float(_between(check_blank, np.array([at]))[0]) for at, a in check_standard]
    if min(spans) <= 0:
        return "no_sensitivity"
    starts, ends = _span(check_blank, check_standard)
    bracketed = (positions >= starts) & (positions <= ends)
    at = np.where(bracketed, positions, starts)
    blank = _between(check_blank, at)
    net = absorbances - blank
    span = _between(((check_standard[0][0], spans[0]), (check_standard[1][0], spans[1])), at)
    factor = spans[0] / span
    shown = [np.where(bracketed, one, np.nan) for one in (blank, net, factor, net * factor)]
    percent = 100.0 * (spans[1] - spans[0]) / spans[0]
    return Drift(percent, shown[0], shown[1], shown[2], shown[3], bracketed)


def _span(one: Pair, other: Pair) -> tuple[float, float]:
    """Where both pairs stand on either side."""
    return max(one[0][0], other[0][0]), min(one[1][0], other[1][0])


def _between(pair: Pair, at: Array) -> Array:
    """Straight line through two points, held constant outside them."""
    (start, first), (end, last) = pair
    fraction = np.minimum(np.maximum((at - start) / (end - start), 0.0), 1.0)
    return np.where(fraction < 1.0, first + (last - first) * fraction, last)  # the end is met exactly


@dataclass(frozen=True, slots=True)
class Addition:
    """Concentration in the measured solution, its standard uncertainty, and t u at the confidence asked."""

    x: float
    u: float
    df: int
    half_width: float


def standard_addition(line: Fit, confidence: float = 0.95) -> Addition | NoAddition:
    """Concentration b0/b1 from one unweighted line through the added amounts (one run).

    u = (s/b1) sqrt(1/n + ybar^2/(b1^2 Sxx)): no term for a reading, since y = 0 is not one (IUPAC vocabulary of
    metrology, secondary). y must be blank and background corrected.
    """
    if line.faults[0] is not None:
        return "not_fitted"
    b0, b1 = (float(b) for b in line.coefficients[:, 0])
    if not rises(line)[0]:
        return "not_rising"
    t = two_sided_t(confidence, line.df)
    if square(t * float(line.standard_errors[1, 0]) / b1) >= 1:
        return "slope_not_significant"
    x_mean, y_mean = (float(sum_points(one)[0]) / line.n for one in (line.x, line.y))
    away = line.x - x_mean
    sxx = float(sum_points(away * away)[0])
    u = float(line.residual_sd[0]) / b1 * sqrt(1 / line.n + square(y_mean / b1) / sxx)
    return Addition(b0 / b1, u, line.df, t * u)
