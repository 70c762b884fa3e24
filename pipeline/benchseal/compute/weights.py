"""Weights of a fit: what each rule gives one reading at a concentration, a calibration point's and a sample's alike.

Only ratios of weights matter where the variance is estimated (``fit.py``), so the scatter a rule states or finds
needs to be right up to a common factor.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from benchseal.compute.arrays import column
from benchseal.compute.statistics import statistics

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.arrays import Array

Weighting: TypeAlias = Literal["none", "1/x", "1/x2", "1/s2", "variance_function", "given"]


@dataclass(frozen=True, slots=True, eq=False)
class VarianceFunction:
    """s(x)^2 = s0^2 + (k x)^2 of one reading; both (runs,), not negative.

    Two-component model of Rocke and Lorenzato, Technometrics 37 (1995) 176 (secondary).
    """

    s0: Array
    k: Array


@dataclass(frozen=True, slots=True, eq=False)
class LevelScatter:
    """Standard deviations s found for the levels x of each run, and the readings behind each fitted point.

    x, s: (levels, runs), x rising, runs of fewer levels filled with their last one; s is NaN where a level has fewer
    than 2 readings. readings: (points, runs), 1 where each reading is a point.
    """

    x: Array
    s: Array
    readings: Array

    def at(self, x: Array) -> Array:
        """The s at ``x`` (samples, runs): a straight line between neighbouring levels, at the ends the end's own.

        The line between levels is this program's rule, no source.
        """
        found: Array = np.where(x < self.x[0], self.s[0], self.s[-1])
        for here in range(len(self.x) - 1):
            low, high = self.x[here], self.x[here + 1]
            width = np.where(high > low, high - low, 1.0)
            between = self.s[here] + (self.s[here + 1] - self.s[here]) * ((x - low) / width)
            found = np.where((x >= low) & (x < high), between, found)
        return found


WeightRule: TypeAlias = VarianceFunction | LevelScatter


def level_scatter(readings: Sequence[tuple[float, float]]) -> dict[float, float]:
    """Concentration to standard deviation of its readings, rising; NaN for a single one. readings: (x, y) each."""
    levels: dict[float, list[float]] = {}
    for x, y in readings:
        levels.setdefault(x, []).append(y)
    return {x: float(statistics(column(levels[x])).sd[0]) for x in sorted(levels)}


def scatter_rule(levels: Sequence[dict[float, float]], readings: Array) -> LevelScatter:
    """The rule of weighting 1/s2 for runs whose levels ``level_scatter`` found; readings: (points, runs)."""
    rows = [list(one.items()) or [(np.nan, np.nan)] for one in levels]
    longest = max(len(row) for row in rows)
    filled = [[*row, *row[-1:] * (longest - len(row))] for row in rows]
    by_level = np.array(filled, dtype=np.float64)  # (runs, levels, 2)
    return LevelScatter(by_level[:, :, 0].T.copy(), by_level[:, :, 1].T.copy(), readings)


def weight_at(weighting: Weighting, rule: WeightRule | None, x: Array) -> Array:
    """Weight of one reading at ``x`` (samples, runs); infinite where the rule divides by zero, NaN for "given"."""
    with np.errstate(all="ignore"):
        if isinstance(rule, VarianceFunction):
            grown = rule.k * x
            return 1.0 / (rule.s0 * rule.s0 + grown * grown)
        if isinstance(rule, LevelScatter):
            s = rule.at(x)
            return 1.0 / (s * s)
        if weighting == "none":
            return np.ones_like(x)
        if weighting == "given":
            return np.full_like(x, np.nan)
        return 1.0 / x if weighting == "1/x" else 1.0 / (x * x)


def weights_of(weighting: Weighting, rule: WeightRule | None, given: Array | None, x: Array) -> Array:
    """Weights of the points ``x`` (points, runs)."""
    if given is not None:
        return given
    own = weight_at(weighting, rule, x)
    return own * rule.readings if isinstance(rule, LevelScatter) else own
