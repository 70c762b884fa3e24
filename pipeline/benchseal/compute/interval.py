"""Confidence intervals of inverted concentrations: t u where the slope is well known, else Fieller's."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan, sqrt
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.arrays import square
from benchseal.compute.fit import curve, slope
from benchseal.compute.invert import quadratic_form, terms_at
from benchseal.compute.quantiles import two_sided_t

if TYPE_CHECKING:
    from benchseal.compute.arrays import Array, Mask
    from benchseal.compute.fit import Fit
    from benchseal.compute.invert import Inverted

FIELLER_FROM = 0.05  # common practice, no source
_DOUBLINGS, _HALVINGS = 8, 60


@dataclass(frozen=True, slots=True, eq=False)
class Interval:
    """Confidence intervals, each array (samples, runs); NaN where ``found`` is False."""

    low: Array
    high: Array
    by_fieller: Mask
    found: Mask


def interval(fit: Fit, inverted: Inverted) -> Interval:
    """Intervals at the confidence of ``inverted``: x +- t u where g < 0.05, else Fieller's.

    Fieller's ends are the x at which the reading lies t standard uncertainties from the curve (E. C. Fieller 1954,
    from memory): closed form for lines, bisection for quadratics. Not found where a quadratic bends away before.
    """
    numbers = np.isfinite(inverted.x) & np.isfinite(inverted.u)
    t = two_sided_t(inverted.confidence, fit.t_df) if np.any(numbers) else nan
    low, high = inverted.x - t * inverted.u, inverted.x + t * inverted.u
    by_fieller = numbers & (np.where(numbers, inverted.g, 0.0) >= FIELLER_FROM)
    for sample, run in np.argwhere(by_fieller).tolist():
        one = _one(fit, inverted, t, sample, run)
        ends = (_bisected(one, -1.0), _bisected(one, 1.0)) if fit.model == "quadratic" else _closed(one)
        low[sample, run], high[sample, run] = ends
    found = numbers & np.isfinite(low) & np.isfinite(high)
    return Interval(low, high, by_fieller, found)


@dataclass(frozen=True, slots=True, eq=False)
class _One:
    """One sample of one run: the run's curve (arrays keep a run axis of length 1) and the sample's figures."""

    fit: Fit
    coefficients: Array
    covariance: Array
    x: float
    u: float
    u_reading_y: float
    slope: float
    g: float
    t: float


def _one(fit: Fit, inverted: Inverted, t: float, sample: int, run: int) -> _One:
    at = (sample, run)
    tangent = float(inverted.slope[at])
    return _One(
        fit=fit,
        coefficients=fit.coefficients[:, run : run + 1],
        covariance=fit.covariance[:, :, run : run + 1],
        x=float(inverted.x[at]),
        u=float(inverted.u[at]),
        u_reading_y=float(inverted.u_reading[at]) * tangent,
        slope=tangent,
        g=float(inverted.g[at]),
        t=t,
    )


def _closed(one: _One) -> tuple[float, float]:
    """With d = x - x0 and h the derivatives of the slope: (m^2 - t^2 h'Vh) d^2 - 2 t^2 g'Vh d = t^2 (R + g'Vg)."""
    here = terms_at(one.fit, np.array([[one.x]])) / one.slope
    tilt = np.zeros_like(here)
    tilt[-1] = 1.0 / one.slope
    mixed = one.t * one.t * float(quadratic_form(one.covariance, here, tilt)[0, 0])
    left = 1.0 - one.g
    half = sqrt(mixed * mixed + left * square(one.t * one.u))
    return one.x + (mixed - half) / left, one.x + (mixed + half) / left


def _bisected(one: _One, side: float) -> float:
    """End of the interval on one side; NaN where the rising branch ends before it."""
    inner, outer = 0.0, one.t * one.u
    for _ in range(_DOUBLINGS):
        if _outside(one, one.x + side * outer):
            break
        inner, outer = outer, 2.0 * outer
    else:
        return nan
    for _ in range(_HALVINGS):
        middle = (inner + outer) / 2.0
        inner, outer = (inner, middle) if _outside(one, one.x + side * middle) else (middle, outer)
    end = one.x + side * outer
    rising = float(slope(one.coefficients, one.fit.powers, np.array([[end]]))[0, 0]) > 0
    return end if rising else nan


def _outside(one: _One, x: float) -> bool:
    """Whether the reading lies more than t standard uncertainties from the curve at ``x``."""
    there, here = curve(one.coefficients, one.fit.powers, np.array([[x], [one.x]]))[:, 0].tolist()
    terms = terms_at(one.fit, np.array([[x]]))
    variance = square(one.u_reading_y) + float(quadratic_form(one.covariance, terms, terms)[0, 0])
    return bool(square(there - here) > one.t * one.t * variance)
