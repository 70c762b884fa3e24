"""Judging a calibration: back-calculated errors, relative standard error, linearity, lack of fit, spread, intercept.

No number here is ever a reason to choose a model by itself: the method fixes model and weighting beforehand, and
whether a quadratic may take a line's place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.arrays import Array, Mask, sum_points
from benchseal.compute.critical import t_critical
from benchseal.compute.fit import ROUNDING, Fault, Fit, Model, fit
from benchseal.compute.invert import rises, root_at
from benchseal.compute.quantiles import f_quantile
from benchseal.compute.statistics import statistics

if TYPE_CHECKING:
    from collections.abc import Sequence

LEAST_LEVELS_OF_QUADRATIC = 6  # EPA 8000D 11.5.3
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


def lack_of_fit(of: Fit, levels: Sequence[Sequence[int]]) -> Ratio | None:
    """Scatter about the curve against scatter of replicates; None unless there are replicates and levels enough.

    Against F(0.95; k - p, n - k) with k levels.

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
    defined &= of.good & (error > 0)
    with np.errstate(over="ignore"):
        statistic = np.where(defined, rest / df_fit / (np.where(defined, error, 1.0) / df_error), np.nan)
    return Ratio(statistic, df_fit, df_error, f_quantile(0.95, df_fit, df_error))


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


@dataclass(frozen=True, slots=True, eq=False)
class FreeIntercept:
    """b0 of the line with intercept through the points of a line through zero, and half its 95 % interval; (runs,).

    NaN where no such line can be fitted; faults says why not.
    """

    b0: Array
    half_width: Array
    faults: tuple[Fault | None, ...]

    @property
    def contains_zero(self) -> Mask:
        """Where the interval of b0 holds zero; False where there is no line."""
        with np.errstate(invalid="ignore"):
            return np.abs(self.b0) <= self.half_width


def free_intercept(of: Fit) -> FreeIntercept:
    """Intercept left out by ``of``: b0 +- t(0.975; n - 2) s_b0 of the free line with the same weights.

    EPA 8000D, 11.5.2 to 11.5.3. What rounding alone may leave of an intercept never counts as one.
    """
    line = fit(of.x, of.y, "line", "given", weights=of.weights, variance=of.variance)
    t = t_critical(0.05, line.t_df) if line.df > 0 else np.nan
    least = ROUNDING * np.max(np.abs(of.y), axis=0)
    half = np.where(line.good, np.maximum(t * line.standard_errors[0], least), np.nan)
    return FreeIntercept(line.coefficients[0], half, line.faults)


def order_objections(of: Fit, line: Fit, levels: Sequence[int]) -> tuple[tuple[str, ...], ...]:
    """Why the quadratic of each run of ``of`` may not replace its ``line``: words for the record, none where it may.

    levels: different concentrations of each run. The method must allow it, Mandel's test be significant, there must be
    at least 6 levels (EPA 8000D 11.5.3), the quadratic must rise throughout and the back-calculated errors improve.
    """
    runs = len(of.faults)
    with np.errstate(invalid="ignore"):
        smaller = rse_percent(of) < rse_percent(line)
    checks = (
        (mandel(of).exceeded if of.n >= 4 else np.full(runs, fill_value=False), "it does not fit significantly better"),
        (np.array(levels) >= LEAST_LEVELS_OF_QUADRATIC, f"there are fewer than {LEAST_LEVELS_OF_QUADRATIC} levels"),
        (rises(of), "it does not rise over the whole range"),
        (smaller, "the back-calculated errors do not get smaller"),
    )
    return tuple(tuple(words for holds, words in checks if not holds[run]) for run in range(runs))


def _sum_of_squares(of: Fit) -> Array:
    return sum_points(of.weights * of.residuals * of.residuals)


def _variance(values: Array) -> Array:
    sd = statistics(values).sd
    return sd * sd
