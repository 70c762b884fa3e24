"""Statistics of replicates by two passes: arrays (points, runs), sums in point order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchseal.compute.arrays import Array, sum_points


@dataclass(frozen=True, slots=True, eq=False)
class Statistics:
    """Of each column: mean; sd with n - 1 (NaN for n = 1). Both (runs,)."""

    n: int
    mean: Array
    sd: Array


def statistics(values: Array) -> Statistics:
    """Mean and standard deviation of each column of finite ``values`` (points, runs), points >= 1.

    The first value is taken off before summing, and the sum of deviations corrects the sum of squares
    (corrected two-pass; Chan, Golub and LeVeque 1983, from memory). One-pass sums of squares lose every digit
    on NIST NumAcc4.
    """
    n = len(values)
    origin = values[0]
    shifted = values - origin
    middle = sum_points(shifted) / n
    away = shifted - middle
    left = sum_points(away)
    if n == 1:
        return Statistics(n, origin + middle, np.full(values.shape[1], np.nan))
    squares = np.maximum(sum_points(away * away) - left * left / n, 0.0)
    return Statistics(n, origin + middle, np.sqrt(squares / (n - 1)))


def rsd_percent(of: Statistics) -> Array:
    """100 s/|mean|, (runs,); NaN at mean zero, where it is not defined."""
    size = np.abs(of.mean)
    return np.where(size == 0, np.nan, 100.0 * of.sd / np.where(size == 0, 1.0, size))


def lag1_autocorrelation(values: Array) -> Array:
    """Correlation of each value with the next, (runs,), as NIST StRD defines it; NaN where all are equal."""
    shifted = values - values[0]
    away = shifted - sum_points(shifted) / len(values)
    squares = sum_points(away * away)
    return np.where(squares == 0, np.nan, sum_points(away[:-1] * away[1:]) / np.where(squares == 0, 1.0, squares))


def pooled_sd(sds: Array, sizes: Array) -> tuple[Array, Array]:
    """Pooled sd and its degrees of freedom, both (runs,), of groups (groups, runs) of ``sizes`` values each."""
    df = sum_points(sizes - 1.0)
    return np.sqrt(sum_points((sizes - 1.0) * sds * sds) / df), df


def sd_of_duplicates(first: Array, second: Array) -> Array:
    """Repeatability from N pairs (pairs, runs): sqrt(sum d^2 / 2N), (runs,)."""
    apart = first - second
    return np.sqrt(sum_points(apart * apart) / (2.0 * len(apart)))
