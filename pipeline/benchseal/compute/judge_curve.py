"""Judging a calibration: back-calculated errors, relative standard error, linearity, lack of fit, spread.

No number here is ever a reason to choose a model by itself: the method fixes model and weighting beforehand.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.arrays import Array, Mask, sum_points
from benchseal.compute.fit import ROUNDING, Fit, Model, fit
from benchseal.compute.invert import rises, root_at
from benchseal.compute.quantiles import f_quantile
from benchseal.compute.statistics import statistics

if TYPE_CHECKING:
    from collections.abc import Sequence

_COMPARED: tuple[Model, Model] = ("line", "quadratic")


@dataclass(frozen=True, slots=True, eq=False)
class Ratio:
    """An F ratio of each run, its degrees of freedom and the value it is held against.

    statistic: (runs,), NaN where it is not defined (no fit, or nothing to divide by).
    """

    statistic: Array
    df1: int
    df2: int
    critical: float

    @property
    def exceeded(self) -> Mask:
        """Where the statistic lies above the critical value; False where it is not defined."""
        with np.errstate(invalid="ignore"):
            return self.statistic > self.critical


def back_calculated_percent_error(of: Fit) -> Array:
    """100 (x' - x)/x at each point, (points, runs); NaN at x = 0 and where the curve never reaches the reading.

    EPA 8000D, 11.5.4.1.
    """
    x_again, found = root_at(of, of.y)
    zero = of.x == 0
    return np.where(found & ~zero, 100.0 * (x_again - of.x) / np.where(zero, 1.0, of.x), np.nan)


def rse_percent(of: Fit) -> Array:
    """Relative standard error in percent, (runs,); NaN where it is not defined. EPA 8000D, 11.5.4.2.

    Points at x = 0 count neither in the sum nor in n; p is the number of coefficients.
    """
    return relative_standard_error(back_calculated_percent_error(of), of.x != 0, len(of.powers))


def relative_standard_error(percent_errors: Array, counted: Mask, coefficients: int) -> Array:
    """sqrt(sum e^2/(n - p)) over the counted points, (runs,); NaN where n <= p or an error is missing."""
    squares = sum_points(np.where(counted, percent_errors * percent_errors, 0.0))
    df = np.count_nonzero(counted, axis=0) - coefficients
    return np.where(df > 0, np.sqrt(squares / np.where(df > 0, df, 1)), np.nan)


def mandel(of: Fit) -> Ratio:
    """Whether a quadratic fits the points of a line or quadratic better. ISO 8466-1 (from memory).

    PG = ((n-2) s1^2 - (n-3) s2^2)/s2^2 against F(0.99; 1, n-3); both fits with the weights of ``of``.
    Needs at least 4 points; undefined where the quadratic leaves no scatter.
    """
    if of.model == "line_through_zero" or of.n < 4:
        raise AssertionError("Mandel's test compares a line with a quadratic on at least 4 points")
    pair = [fit(of.x, of.y, model, "given", weights=of.weights) for model in _COMPARED]
    line, quadratic = (_sum_of_squares(one) for one in pair)
    defined = pair[1].scatters
    gain = np.maximum(line - quadratic, 0.0)
    with np.errstate(over="ignore"):
        statistic = np.where(defined, gain * (of.n - 3) / np.where(defined, quadratic, 1.0), np.nan)
    return Ratio(statistic, 1, of.n - 3, f_quantile(0.99, 1, of.n - 3))


def lack_of_fit(of: Fit, levels: Sequence[Sequence[int]], probability: float = 0.95) -> Ratio | None:
    """Scatter about the curve against scatter of replicates; None unless there are replicates and levels enough.

    levels: for each level the places of its points; every run of ``of`` has the same. ISO 11095 (from memory).
    """
    df_error, df_fit = of.n - len(levels), len(levels) - len(of.powers)
    if df_error < 1 or df_fit < 1:
        return None
    error, noise = np.zeros(of.x.shape[1]), ROUNDING * np.max(np.abs(of.y), axis=0)
    defined = np.zeros(of.x.shape[1], dtype=np.bool_)
    for level in levels:
        w, y = of.weights[list(level)], of.y[list(level)]
        away = y - sum_points(w * y) / sum_points(w)
        error = error + sum_points(w * away * away)
        defined |= np.any(np.abs(away) > noise, axis=0)
    rest = np.maximum(_sum_of_squares(of) - error, 0.0)
    defined &= of.good
    with np.errstate(over="ignore"):
        statistic = np.where(defined, rest / df_fit / (np.where(defined, error, 1.0) / df_error), np.nan)
    return Ratio(statistic, df_fit, df_error, f_quantile(probability, df_fit, df_error))


def levels_of(x: Sequence[float]) -> tuple[tuple[int, ...], ...]:
    """Places of equal x, in order of first appearance."""
    places: dict[float, list[int]] = {}
    for place, value in enumerate(x):
        places.setdefault(value, []).append(place)
    return tuple(tuple(level) for level in places.values())


def homogeneity(low: Array, high: Array) -> Ratio:
    """Variances of the replicates of the lowest and the highest level, (points, runs) each, at least 2 points.

    The greater over the smaller against F(0.99). ISO 8466-1 with 10 replicates (from memory). The degrees of
    freedom are those of the greater variance first; they must be equal for both levels or one run be given.
    """
    pair = [_variance(values) for values in (low, high)]
    high_greater = pair[1] >= pair[0]
    greater, smaller = np.maximum(*pair), np.minimum(*pair)
    if len(low) != len(high) and low.shape[1] != 1:
        raise AssertionError("levels of unequal size are compared one run at a time")
    dfs = (len(high) - 1, len(low) - 1) if bool(high_greater[0]) else (len(low) - 1, len(high) - 1)
    with np.errstate(over="ignore"):
        statistic = np.where(smaller > 0, greater / np.where(smaller > 0, smaller, 1.0), np.nan)
    return Ratio(statistic, *dfs, f_quantile(0.99, *dfs))


def order_objections(of: Fit, line: Fit, levels: int, *, allowed: bool) -> tuple[str, ...]:
    """Why one run's quadratic ``of`` may not replace its ``line``: words for the record, empty when it may.

    (a) the method allows it, (b) Mandel significant, (c) at least 6 levels (EPA 8000D 11.5.3), (d) monotonic,
    (e) back-calculated errors improve.
    """
    checks = (
        (allowed, "the method does not allow a quadratic"),
        (of.n >= 4 and bool(mandel(of).exceeded[0]), "the quadratic does not fit significantly better"),
        (levels >= 6, "fewer than 6 levels"),
        (bool(rises(of)[0]), "the quadratic does not rise over the whole range"),
        (bool(rse_percent(of)[0] < rse_percent(line)[0]), "the back-calculated errors do not improve"),
    )
    return tuple(words for holds, words in checks if not holds)


def _sum_of_squares(of: Fit) -> Array:
    return sum_points(of.weights * of.residuals * of.residuals)


def _variance(values: Array) -> Array:
    sd = statistics(values).sd
    return sd * sd
