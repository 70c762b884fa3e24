"""The calibrations of many runs at once, and the concentration of every solution on its run's curve.

Runs with the same model, weighting and number of points are one fit and one inversion; a run's columns do not
depend on its company (``arrays.py``), so a run alone gives the same bits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from benchseal.compute.diagnose import diagnostics_of
from benchseal.compute.fit import POWERS, Fault, Fit, Model, Weighting, curve
from benchseal.compute.invert import Inverted, Status, invert, rises
from benchseal.compute.judge_curve import FreeIntercept, Ratio, free_intercept, mandel, rse_percent
from benchseal.compute.run_fit import Choice, Posed, choices_of, columns, fit_group

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.arrays import Array, Mask
    from benchseal.compute.run_signals import Signals
    from benchseal.records.results import Diagnostic
    from benchseal.records.run import Run

_Shape: TypeAlias = tuple[Model, Weighting, int]


@dataclass(frozen=True, slots=True)
class Points:
    """The calibration solutions of one run and the points they give; point order is presented order.

    places: index of each calibration solution, none for those of an earlier run. concentrations: of each, as floats;
    texts as the method has them.
    counts: readings behind each point. readings: (x, y) of every reading, also where means are fitted.
    """

    places: tuple[int, ...]
    texts: tuple[str, ...]
    concentrations: tuple[float, ...]
    x: tuple[float, ...]
    y: tuple[float, ...]
    counts: tuple[float, ...]
    readings: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class DriftRows:
    """What the check standards and check blanks of each pair put into x of each solution, (pairs, solutions).

    df_standards, df_blanks: of the scatter both are made with.
    """

    standards: Array
    blanks: Array
    df_standards: int
    df_blanks: int


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """One run on its curve; floats, NaN where there is no number.

    coefficients, standard_errors: (terms,). covariance: (terms, terms). x, u, u_reading: one a solution.
    gradient: (terms, solutions), so that the curve's part of u^2 of any sum of solutions is G' covariance G.
    because: why the curve has its form, where the method allows a choice. intercept, intercept_reach: b0 of the free
    line and half its 95 % interval, for a line through zero only. Of a stored curve corrected by one standard:
    u_correction, of the mean signals of that standard and its blank, and correction, (2, solutions), what each puts
    into x. drift: of a run corrected for drift.
    """

    model: Model
    because: str
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
    intercept: float
    intercept_reach: float
    diagnostics: tuple[Diagnostic, ...]
    x: tuple[float, ...]
    u: tuple[float, ...]
    u_reading: tuple[float, ...]
    gradient: Array
    status: tuple[Status, ...]
    correction: Array | None = None
    u_correction: tuple[float, ...] = ()
    drift: DriftRows | None = None

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
    known = list(zip(places, concentrations, strict=True))
    readings = tuple((concentration, value) for place, concentration in known for value in signals.values[place])
    if run.method.calibration.fit_on == "readings":
        each, counts = readings, (1.0,) * len(readings)
    else:
        each = tuple((concentration, signals.mean[place]) for place, concentration in known)
        counts = tuple(float(len(signals.values[place])) for place in places)
    x, y = tuple(one for one, _ in each), tuple(one for _, one in each)
    return Points(tuple(places), tuple(texts), concentrations, x, y, counts, readings)


def solve_runs(runs: Sequence[Run], signals: Sequence[Signals], points: Sequence[Points]) -> list[Solved | Fault]:
    """Curve and concentrations of each run, or what keeps its points from being fitted; order as given."""
    posed = [Posed(run.method.calibration, own) for run, own in zip(runs, points, strict=True)]
    choices = choices_of(posed)
    shapes: dict[_Shape, list[int]] = {}
    found: dict[int, Solved | Fault] = {}
    for place, (one, choice) in enumerate(zip(posed, choices, strict=True)):
        if len(one.points.x) <= len(POWERS[choice.model]):
            found[place] = "too_few_points"
        else:
            shapes.setdefault((choice.model, one.plan.weighting, len(one.points.x)), []).append(place)
    for (model, _, _), group in shapes.items():
        solved = _solve_group(model, [_Asked(posed[place], signals[place], choices[place]) for place in group])
        found.update(zip(group, solved, strict=True))
    return [found[place] for place in range(len(runs))]


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """One run of a group that is solved together."""

    posed: Posed
    signals: Signals
    choice: Choice

    @property
    def counts(self) -> tuple[float, ...]:
        """Readings each solution's mean counts for: 1 where means were fitted, so that nothing is averaged twice.

        Under weighting 1/s2 the weight of a mean already counts its readings, in the fit and here alike.
        """
        as_one = self.posed.plan.fit_on == "means" and self.posed.plan.weighting != "1/s2"
        return tuple(1.0 if as_one else float(max(1, len(own))) for own in self.signals.values)


@dataclass(frozen=True, slots=True, eq=False)
class _Judged:
    """What is said of the curves of a group; arrays (runs,)."""

    rse_percent: Array
    rises: Mask
    mandel: Ratio | None
    intercept: FreeIntercept | None


def _solve_group(model: Model, group: Sequence[_Asked]) -> list[Solved | Fault]:
    fitted = fit_group(model, [one.posed for one in group])
    means, counts = columns([one.signals.used for one in group]), columns([one.counts for one in group])
    inverted = invert(fitted, means, np.where(np.isfinite(counts), counts, 1.0), below_lowest_kept=True)
    through_zero = model == "line_through_zero"
    judged = _Judged(
        rse_percent=rse_percent(fitted),
        rises=rises(fitted),
        mandel=None if through_zero or fitted.n < 4 else mandel(fitted),
        intercept=free_intercept(fitted) if through_zero else None,
    )
    return [fitted.faults[place] or _solved(fitted, inverted, judged, place, one) for place, one in enumerate(group)]


def _solved(of: Fit, found: Inverted, judged: _Judged, place: int, one: _Asked) -> Solved:
    solutions, free = len(one.signals.mean), judged.intercept
    return Solved(
        model=of.model,
        because=one.choice.because,
        powers=of.powers,
        n=of.n,
        df=of.df,
        coefficients=of.coefficients[:, place].copy(),
        standard_errors=of.standard_errors[:, place].copy(),
        covariance=of.covariance[:, :, place].copy(),
        residual_sd=float(of.residual_sd[place]),
        r_squared=float(of.r_squared[place]),
        rse_percent=float(judged.rse_percent[place]),
        rises=bool(judged.rises[place]),
        intercept=float("nan") if free is None else float(free.b0[place]),
        intercept_reach=float("nan") if free is None else float(free.half_width[place]),
        diagnostics=diagnostics_of(of, place, judged.mandel, one.posed.points.readings),
        x=tuple(found.x[:solutions, place].tolist()),
        u=tuple(found.u[:solutions, place].tolist()),
        u_reading=tuple(found.u_reading[:solutions, place].tolist()),
        gradient=found.gradient[:, :solutions, place].copy(),
        status=tuple(Status(code) for code in found.status[:solutions, place].tolist()),
    )
