"""Critical values of F and of Student t at whole degrees of freedom.

Judging a curve needs a few of them in every run, and loading scipy takes a third of a command's start-up time. Only
+, -, *, / and square roots are used, so that every machine finds the same bits.
"""

from __future__ import annotations

from functools import cache
from math import inf, pi, sqrt

_EPSILON = 2.0**-52
_MOST_TERMS = 10_000  # of the continued fraction; it needs about the root of the degrees of freedom
_MOST_STEPS = 200


@cache
def f_critical(alpha: float, df1: int, df2: int) -> float:
    """F that is exceeded with probability ``alpha``, 0 < alpha < 1; df1, df2 whole and at least 1.

    P(F > f) = I_y(df2/2, df1/2) with y = df2/(df2 + df1 f) (Abramowitz and Stegun 26.6.2, from memory), solved for y
    by Newton's method kept between bounds.
    """
    if df1 < 1 or df2 < 1 or not 0 < alpha < 1:
        raise AssertionError("an F has whole degrees of freedom and a probability between 0 and 1")
    low, high = 0.0, 1.0
    y = df2 / (df1 + df2)
    for _ in range(_MOST_STEPS):
        below, density = _beta(y, df2, df1)
        if below > alpha:
            high = y
        else:
            low = y
        nearer = y - (below - alpha) / density if density > 0 else -1.0
        if not low < nearer < high:
            nearer = (low + high) / 2.0
        done = abs(nearer - y) <= _EPSILON * y
        y = nearer
        if done:
            break
    return df2 * (1.0 - y) / (df1 * y)


@cache
def t_critical(alpha: float, df: float) -> float:
    """Student t whose size is exceeded with probability ``alpha`` (two-sided); df whole, or infinite for the normal."""
    if df == inf:
        from statistics import NormalDist  # noqa: PLC0415  seldom needed

        return NormalDist().inv_cdf(1.0 - alpha / 2.0)
    return sqrt(f_critical(alpha, 1, int(df)))


def _beta(y: float, p: int, q: int) -> tuple[float, float]:
    """Regularized incomplete beta function I_y(p/2, q/2) and its derivative by y, 0 < y < 1."""
    front = _front(y, p, q)
    a, b = p / 2.0, q / 2.0
    if y <= (a + 1.0) / (a + b + 2.0):  # where the continued fraction converges quickly
        below = front * _fraction(y, a, b) / a
    else:
        below = 1.0 - front * _fraction(1.0 - y, b, a) / b
    return below, front / (y * (1.0 - y))


def _front(y: float, p: int, q: int) -> float:
    """y^(p/2) (1-y)^(q/2)/B(p/2, q/2), factor by factor so that neither end of the range of floats is reached.

    B(a + 1, b) = B(a, b) a/(a + b), from B(1/2, 1/2) = pi, B(1/2, 1) = B(1, 1/2) = 2 and B(1, 1) = 1.
    """
    odd_p, odd_q = p % 2, q % 2
    a, b = (0.5 if odd_p else 1.0), (0.5 if odd_q else 1.0)
    value = 1.0 / (pi if odd_p and odd_q else 2.0 if odd_p or odd_q else 1.0)
    value = value * (sqrt(y) if odd_p else 1.0) * (sqrt(1.0 - y) if odd_q else 1.0)
    small = [y] * (p // 2) + [1.0 - y] * (q // 2)
    while a < p / 2.0 or b < q / 2.0:
        if a < p / 2.0:
            value, a = value * ((a + b) / a), a + 1.0
        if b < q / 2.0:
            value, b = value * ((a + b) / b), b + 1.0
        while small and value > 1.0:
            value = value * small.pop()
    for factor in small:
        value = value * factor
    return value


def _fraction(y: float, a: float, b: float) -> float:
    """Continued fraction of the incomplete beta function (Abramowitz and Stegun 26.5.8, from memory), by Lentz."""
    c, d = 1.0, 1.0 / (1.0 - (a + b) * y / (a + 1.0))
    value = d
    for m in range(1, _MOST_TERMS):
        even = m * (b - m) * y / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
        d, c = 1.0 / (1.0 + even * d), 1.0 + even / c
        value = value * d * c
        odd = -(a + m) * (a + b + m) * y / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
        d, c = 1.0 / (1.0 + odd * d), 1.0 + odd / c
        value = value * d * c
        if abs(d * c - 1.0) < _EPSILON:
            break
    return value
