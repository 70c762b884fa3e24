"""Concentrations of the solutions of a run drawn again: readings with their scatter, on curves drawn with them.

Every solution goes the way its record tells, in full and not to first order: read back on a drawn curve, corrected for
drift or by one standard with drawn checks, evaluated by a drawn line of additions, or between two drawn standards.
Scatter that was estimated is drawn too: all that was made with it shares one drawn s sqrt(df/chi-square), so that
together it follows a t distribution with those degrees of freedom (JCGM 101, 6.4.9, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import sqrt
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from benchseal.compute.monte_carlo_model import lower_root
from benchseal.compute.run_stored_solved import slope_at

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

    from numpy.random import Generator

    from benchseal.compute.arrays import Array
    from benchseal.compute.run_curve import Solved
    from benchseal.compute.run_drift import Drifted, Scatter, Side, Step
    from benchseal.compute.run_measured import Measured
    from benchseal.compute.run_stored import Stored
    from benchseal.compute.run_work import Worked
    from benchseal.records.results import AddedSeries, Bracket, BracketStandard

Curve: TypeAlias = "tuple[Array, Array, Array]"  # b0, b1, b2, a draw each


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """``n`` draws at once. held: what several readings share, drawn where it is first asked for."""

    n: int
    source: Generator
    held: dict[Hashable, Array] = field(default_factory=dict)

    def normal(self, u: float = 1.0) -> Array:
        """Deviations with standard uncertainty ``u``; nothing is drawn for one of zero."""
        return u * self.source.standard_normal(self.n) if u > 0 else np.zeros(self.n)

    def once(self, key: Hashable, make: Callable[[], Array]) -> Array:
        """What is held under ``key``, made now where it is not there yet."""
        if key not in self.held:
            self.held[key] = make()
        return self.held[key]

    def spread(self, name: Hashable, df: float) -> Array:
        """Factor of a standard deviation estimated with ``df`` degrees of freedom, one for all that was made with it.

        1 where nothing was estimated: there is no scatter then.
        """
        if df <= 0:
            return np.ones(self.n)
        return self.once(("spread", name), lambda: np.sqrt(df / self.source.chisquare(df, self.n)))


def concentrations(of: Worked, one: Measured, batch: Batch, *, with_readings: bool = True) -> Array:
    """Draws of what one solution holds, in the method's unit; NaN where a draw has none.

    with_readings: False leaves its own reading noise out, which the scatter of several blanks holds already.
    """
    if one.series is not None:
        return _by_additions(one.series, one.position, batch)
    if one.bracket is not None:
        return _between(of, one, one.bracket, batch)
    solved = of.chosen.solved
    tangent = slope_at(solved, np.array([one.x]))
    u_signal = float(solved.u_reading[one.index] * tangent[0]) if with_readings else 0.0
    noise = batch.spread("curve", solved.df) * batch.normal(1.0) if u_signal > 0 else np.zeros(batch.n)
    return _root(_curve(solved, batch), _signals(of, one.index, u_signal * noise, batch))


def _signals(of: Worked, index: int, noise: Array, batch: Batch) -> Array:
    """What is read on the curve: the mean signal, or what a correction makes of it.

    noise: of the mean signal, as the curve sees it: a correction has multiplied it by its factor.
    """
    if of.stored is not None:
        return _corrected(of.stored, of.chosen.solved, of.signals.mean[index], noise, batch)
    if of.drifted is not None and index in of.drifted.steps:
        return _undrifted(of.drifted, of.drifted.steps[index], noise, batch)
    return of.signals.used[index] + noise


def _curve(solved: Solved, batch: Batch) -> Curve:
    """Coefficients drawn together from their covariance, which sees to what they share; 0 where the model has none."""
    root = lower_root(solved.covariance)
    spread = batch.spread("curve", solved.df)
    deviates = [batch.once(("coefficient", place), batch.normal) for place in range(len(root))]
    b: dict[int, Array] = {power: np.zeros(batch.n) for power in (0, 1, 2)}
    for i, power in enumerate(solved.powers):
        moved = np.zeros(batch.n)
        for j in range(i + 1):
            moved = moved + root[i][j] * deviates[j]
        b[power] = float(solved.coefficients[i]) + spread * moved
    return b[0], b[1], b[2]


def _root(curve: Curve, y: Array) -> Array:
    """Concentration on the rising branch, as ``invert.py`` takes it; NaN where the drawn curve has none there."""
    b0, b1, b2 = curve
    under = b1 * b1 - 4.0 * b2 * (b0 - y)
    root = np.sqrt(np.maximum(under, 0.0))
    with np.errstate(all="ignore"):
        x = np.where(b1 < 0, (root - b1) / (2.0 * b2), 2.0 * (y - b0) / (b1 + root))
    return np.where((under > 0) & np.isfinite(x), x, np.nan)


def _corrected(stored: Stored, solved: Solved, signal: float, noise: Array, batch: Batch) -> Array:
    """(A - B) g(x0)/(S - B): standard and blank of today and the stored curve g are drawn once for all solutions."""
    spread = batch.spread("curve", solved.df)
    u_standard, u_blank = solved.u_correction
    standard = batch.once("correction standard", lambda: stored.signal + spread * batch.normal(u_standard))
    blank = batch.once("correction blank", lambda: stored.blank_signal + spread * batch.normal(u_blank))
    (b0, b1, b2), x = _curve(solved, batch), float(stored.nominal)
    factor = (b0 + b1 * x + b2 * (x * x)) / np.where(standard > blank, standard - blank, np.nan)
    return (signal + noise / stored.factor - blank) * factor


def _undrifted(drifted: Drifted, step: Step, noise: Array, batch: Batch) -> Array:
    """B0 + (A - B) S0/S: every check standard and check blank is drawn once, whatever it corrects."""

    def side(pair: int, name: str, own: Side, scatter: Scatter) -> Array:
        u = scatter.sd * sqrt(float(own.share))
        return batch.once((name, pair), lambda: float(own.mean) + batch.spread(name, scatter.df) * batch.normal(u))

    def blank(pair: int) -> Array:
        return side(pair, "check blank", drifted.pairs[pair].blank, drifted.blanks)

    def span(pair: int) -> Array:
        return side(pair, "check standard", drifted.pairs[pair].standard, drifted.standards) - blank(pair)

    share = float(step.at)
    b = blank(step.before) + (blank(step.after) - blank(step.before)) * share
    s = span(step.before) + (span(step.after) - span(step.before)) * share
    signal = float(step.signal) + noise / float(step.factor)
    return blank(0) + (signal - b) * span(0) / np.where(s > 0, s, np.nan)


def _by_additions(series: AddedSeries, position: int, batch: Batch) -> Array:
    """The portion's own line, y = ym + a1 (x - xm): ym and a1 are independent, and c = ym/a1 - xm."""
    sd, spread = float(series.residual_sd), batch.spread(("additions", position), series.df)
    middle = float(series.signal_mean) + spread * batch.normal(sd / sqrt(series.n))
    slope = float(series.slope) + spread * batch.normal(sd / sqrt(float(series.sxx)))
    return middle / np.where(slope > 0, slope, np.nan) - float(series.added_mean)


