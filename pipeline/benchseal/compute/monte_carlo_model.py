"""The measurement of one solution on one curve, as values to draw and as the GUM's own answer to the same input."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isinf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.arrays import Array, column
from benchseal.compute.budget import Budget, combine
from benchseal.compute.content import BlankWas, Portion, content
from benchseal.compute.invert import Inverted, Status, invert
from benchseal.compute.monte_carlo import Uncertain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.random import Generator

    from benchseal.compute.fit import Fit

_NONE, _ONE = Uncertain(0.0), Uncertain(1.0)


@dataclass(frozen=True, slots=True)
class Reading:
    """Mean of ``readings`` readings of a sample; weight of one of them, NaN where the fit's rule decides."""

    y: float
    readings: float
    weight: float


@dataclass(frozen=True, slots=True)
class Sample:
    """From the solution to the sample: (c dilution - blank) volume/(mass (1 - moisture) recovery) standards.

    With blank_was "same_dilution" the blank is taken off before the dilution. ``standards``, near 1, is how true
    the standards are: common to sample and blank, read on one curve, so it multiplies the result.
    """

    blank_was: BlankWas = "undiluted"
    blank: Uncertain = field(default=_NONE)
    dilution: Uncertain = field(default=_ONE)
    volume_ml: Uncertain = field(default=_ONE)
    mass_g: Uncertain = field(default=_ONE)
    moisture: Uncertain = field(default=_NONE)
    recovery: Uncertain = field(default=_ONE)
    standards: Uncertain = field(default=_ONE)

    @property
    def inputs(self) -> tuple[Uncertain, ...]:
        """In the order they are drawn."""
        return (
            self.blank, self.dilution, self.volume_ml, self.mass_g, self.moisture, self.recovery, self.standards,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Estimate:
    """The GUM's answer: value, u, degrees of freedom (inf for no end), and the interval at 95 %, None below df 1."""

    value: float
    u: float
    df: float
    k: float | None
    interval: tuple[float, float] | None


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """A fit of one run, a sample's reading found within it, and what was done to the sample."""

    fit: Fit
    reading: Reading
    found: Inverted
    sample: Sample

    @property
    def df(self) -> float:
        """Degrees of freedom of the curve."""
        return self.fit.t_df

    def values(self, n: int, source: Generator) -> Array:
        """``n`` draws of the result; NaN where a draw has none (curve not rising there, a divisor not above zero)."""
        c = self._concentrations(n, source)
        blank, dilution, volume, mass, moisture, recovery, standards = (
            one.draws(n, source) for one in self.sample.inputs
        )
        diluted = c * dilution - blank if self.sample.blank_was == "undiluted" else (c - blank) * dilution
        left = mass * (1.0 - moisture) * recovery
        sound = (mass > 0) & (moisture < 1) & (recovery > 0) & (volume > 0) & (dilution > 0)
        return np.where(sound, diluted * volume / left * standards, np.nan)

    def _concentrations(self, n: int, source: Generator) -> Array:
        """Coefficients drawn together from their covariance, and the reading beside them.

        Where the scatter was estimated, all of them share one drawn scatter, s sqrt(df/chi-square): together a
        multivariate t with the degrees of freedom of the fit (JCGM 101, 6.4.9, and JCGM 102, from memory); it
        becomes normal as they grow, and is normal where the weights are known uncertainties.
        """
        scale: Array | float = 1.0 if isinf(self.df) else np.sqrt(self.df / source.chisquare(self.df, n))
        root = lower_root(self.fit.covariance[:, :, 0])
        deviates = [source.standard_normal(n) for _ in root]
        b = {power: np.zeros(n) for power in (0, 1, 2)}
        for i, power in enumerate(self.fit.powers):
            moved = np.zeros(n)
            for j in range(i + 1):
                moved = moved + root[i][j] * deviates[j]
            b[power] = float(self.fit.coefficients[i, 0]) + scale * moved
        y = self.reading.y + scale * (self._u_reading_y * source.standard_normal(n))
        under = b[1] * b[1] - 4.0 * b[2] * (b[0] - y)
        rise = b[1] + np.sqrt(np.maximum(under, 0.0))
        return np.where((under > 0) & (rise > 0), 2.0 * (y - b[0]) / rise, np.nan)

    @property
    def _u_reading_y(self) -> float:
        return float(self.found.u_reading[0, 0] * self.found.slope[0, 0])

    def estimate(self) -> Estimate:
        """Law of propagation with exact derivatives; reading and curve are one group (JCGM 100, 5.1 and G.4)."""
        s = self.sample
        u_reading, u_curve = float(self.found.u_reading[0, 0]), float(self.found.u_curve[0, 0])
        given = (s.blank, s.dilution, s.volume_ml, s.mass_g, s.moisture)
        x, u_x = float(self.found.x[0, 0]), sqrt(u_reading * u_reading + u_curve * u_curve)
        portion = Portion(*(np.array([one]) for one in (x, *(each.value for each in given))))
        u = Portion(*(np.array([one]) for one in (u_x, *(each.u for each in given))))
        found = content(portion, s.blank_was, u)
        last = s.standards.value / s.recovery.value
        value = float(found.mg_per_kg[0]) * last
        terms = [
            *(found.contributions[:, 0] * last).tolist(),
            abs(value) / s.recovery.value * s.recovery.u,
            abs(value) / s.standards.value * s.standards.u,
        ]
        return _estimate(value, terms, [self.df, *(each.df for each in (*given, s.recovery, s.standards))])


def measured(fit: Fit, reading: Reading, sample: Sample) -> Measured | Status:
    """The measurement, or why the reading gives no result on this curve; ``fit`` is of one run and has no fault."""
    found = invert(
        fit, column([reading.y]), column([reading.readings]), weight=column([reading.weight]), confidence=0.95
    )
    status = Status(int(found.status[0, 0]))
    return Measured(fit, reading, found, sample) if status is Status.IN_RANGE else status


@dataclass(frozen=True, slots=True)
class Total:
    """A sum of independent inputs."""

    terms: tuple[Uncertain, ...]

    def values(self, n: int, source: Generator) -> Array:
        """``n`` draws of the sum, added from first to last."""
        total = np.zeros(n)
        for one in self.terms:
            total = total + one.draws(n, source)
        return total

    def estimate(self) -> Estimate:
        """Law of propagation; each term has a sensitivity of 1."""
        value = 0.0
        for one in self.terms:
            value = value + one.value
        return _estimate(value, [one.u for one in self.terms], [one.df for one in self.terms])


def _estimate(value: float, contributions: Sequence[float], dfs: Sequence[float]) -> Estimate:
    whole: Budget = combine(column(contributions), column(dfs))
    u, df = float(whole.u[0]), float(whole.df[0])
    if df < 1:
        return Estimate(value, u, df, None, None)
    k = float(whole.k[0])
    return Estimate(value, u, df, k, (value - k * u, value + k * u))


def lower_root(covariance: Array) -> list[list[float]]:
    """Lower triangle L with L L' = V (Cholesky), by way of correlations, so that scales cannot harm it."""
    sds = [sqrt(float(covariance[i, i])) for i in range(len(covariance))]
    root: list[list[float]] = []
    for i, sd in enumerate(sds):
        row: list[float] = []
        for j in range(i):
            rest = float(covariance[i, j]) / (sd * sds[j]) if sd * sds[j] > 0 else 0.0
            for k in range(j):
                rest -= row[k] * root[j][k]
            row.append(rest / root[j][j] if root[j][j] > 0 else 0.0)
        left = 1.0
        for one in row:
            left -= one * one
        root.append([*row, sqrt(max(left, 0.0))])
    return [[sd * one for one in row] for sd, row in zip(sds, root, strict=True)]
