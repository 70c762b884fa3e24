"""Uncertainty of concentrations read on a stored curve after a correction by one standard.

y = (A - B) F with F = g(x0)/(S - B): S and B are read today, g is the stored curve. So with r = (A - B)/(S - B)
dc = (F dA - F r dS - F (1 - r) dB + (r terms(x0) - terms(c)) db)/g'(c)
(JCGM 100, 5.1). The curve's own deviation at x0 goes into the factor, so it falls out at the correction standard.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.invert import quadratic_form

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.arrays import Array
    from benchseal.compute.run_curve import Solved


def corrected(
    solved: Solved, *, shares: Sequence[float], factor: float, nominal: float, places: tuple[int, int]
) -> Solved:
    """``solved`` with u, u_reading and gradient of corrected signals, and what the correction adds to each.

    shares: r of each solution. places: of the correction standard and its blank. s is that of the stored curve, for
    the readings of today as on its day: their own few would give it with one or two degrees of freedom.
    """
    with np.errstate(all="ignore"):  # what has no number on the curve stays none
        return _corrected(solved, np.array(shares), factor, nominal, places)


def _corrected(solved: Solved, r: Array, factor: float, nominal: float, places: tuple[int, int]) -> Solved:
    x = np.array(solved.x)
    tangent = slope_at(solved, x)
    u_read = np.array(solved.u_reading) * tangent  # of a mean signal as read
    u_standard = float(u_read[places[0]])
    u_blank = float(u_read[places[1]])
    if not np.isfinite(u_blank):  # zero lies where this curve has no root: the standard's own is not smaller
        u_blank = u_standard
    at_nominal = np.array([nominal**power for power in solved.powers]).reshape(-1, 1)
    gradient = solved.gradient - at_nominal * (r / tangent)
    parts = np.stack([factor * r / tangent * u_standard, factor * (1.0 - r) / tangent * u_blank])
    u_reading = factor * np.array(solved.u_reading)
    form = gradient[:, :, None]
    curve = quadratic_form(solved.covariance[:, :, None], form, form)[:, 0]
    squares = u_reading * u_reading + np.maximum(curve, 0.0) + parts[0] * parts[0] + parts[1] * parts[1]
    return replace(
        solved,
        gradient=gradient,
        u_reading=tuple(u_reading.tolist()),
        u=tuple(np.sqrt(squares).tolist()),
        correction=parts,
        u_correction=(u_standard, u_blank),
    )


def slope_at(solved: Solved, x: Array) -> Array:
    """dg/dx at ``x``, in rising powers one addition at a time."""
    total: Array = np.zeros(x.shape)
    for power, coefficient in zip(solved.powers, solved.coefficients.tolist(), strict=True):
        if power:
            total = total + power * coefficient * x ** (power - 1)
    return total