def _between(of: Worked, one: Measured, bracket: Bracket, batch: Batch) -> Array:
    """x1 + (x2 - x1)(A - A1)/(A2 - A1): a solution of a standard is drawn once, for every portion it stands beside."""
    spread = batch.spread("bracket standards", bracket.df)
    low, high = (_standard(of, one.position, standard, bracket, batch) for standard in (bracket.low, bracket.high))
    signal = float(one.mean_signal) + spread * batch.normal(float(bracket.u_sample))
    x1, x2 = float(bracket.low.concentration), float(bracket.high.concentration)
    return x1 + (x2 - x1) * (signal - low) / np.where(high > low, high - low, np.nan)


def _standard(of: Worked, position: int, standard: BracketStandard, bracket: Bracket, batch: Batch) -> Array:
    """Mean signal of a bracket standard: half of its solutions before the sample, half of those after it."""
    moved = np.zeros(batch.n)
    before = [at for at in standard.positions if at < position]
    for side in (before, [at for at in standard.positions if at not in before]):
        for at in side:
            moved = moved + _read_again(of, at, float(bracket.sd), batch) / (2 * len(side))
    return float(standard.mean_signal) + batch.spread("bracket standards", bracket.df) * moved


def _read_again(of: Worked, position: int, sd: float, batch: Batch) -> Array:
    """Deviation of the mean signal of the bracket standard at a position, before its scatter is drawn."""
    values = of.signals.values[of.chosen.run.document.solutions.position.index(position)]
    return batch.once(("bracket standard", position), lambda: batch.normal(sd / sqrt(len(values))))
