"""What a correction for drift puts into the uncertainty of concentrations: the scatter of the checks it rests on.

With A' = B0 + (A - B) S0/S the readings of a sample count F = S0/S times, and a deviation of a pair's check standard
moves A' by r w, one of its check blank by (1 - r) w (``run_drift.py``). The checks are common to all that is read
between them, so what they put into each solution is kept pair by pair, and summed before it is squared (JCGM 100,
5.2). How even the drift was between two pairs is in no number.
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.invert import quadratic_form
from benchseal.compute.run_curve import DriftRows
from benchseal.compute.run_stored_solved import slope_at

if TYPE_CHECKING:
    from benchseal.compute.arrays import Array
    from benchseal.compute.run_curve import Solved
    from benchseal.compute.run_drift import Drifted


def solved_drifted(found: Drifted | None, solved: Solved) -> Solved:
    """``solved`` with u and u_reading of corrected signals, and what the checks put into each; else as it is."""
    if found is None or not found.steps:
        return solved
    size, places = (len(found.pairs), len(solved.x)), sorted(found.steps)
    factors = np.ones(size[1])
    standards, blanks = np.zeros(size), np.zeros(size)
    for place in places:
        step = found.steps[place]
        factors[place] = float(step.factor)
        for at, weight in step.weights.items():
            pair, r = found.pairs[at], step.net_share
            standards[at, place] = float(r * weight) * found.standards.sd * sqrt(float(pair.standard.share))
            blanks[at, place] = float((1 - r) * weight) * found.blanks.sd * sqrt(float(pair.blank.share))
    with np.errstate(all="ignore"):  # what has no number on the curve stays none
        tangent = slope_at(solved, np.array(solved.x))
        rows = DriftRows(standards / tangent, blanks / tangent, found.standards.df, found.blanks.df)
        u_reading = factors * np.array(solved.u_reading)
        u = np.array(solved.u)
        u[places] = _whole(solved, u_reading, rows)[places]
    return replace(solved, u_reading=tuple(u_reading.tolist()), u=tuple(u.tolist()), drift=rows)


def _whole(solved: Solved, u_reading: Array, rows: DriftRows) -> Array:
    """Root of the sum of squares: readings, curve, checks."""
    form = solved.gradient[:, :, None]
    squares = u_reading * u_reading + np.maximum(quadratic_form(solved.covariance[:, :, None], form, form)[:, 0], 0.0)
    for part in (*rows.standards, *rows.blanks):
        squares = squares + part * part
    return np.sqrt(squares)
