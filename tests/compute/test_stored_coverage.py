"""The uncertainty on a stored curve against simulation: as wide as what many invented days scatter, no wider.

Normal readings from a seeded generator; the truth is known, so this is a check from outside of the formulas.
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest
from tests.compute.making import LEVELS, Shot, run_of
from tests.compute.storing import SLOPE, curve_of, later, stored_method

from benchseal.compute.run_curve import Solved, solve_runs
from benchseal.compute.run_signals import signals_of
from benchseal.compute.run_stored import points_used, signals_used, solved_used, stored_curves

if TYPE_CHECKING:
    from benchseal.records.run import Run

DAYS, NOISE, GAIN, ZERO = 1000, 0.0002, 0.9, 0.0007
HOLDS = (1.0, 5.0, 15.0, 19.0)


def day(rng: np.random.Generator, correction: float, fit_on: str) -> Run:
    """A curve and a later day whose readings all scatter alike."""

    def read(signal: float) -> tuple[str, ...]:
        return tuple(f"{one:.9f}" for one in signal + NOISE * rng.standard_normal(3))

    method = stored_method(fit_on=fit_on)
    standards = tuple(
        Shot("standard", f"S{nth}", nominal=level, signals=read(SLOPE * float(level)))
        for nth, level in enumerate(LEVELS)
    )
    own = (
        Shot("calibration_blank", "S0", signals=read(ZERO)),
        Shot("correction_standard", "QC", nominal=str(correction), signals=read(ZERO + GAIN * SLOPE * correction)),
        *(Shot("check_standard", f"C{nth}", signals=read(ZERO + GAIN * SLOPE * one)) for nth, one in enumerate(HOLDS)),
    )
    return later(own, curve_of(run_of(standards, method)), method)


@pytest.mark.parametrize(("correction", "fit_on"), [(15.0, "readings"), (5.0, "readings"), (15.0, "means")])
def test_u_is_what_days_scatter(correction: float, fit_on: str) -> None:
    rng = np.random.default_rng(20260302)
    runs = [day(rng, correction, fit_on) for _ in range(DAYS)]
    read = [signals_of(run) for run in runs]
    found = stored_curves(runs, read)
    signals = [signals_used(one, own) for one, own in zip(found, read, strict=True)]
    points = [points_used(*one) for one in zip(found, runs, read, strict=True)]
    x, squares = [], []
    for one, solved, own in zip(found, solve_runs(runs, signals, points), signals, strict=True):
        assert isinstance(solved, Solved)
        on_day = solved_used(one, solved, own)
        x.append(on_day.x[2:])
        squares.append([u * u for u in on_day.u[2:]])
    off = np.array(x) - np.array(HOLDS)
    scatter = np.sqrt(np.mean(off**2, axis=0))
    stated = np.sqrt(np.mean(np.array(squares), axis=0))
    ratio = stated / scatter
    # The scatter of 1000 days is known to 1/sqrt(2000), 2.2 %; the noise as read counts F = 1/0.9 times.
    assert np.all(np.abs(ratio - 1) < 4 / sqrt(2 * DAYS)), ratio
