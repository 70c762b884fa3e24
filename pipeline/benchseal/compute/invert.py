"""From a sample's mean reading back to a concentration, with its standard uncertainty in two parts.

The part of the sample's own readings and the part of the curve are kept apart: portions read on one
calibration share the second, so a mean of portions does not shrink it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.critical import t_critical
from benchseal.compute.fit import ROUNDING, Fit, slope
from benchseal.compute.quantiles import two_sided_t
from benchseal.compute.weights import weight_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from benchseal.compute.arrays import Array, Mask

_EDGE = 1e-12  # of the top standard: what rounding may move a reading that lies on the edge of the range
_USUAL = 0.95  # confidence of every run


class Status(IntEnum):
    """What an inversion found. Only IN_RANGE is a result; BELOW_LOWEST may be kept where a method says so."""

    IN_RANGE = 0
    BELOW_LOWEST = 1  # below the lowest standard
    OVER_RANGE = 2  # above the highest standard: dilute and read again; x is an estimate
    NO_ROOT = 3  # the curve never reaches this reading
    SLOPE_NOT_SIGNIFICANT = 4  # g >= 1
    NOT_RISING = 5  # slope zero or falling, or a vertex inside the standards
    NO_WEIGHT = 6  # given weights, and none for the sample
    NO_READING = 7  # the reading is not a finite number
    NOT_FITTED = 8


@dataclass(frozen=True, slots=True, eq=False)
class Inverted:
    """Concentrations of samples; every array (samples, runs), ``gradient`` (terms, samples, runs).

    x, u, u_reading, u_curve, slope and gradient are numbers for IN_RANGE, BELOW_LOWEST and OVER_RANGE, else NaN.
    u^2 = u_reading^2 + u_curve^2. slope: dy/dx at x. gradient: (1, x, x^2)/slope for the terms of the model, so
    that u_curve^2 = gradient' V gradient, and two samples i, k of a run share gradient_i' V gradient_k.
    g: t^2 var(slope)/slope^2; slope_share: the same without t^2. weight: the weight taken for a reading of the sample.
    """

    x: Array
    u: Array
    u_reading: Array
    u_curve: Array
    slope: Array
    gradient: Array
    weight: Array
    slope_share: Array
    t_df: float
    status: NDArray[np.int8]
    confidence: float
    below_lowest_kept: bool

    @property
    def g(self) -> Array:
        """How far the slope is from being told from zero: below 1 it is, near 1 an interval is no longer symmetric."""
        t = two_sided_t(self.confidence, self.t_df) if self.t_df > 0 else np.nan
        return self.slope_share * t * t

    @property
    def usable(self) -> Mask:
        """Where x may be used: in range, and below the lowest standard when that was asked for."""
        below: Mask = self.status == Status.BELOW_LOWEST
        inside: Mask = self.status == Status.IN_RANGE
        return inside | below if self.below_lowest_kept else inside


def invert(  # noqa: PLR0913  the sample, and what is known of it
    fit: Fit,
    y0: Array,
    readings: Array,
    *,
    weight: Array | None = None,
    u_y0: Array | None = None,
    confidence: float = 0.95,
    below_lowest_kept: bool = False,
) -> Inverted:
    """Concentrations at the mean readings ``y0`` of ``readings`` readings each; both (samples, runs).

    weight: weight of one reading of the sample, (samples, runs), NaN where the fit's own rule decides: 1 for
    weighting "none"; every other rule at x, or at the lowest standard for anything below it, so that no rule is
    carried where nothing was calibrated and noise near zero is never taken smaller than the lowest standard's.
    Between standards weighting "1/s2" takes s from the straight line between neighbouring levels. Weighting "given"
    has no rule. u_y0: standard uncertainty of y0 where it is better known than the curve's scatter, NaN elsewhere; it
    replaces s/sqrt(weight readings). A NaN in y0 gives NO_READING (padding of shorter runs).
    below_lowest_kept: count values below the lowest standard as usable (blanks, results below a limit).
    Formulas: Eurachem QUAM appendix E.4 (from memory) for the line; delta method with the full V otherwise.
    """
    with np.errstate(all="ignore"):
        x, root = _root(fit, y0)
        tangent = slope(fit.coefficients, fit.powers, x)
        w0 = _sample_weight(fit, x, weight)
        u_reading_y = np.sqrt(fit.unit_variance / (w0 * readings))
        if u_y0 is not None:
            u_reading_y = np.where(np.isnan(u_y0), u_reading_y, u_y0)
        gradient = terms_at(fit, x) / tangent
        u_reading = u_reading_y / tangent
        u_curve = np.sqrt(np.maximum(quadratic_form(fit.covariance, gradient, gradient), 0.0))
        u = np.sqrt(u_reading * u_reading + u_curve * u_curve)
        tilt = _slope_terms(fit, x)
        share = quadratic_form(fit.covariance, tilt, tilt) / (tangent * tangent)
        significant = _is_significant(share, confidence, fit.t_df if fit.df > 0 else np.nan)
        status = _status(fit, y0, x, root=root & (tangent > 0), significant=significant, w0=w0)
    numbers = status <= Status.OVER_RANGE
    return Inverted(
        x=np.where(numbers, x, np.nan),
        u=np.where(numbers, u, np.nan),
        u_reading=np.where(numbers, u_reading, np.nan),
        u_curve=np.where(numbers, u_curve, np.nan),
        slope=np.where(numbers, tangent, np.nan),
        gradient=np.where(numbers, gradient, np.nan),
        weight=np.where(numbers, w0, np.nan),
        slope_share=np.where(numbers, share, np.nan),
        t_df=fit.t_df if fit.df > 0 else np.nan,
        status=status.astype(np.int8),
        confidence=confidence,
        below_lowest_kept=below_lowest_kept,
    )


def root_at(fit: Fit, y0: Array) -> tuple[Array, Mask]:
    """Concentration on the rising branch where the curve meets y0 (points, runs), and where there is one.

    No range is asked: this is for judging a curve, not for samples.
    """
    with np.errstate(all="ignore"):
        x, root = _root(fit, y0)
        found: Mask = root & rises(fit) & np.isfinite(x)
    return np.where(found, x, np.nan), found


def rises(fit: Fit) -> Mask:
    """Whether the curve rises over the whole range of its standards, (runs,). EPA 8000D, 11.5.3.2.

    A rise that rounding alone could have made is none.
    """
    if fit.n == 0:
        return fit.good
    ends = np.stack([fit.x_low, fit.x_high])
    with np.errstate(all="ignore"):
        reach = fit.x_high if fit.powers[0] else fit.x_high - fit.x_low
        least = ROUNDING * np.max(np.abs(fit.y), axis=0)
        rising: Mask = np.all(slope(fit.coefficients, fit.powers, ends) * reach > least, axis=0)
    return rising & fit.good


def quadratic_form(covariance: Array, left: Array, right: Array) -> Array:
    """Form left' V right, (samples, runs): covariance (terms, terms, runs), left and right (terms, samples, runs)."""
    total: Array = np.zeros(left.shape[1:])
    for i in range(len(left)):
        for j in range(len(right)):
            total = total + left[i] * covariance[i, j] * right[j]
    return total


