"""The calibrations of many runs at once, and the concentration of every solution on its run's curve.

Runs with the same model, weighting and number of points are one fit and one inversion; a run's columns do not
depend on its company (``arrays.py``), so a run alone gives the same bits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from benchseal.compute.fit import POWERS, Fault, Fit, Model, Weighting, curve, fit
from benchseal.compute.invert import Inverted, Status, invert, rises
from benchseal.compute.judge_curve import rse_percent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.arrays import Array
    from benchseal.compute.run_signals import Signals
    from benchseal.records.run import Run

_Shape: TypeAlias = tuple[Model, Weighting, int]


@dataclass(frozen=True, slots=True)
class Points:
    """The calibration solutions of one run and the points they give; point order is presented order.

    places: index of each calibration solution. concentrations: of each, as floats; texts as the method has them.
    """

    places: tuple[int, ...]
    texts: tuple[str, ...]
    concentrations: tuple[float, ...]
    x: tuple[float, ...]
    y: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """One run on its curve; floats, NaN where there is no number.

    coefficients, standard_errors: (terms,). covariance: (terms, terms). x, u, u_reading: one a solution.
    gradient: (terms, solutions), so that the curve's part of u^2 of any sum of solutions is G' covariance G.
    """

    powers: tuple[int, ...]
    n: int
    df: int
    coefficients: Array
    standard_errors: Array
    covariance: Array
    residual_sd: float
    r_squared: float
    rse_percent: float
    rises: bool
    x: tuple[float, ...]
    u: tuple[float, ...]
    u_reading: tuple[float, ...]
    gradient: Array
    status: tuple[Status, ...]

    def fitted(self, concentrations: Sequence[float]) -> tuple[float, ...]:
        """Signals of the curve at ``concentrations``."""
        at = np.array(concentrations, dtype=np.float64).reshape(-1, 1)
        return tuple(curve(self.coefficients.reshape(-1, 1), self.powers, at)[:, 0].tolist())


def points_of(run: Run, signals: Signals) -> Points:
    """Calibration points of a run whose standards are all known to its method (``run_bound.py`` sees to that).

    A calibration blank is the zero standard when the method lists one, else it is no point. A standard without any
    number is no level; ``run_calibration.py`` then fails the calibration for lack of it.
    """
    level = {standard.label: standard.concentration for standard in run.method.standards}
    zero = next((text for text in level.values() if float(text) == 0), "")
    solutions = run.document.solutions
    places, texts = [], []
    for place, (label, kind) in enumerate(zip(solutions.label, solutions.kind, strict=True)):
        text = level.get(label, zero if kind == "calibration_blank" else "")
        if kind in {"standard", "calibration_blank"} and text and signals.values[place]:
            places.append(place)
            texts.append(text)
    concentrations = tuple(float(text) for text in texts)
    each = [
        (concentration, value)
        for place, concentration in zip(places, concentrations, strict=True)
        for value in (signals.values[place] if run.method.calibration.fit_on == "readings" else (signals.mean[place],))
    ]
    return Points(tuple(places), tuple(texts), concentrations, tuple(x for x, _ in each), tuple(y for _, y in each))


def solve_runs(runs: Sequence[Run], signals: Sequence[Signals], points: Sequence[Points]) -> list[Solved | Fault]:
    """Curve and concentrations of each run, or what keeps its points from being fitted; order as given."""
    shapes: dict[_Shape, list[int]] = {}
    found: dict[int, Solved | Fault] = {}
    for place, run in enumerate(runs):
        plan = run.method.calibration
        if len(points[place].x) <= len(POWERS[plan.model]):
            found[place] = "too_few_points"
            continue
        shapes.setdefault((plan.model, plan.weighting, len(points[place].x)), []).append(place)
    for (model, weighting, _), group in shapes.items():
        fitted = fit(_columns([points[i].x for i in group]), _columns([points[i].y for i in group]), model, weighting)
        means = _columns([signals[i].mean for i in group])
        counts = _columns([_readings(runs[i], signals[i]) for i in group])
        inverted = invert(fitted, means, np.where(np.isfinite(counts), counts, 1.0), below_lowest_kept=True)
        errors, rising = rse_percent(fitted), rises(fitted)
        for column, i in enumerate(group):
            fault = fitted.faults[column]
            judged = float(errors[column]), bool(rising[column])
            found[i] = fault or _solved(fitted, inverted, column, len(signals[i].mean), judged)
    return [found[place] for place in range(len(runs))]


def _readings(run: Run, signals: Signals) -> tuple[float, ...]:
    """Readings a mean counts for: 1 where means were fitted, so that nothing is averaged twice."""
    on_means = run.method.calibration.fit_on == "means"
    return tuple(1.0 if on_means else float(max(1, len(own))) for own in signals.values)


def _columns(series: Sequence[Sequence[float]]) -> Array:
    """Series as columns, shorter ones filled with NaN at their end."""
    longest = max(len(one) for one in series)
    filled = np.full((longest, len(series)), np.nan)
    for column, one in enumerate(series):
        filled[: len(one), column] = one
    return filled


def _solved(of: Fit, found: Inverted, column: int, solutions: int, judged: tuple[float, bool]) -> Solved:
    return Solved(
        powers=of.powers,
        n=of.n,
        df=of.df,
        coefficients=of.coefficients[:, column].copy(),
        standard_errors=of.standard_errors[:, column].copy(),
        covariance=of.covariance[:, :, column].copy(),
        residual_sd=float(of.residual_sd[column]),
        r_squared=float(of.r_squared[column]),
        rse_percent=judged[0],
        rises=judged[1],
        x=tuple(found.x[:solutions, column].tolist()),
        u=tuple(found.u[:solutions, column].tolist()),
        u_reading=tuple(found.u_reading[:solutions, column].tolist()),
        gradient=found.gradient[:, :solutions, column].copy(),
        status=tuple(Status(code) for code in found.status[:solutions, column].tolist()),
    )
