"""How the scatter of readings grows with concentration: s(x)^2 = s0^2 + (k x)^2, fitted to replicates by level.

The two-component idea is that of Rocke and Lorenzato, Technometrics 37 (1995) 176 (secondary): a constant part near
zero, a proportional part above. Their error of proportion is lognormal; here both parts are taken as normal, which
agrees while k x stays well below the signal.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log, sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.arrays import column
from benchseal.compute.judge_curve import levels_of
from benchseal.compute.statistics import statistics

if TYPE_CHECKING:
    from collections.abc import Sequence

NoVariance: TypeAlias = Literal["too_few_levels", "no_spread", "no_scatter_at_zero"]
LEAST_LEVELS = 3  # two coefficients pass through any two levels
_STEP, _HALVINGS = 0.1, 50
_LOG10_RATIOS = tuple(-8.0 + _STEP * step for step in range(161))  # of (k x_max / s0)^2


@dataclass(frozen=True, slots=True)
class Level:
    """One level: its readings' standard deviation s (None for a single reading), and what the function gives."""

    x: float
    n: int
    s: float | None
    fitted: float


@dataclass(frozen=True, slots=True)
class VarianceFunction:
    """s0 in the unit of the readings, k in that unit per unit of x; df: readings less levels."""

    s0: float
    k: float
    df: int
    levels: tuple[Level, ...]


@dataclass(frozen=True, slots=True)
class _Scatter:
    """A level with scatter: u = (x/x_max)^2, s squared, its degrees of freedom."""

    u: float
    variance: float
    df: int


@dataclass(frozen=True, slots=True)
class _Parts:
    """Shares of the constant and of the proportional part in the variance at x_max; together 1."""

    constant: float
    proportional: float

    def at(self, u: float) -> float:
        """Variance at a level, over that at x_max."""
        return self.constant + self.proportional * u


def variance_function(x: Sequence[float], y: Sequence[float]) -> VarianceFunction | NoVariance:
    """Fit s0 >= 0 and k >= 0 to readings ``y`` at levels ``x`` >= 0, equal lengths; equal x is one level.

    Maximum likelihood on the level variances, each of which is chi-square distributed: sum of
    df (ln v + s^2/v) is least, v = s0^2 + (k x)^2. For any ratio k/s0 the best size has a closed form, so one
    number is searched for: 161 ratios and both ends, then the zero of the derivative by halving. Same readings,
    same answer.
    A level at x = 0 without scatter would make the likelihood endless (s0 = 0), so it is refused.
    """
    places = levels_of(x)
    spread = [_sd([y[place] for place in level]) for level in places]
    top = max((abs(x[level[0]]) for level in places), default=0.0)
    found = [
        _Scatter((x[level[0]] / top) ** 2 if top else 0.0, sd * sd, len(level) - 1)
        for level, sd in zip(places, spread, strict=True)
        if sd is not None
    ]
    if len(found) < LEAST_LEVELS:
        return "too_few_levels"
    if all(one.variance == 0 for one in found):
        return "no_spread"
    if any(one.variance == 0 and one.u == 0 for one in found):
        return "no_scatter_at_zero"
    best = _best(found)
    size = _size(found, best)
    levels = tuple(
        Level(x[level[0]], len(level), sd, sqrt(size * best.at((x[level[0]] / top) ** 2)))
        for level, sd in zip(places, spread, strict=True)
    )
    s0, k = sqrt(size * best.constant), sqrt(size * best.proportional) / top
    return VarianceFunction(s0, k, sum(one.df for one in found), levels)


def _sd(readings: Sequence[float]) -> float | None:
    return None if len(readings) < 2 else float(statistics(column(readings)).sd[0])


def _best(found: Sequence[_Scatter]) -> _Parts:
    """Parts of the variance at x_max that make the readings likeliest."""
    grid = [_Parts(1.0, 0.0), *(_parts(ratio) for ratio in _LOG10_RATIOS), _Parts(0.0, 1.0)]
    costs = [_cost(found, parts) for parts in grid]
    best = costs.index(min(costs))
    if best in (0, len(grid) - 1):
        return grid[best]
    middle = _LOG10_RATIOS[best - 1]
    left, right = middle - _STEP, middle + _STEP
    for _ in range(_HALVINGS):
        left, right = (middle, right) if _falls(found, _parts(middle)) else (left, middle)
        middle = (left + right) / 2.0
    return _parts(middle)


def _parts(log10_ratio: float) -> _Parts:
    ratio: float = 10.0**log10_ratio
    return _Parts(1.0 / (1.0 + ratio), ratio / (1.0 + ratio))


def _size(found: Sequence[_Scatter], parts: _Parts) -> float:
    """Variance at x_max that is likeliest for these parts."""
    total, df = 0.0, 0
    for one in found:
        total = total + one.df * one.variance / parts.at(one.u)
        df += one.df
    return total / df


def _cost(found: Sequence[_Scatter], parts: _Parts) -> float:
    """Minus twice the logarithm of the likelihood at the best size, less what no parts change."""
    if any(parts.at(one.u) <= 0 for one in found):
        return inf
    size = _size(found, parts)
    total, df = 0.0, 0
    for one in found:
        total = total + one.df * log(parts.at(one.u))
        df += one.df
    return total + df * log(size) if 0 < size < inf else inf


def _falls(found: Sequence[_Scatter], parts: _Parts) -> bool:
    """Whether the cost falls as the proportional part grows: its derivative is below zero.

    Looked for in this way the minimum is found to the last digits; comparing costs would lose half of them.
    """
    size, slope = _size(found, parts), 0.0
    for one in found:
        shape = parts.at(one.u)
        slope = slope + one.df * (one.u - 1.0) / shape * (1.0 - one.variance / (shape * size))
    return slope < 0