def curve_covariance(fit: Fit, found: Inverted, run: int) -> Array:
    """Covariance of the curve parts of one run's samples, (samples, samples). NaN where a sample has no number."""
    gradient = found.gradient[:, :, run : run + 1]
    samples = gradient.shape[1]
    shared = np.empty((samples, samples))
    for i in range(samples):
        one = np.broadcast_to(gradient[:, i : i + 1], gradient.shape)
        shared[i] = quadratic_form(fit.covariance[:, :, run : run + 1], one, gradient)[:, 0]
    return shared


def terms_at(fit: Fit, x: Array) -> Array:
    """Derivatives of the curve by its coefficients at x (samples, runs): (terms, samples, runs)."""
    ladder = (np.ones_like(x), x, x * x)
    return np.stack([ladder[power] for power in fit.powers])


def _root(fit: Fit, y0: Array) -> tuple[Array, Mask]:
    b = fit.coefficients
    if fit.model == "line":
        return (y0 - b[0]) / b[1], np.broadcast_to(b[1] != 0, y0.shape)
    if fit.model == "line_through_zero":
        return y0 / b[0], np.broadcast_to(b[0] != 0, y0.shape)
    under = b[1] * b[1] - 4.0 * b[2] * (b[0] - y0)
    root = np.sqrt(np.maximum(under, 0.0))
    # Two forms of the root on the rising branch; each adds two numbers of one sign, so nothing cancels.
    rising = 2.0 * (y0 - b[0]) / (b[1] + root)
    late = (root - b[1]) / (2.0 * b[2])
    return np.where(b[1] < 0, late, rising), under > 0


def _sample_weight(fit: Fit, x: Array, weight: Array | None) -> Array:
    own = weight_at(fit.weighting, fit.rule, np.maximum(x, fit.x_low))
    return own if weight is None else np.where(np.isnan(weight), own, weight)


def _slope_terms(fit: Fit, x: Array) -> Array:
    """Derivatives of the slope by the coefficients, (terms, samples, runs)."""
    ladder = (np.zeros_like(x), np.ones_like(x), 2.0 * x)
    return np.stack([ladder[power] for power in fit.powers])


def _is_significant(share: Array, confidence: float, t_df: float) -> Mask:
    """Whether g = t^2 share is below 1. Student t of any other confidence than the usual is slow to load."""
    if np.isnan(t_df):
        return np.zeros(share.shape, dtype=bool)
    t = t_critical(0.05, t_df) if confidence == _USUAL else two_sided_t(confidence, t_df)
    mask: Mask = share * t * t < 1
    return mask


def _status(fit: Fit, y0: Array, x: Array, *, root: Mask, significant: Mask, w0: Array) -> Array:  # noqa: PLR0913  one each
    """First that applies, from the gravest down, (samples, runs)."""
    room = _EDGE * np.maximum(np.abs(fit.x_low), np.abs(fit.x_high))
    checks: tuple[tuple[Status, Mask], ...] = (
        (Status.NOT_FITTED, ~fit.good),
        (Status.NOT_RISING, ~rises(fit)),
        (Status.NO_READING, ~np.isfinite(y0)),
        (Status.NO_ROOT, ~root),
        (Status.SLOPE_NOT_SIGNIFICANT, ~significant),
        (Status.NO_WEIGHT, ~(w0 > 0)),
        (Status.OVER_RANGE, x > fit.x_high + room),
        (Status.BELOW_LOWEST, x < fit.x_low - room),
    )
    status = np.full(x.shape, float(Status.IN_RANGE))
    for name, hit in reversed(checks):
        status = np.where(hit, float(name), status)
    return status
