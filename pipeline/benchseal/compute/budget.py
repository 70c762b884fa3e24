"""Combining standard uncertainties: contributions already in the result's unit, arrays (terms, results)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchseal.compute.arrays import Array, sum_points
from benchseal.compute.quantiles import two_sided_t

_ALMOST_WHOLE = 1e-9  # relative: rounding must not take a whole degree of freedom away
_COUNTABLE = 1e6  # beyond, that much would add whole degrees of freedom, and none is missed


@dataclass(frozen=True, slots=True, eq=False)
class Budget:
    """u, df_before_truncation, df, k, expanded: (results,); shares_percent: (terms, results).

    df: truncated downwards, ``inf`` where no contribution has finite degrees of freedom. k and expanded are NaN
    where df < 1, shares NaN where u = 0; both are worked out when asked for, since a method may state its own k.
    """

    u: Array
    df_before_truncation: Array
    df: Array
    shares_percent: Array
    confidence: float

    @property
    def k(self) -> Array:
        """Two-sided coverage factor at ``confidence``."""
        return coverage_factors(self.df, self.confidence)

    @property
    def expanded(self) -> Array:
        """Expanded uncertainty k u."""
        return self.k * self.u


def combine(contributions: Array, dfs: Array, confidence: float = 0.95) -> Budget:
    """Independent ``contributions`` >= 0 with degrees of freedom ``dfs`` (inf for type B), both (terms, results).

    Welch-Satterthwaite (JCGM 100, G.4): nu_eff = u^4/sum(u_i^4/nu_i), truncated downwards;
    k = t((1 + confidence)/2; nu_eff). Correlated inputs are one contribution; a regression has n - p.
    """
    size = np.max(contributions, axis=0) if len(contributions) else np.zeros(contributions.shape[1])
    relative = contributions / np.where(size == 0, 1.0, size)
    squares = relative * relative
    total = sum_points(squares)
    spent = sum_points(squares * squares / dfs)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        raw = np.where(spent > 0, total * total / np.where(spent > 0, spent, 1.0), np.inf)
        df = np.floor(raw + np.minimum(raw, _COUNTABLE) * _ALMOST_WHOLE)
        shares = np.where(total > 0, 100.0 * squares / np.where(total > 0, total, 1.0), np.nan)
    return Budget(size * np.sqrt(total), raw, df, shares, confidence)


def coverage_factors(df: Array, confidence: float) -> Array:
    """Two-sided t for each of whole ``df`` (results,); NaN below 1."""
    return np.array([two_sided_t(confidence, one) if one >= 1 else np.nan for one in df.tolist()], dtype=np.float64)


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a tolerance with nothing more known: a/sqrt(3). JCGM 100, 4.3.7."""
    return half_width / float(np.sqrt(3.0))


def triangular(half_width: float) -> float:
    """Standard uncertainty where values near the middle are likelier: a/sqrt(6). JCGM 100, 4.3.9."""
    return half_width / float(np.sqrt(6.0))


def u_of_resolution(step: float) -> float:
    """Standard uncertainty of a display with this step: d/(2 sqrt(3))."""
    return step / (2.0 * float(np.sqrt(3.0)))


def u_of_volume(volume: float, tolerance: float, s_fill: float, half_range_kelvin: float) -> float:
    """Standard uncertainty of a volume of aqueous solution, in its unit (Eurachem QUAM, example A1 pattern).

    Triangular tolerance, filling repeatability, and water's expansion 2.1e-4 per kelvin over a rectangular range.
    """
    warm = rectangular(volume * half_range_kelvin * 2.1e-4)
    glass = triangular(tolerance)
    return float(np.sqrt(glass * glass + s_fill * s_fill + warm * warm))


def u_of_balance_difference(linearity: float, s_repeat: float) -> float:
    """Standard uncertainty of a difference of two weighings: linearity counts twice (QUAM, from memory)."""
    one = rectangular(linearity)
    return float(np.sqrt(2.0 * one * one + s_repeat * s_repeat))
