"""Propagation of distributions by Monte Carlo, and what it says of the GUM's own interval (JCGM 101, from memory).

The generator is numpy's PCG64 started from a given seed: the same seed and the same numpy give the same draws. Draws
are made in batches of one size, so the first draws do not depend on how many follow.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import ceil, fsum, inf, sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np

from benchseal.records.quantities import round_to_significant

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.random import Generator

    from benchseal.compute.arrays import Array

Shape: TypeAlias = Literal["normal", "rectangular", "triangular", "student"]
NoDraws: TypeAlias = Literal["draws_without_value", "no_finite_value"]
LEAST_DRAWS, USUAL_DRAWS, MOST_DRAWS = 1_000, 200_000, 2_000_000
COVERAGE = 0.95
_BATCH = 50_000
_MOST_WITHOUT_VALUE = 0.001  # of the draws; common practice, no source
_DIGITS = 2  # of u, whose last one decides the tolerance


@dataclass(frozen=True, slots=True)
class Uncertain:
    """An input: estimate, standard uncertainty, shape. For ``student`` u is the scale s/sqrt(n), with df."""

    value: float
    u: float = 0.0
    shape: Shape = "normal"
    df: float = inf

    def draws(self, n: int, source: Generator) -> Array:
        """``n`` draws (JCGM 101: 6.4.2 rectangular, 6.4.5 triangular, 6.4.7 normal, 6.4.9 t; from memory)."""
        return self.value + self.u * self._unit(n, source) if self.u > 0 else np.full(n, self.value)

    def _unit(self, n: int, source: Generator) -> Array:
        match self.shape:
            case "normal":
                return source.standard_normal(n)
            case "rectangular":
                return (2.0 * source.random(n) - 1.0) * sqrt(3.0)
            case "triangular":
                return (source.random(n) + source.random(n) - 1.0) * sqrt(6.0)
            case "student":
                return np.asarray(source.standard_t(self.df, n), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Drawn:
    """What the draws say. without_value: how many had no value and were left out.

    symmetric: as much probability below as above; shortest: the shortest of all with this coverage. u_mean, u_ends:
    Monte Carlo standard errors of the mean and of the ends of the symmetric interval.
    """

    draws: int
    without_value: int
    mean: float
    sd: float
    symmetric: tuple[float, float]
    shortest: tuple[float, float]
    u_mean: float
    u_ends: tuple[float, float]


def propagate(model: Callable[[int, Generator], Array], draws: int, seed: int) -> Drawn | NoDraws:
    """What ``draws`` values of ``model`` say, drawn from ``seed``."""
    values = drawn_values(model, draws, seed)
    return values if isinstance(values, str) else described(values, draws - len(values))


def drawn_values(model: Callable[[int, Generator], Array], draws: int, seed: int) -> Array | NoDraws:
    """Draw ``draws`` values of ``model`` from ``seed``, rising; those without a value are left out.

    model(n, source) gives n values, NaN where there is none.
    """
    from numpy.random import PCG64, Generator  # noqa: PLC0415  no other command draws

    source = Generator(PCG64(seed))
    values = np.empty(draws)
    with np.errstate(all="ignore"):
        for start in range(0, draws, _BATCH):
            stop = min(start + _BATCH, draws)
            values[start:stop] = model(stop - start, source)
    if np.any(np.isinf(values)):
        return "no_finite_value"
    found = np.sort(values[~np.isnan(values)])
    if len(found) < draws * (1 - _MOST_WITHOUT_VALUE):
        return "draws_without_value"
    return found


def described(values: Array, without_value: int) -> Drawn:
    """Figures of sorted ``values``: exact sums, so their order cannot matter. JCGM 101, 7.6 and 7.7."""
    count = len(values)
    mean = fsum(values.tolist()) / count
    away = values - mean
    sd = sqrt(fsum((away * away).tolist()) / (count - 1))
    covered = _halves_up(COVERAGE * count)
    first = _halves_up((count - covered) / 2)
    widths = values[covered:] - values[:-covered]
    least = int(np.argmin(widths))
    ranks = ceil(sqrt(count * (1 - COVERAGE) / 2 * (1 + COVERAGE) / 2))
    low, high = first - 1, first - 1 + covered
    return Drawn(
        count + without_value,
        without_value,
        mean,
        sd,
        (float(values[low]), float(values[high])),
        (float(values[least]), float(values[least + covered])),
        sd / sqrt(count),
        (_spread_of_rank(values, low, ranks), _spread_of_rank(values, high, ranks)),
    )


def _halves_up(value: float) -> int:
    return int(value + 0.5)


def _spread_of_rank(values: Array, at: int, ranks: int) -> float:
    """Standard error of an order statistic: half the way between those one binomial deviation to either side."""
    low, high = max(at - ranks, 0), min(at + ranks, len(values) - 1)
    return (float(values[high]) - float(values[low])) / 2.0


@dataclass(frozen=True, slots=True)
class Comparison:
    """The GUM interval against the symmetric one: distances of the ends, tolerance, and whether both are within it.

    validated is None where the draws are too few to say.
    """

    delta: float
    apart: tuple[float, float]
    validated: bool | None


def tolerance(u: float) -> float:
    """Half of the last kept digit of u > 0, two digits kept (JCGM 101, 7.9.2): 0.0178 gives 0.0005."""
    exact = Decimal(repr(u))
    kept = round_to_significant(exact, _DIGITS, "half_up")
    return float(Decimal(5).scaleb(kept.adjusted() - _DIGITS))


def compared(drawn: Drawn, interval: tuple[float, float], u: float) -> Comparison:
    """JCGM 101, 8.1: validated when both ends agree within delta. u > 0 is that of the GUM result.

    The ends must be known to delta themselves: twice their standard error (7.9.4; 8.2 advises a fifth of delta,
    which is not demanded here). Where they are not, only a clear disagreement is said.
    """
    delta = tolerance(u)
    apart = abs(interval[0] - drawn.symmetric[0]), abs(interval[1] - drawn.symmetric[1])
    if all(2 * error <= delta for error in drawn.u_ends):
        return Comparison(delta, apart, max(apart) <= delta)
    clear = any(end - 2 * error > delta for end, error in zip(apart, drawn.u_ends, strict=True))
    return Comparison(delta, apart, False if clear else None)
