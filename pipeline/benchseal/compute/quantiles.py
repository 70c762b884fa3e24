"""Quantiles and tails of the normal, Student, F and noncentral Student distributions.

``scipy.special`` is imported at the first call: most commands never need it. What judging a curve needs does without.
"""

from __future__ import annotations

from functools import cache
from math import erfc, inf, sqrt
from typing import TYPE_CHECKING

from benchseal.compute.critical import f_critical

if TYPE_CHECKING:
    from types import ModuleType

_HALVINGS = 60


@cache
def _special() -> ModuleType:
    from scipy import special  # noqa: PLC0415  a third of a command's start-up time, seldom needed

    return special


@cache
def t_quantile(probability: float, df: float) -> float:
    """Student t below which ``probability`` lies. 0 < probability < 1; df > 0, ``inf`` for the normal."""
    if df == inf:
        return normal_quantile(probability)
    return float(_special().stdtrit(df, probability))


def two_sided_t(confidence: float, df: float) -> float:
    """Coverage factor of a two-sided interval: t((1 + confidence)/2; df)."""
    return t_quantile((1 + confidence) / 2, df)


def f_quantile(probability: float, df1: int, df2: int) -> float:
    """F below which ``probability`` lies, with whole degrees of freedom df1 and df2."""
    return f_critical(1 - probability, df1, df2)


def f_tail(statistic: float, df1: float, df2: float) -> float:
    """Probability of an F above ``statistic``."""
    return float(_special().fdtrc(df1, df2, statistic))


def normal_quantile(probability: float) -> float:
    """Standard normal deviate below which ``probability`` lies."""
    return float(_special().ndtri(probability))


def normal_below(deviate: float) -> float:
    """Probability of a standard normal below ``deviate``: half the complementary error function."""
    return 0.5 * erfc(-deviate / sqrt(2.0))


def t_noncentrality(statistic: float, df: float, probability: float) -> float:
    """Noncentrality at which ``probability`` of the noncentral t lies below ``statistic``; 0 < probability < 1.

    By bisection on the distribution: the library's own inverse keeps only seven digits.
    """
    below = _special().nctdtr
    low, high = min(statistic, 0.0) - 1.0, max(statistic, 0.0) + 1.0
    while below(df, low, statistic) < probability:
        low = 2.0 * low
    while below(df, high, statistic) > probability:
        high = 2.0 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if below(df, middle, statistic) > probability else (low, middle)
    return float((low + high) / 2.0)
