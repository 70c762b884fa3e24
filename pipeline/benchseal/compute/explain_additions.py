"""Standard additions of a worked calculation: the tubes, the line through them, where it meets zero.

Its coefficients are a0 and a1, so that nobody takes them for b0 and b1 of the curve.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.compute.explain_layout import STEP, counted, formula, prose, put, said
from benchseal.compute.single_addition import external_unsafe

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.explain_around import Around
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import AddedSeries, WorkedPortion

_IN: Final = STEP + STEP


def series_lines(of: Around, one: WorkedPortion, series: AddedSeries) -> Iterator[str]:
    """From the tubes' readings, which stand above, to the concentration in the solution; nothing without a line."""
    if not series.slope:
        return
    on_readings = of.work.calibration.fit_on == "readings"
    every = "each reading is a point" if on_readings else "the mean of each tube is a point"
    freedom = f"{counted(series.df, 'degree')} of freedom"
    words = f"Line through {counted(series.n, 'point')}: {every}, all of one weight; intercept a0, slope a1; {freedom}"
    yield from prose(words, _IN)
    yield from _line(of, series)
    yield from _slope(of, series)
    yield from _value(of, one, series)


def _line(of: Around, series: AddedSeries) -> Iterator[str]:
    """Means, sums of squares and products, coefficients, residual standard deviation: each from the points."""
    points, signal = _points(of, series), of.work.calibration.signal_unit
    x_mean, y_mean, slope = series.added_mean, put(series.signal_mean), put(series.slope)
    added, signals = (" + ".join(put(point[side]) for point in points) for side in (0, 1))
    squares = " + ".join(f"({x} - {x_mean})²" for x, _ in points)
    products = " + ".join(f"({x} - {x_mean}) x ({put(y)} - {y_mean})" for x, y in points)
    residuals = " + ".join(f"({put(y)} - {put(series.intercept)} - {slope} x {x})²" for x, y in points)
    yield from formula("mean added", f"({added}) / {series.n}", f"{x_mean} {of.unit}", indent=_IN)
    yield from formula("mean A", f"({signals}) / {series.n}", f"{series.signal_mean} {signal}", indent=_IN)
    yield from formula("Sxx", squares, series.sxx, indent=_IN)
    yield from formula("a1", f"({products}) / {series.sxx}", series.slope, indent=_IN)
    intercept = f"{y_mean} - {slope} x {x_mean}"
    yield from formula("a0", "mean A - a1 mean added", intercept, f"{series.intercept} {signal}", indent=_IN)
    yield from formula("s", f"√(({residuals}) / {series.df})", f"{series.residual_sd} {signal}", indent=_IN)


def _points(of: Around, series: AddedSeries) -> list[tuple[PlainDecimal, PlainDecimal]]:
    """Addition and signal of each point, as the line took them."""
    if of.work.calibration.fit_on == "readings":
        return [(tube.added, text) for tube in series.tubes for text in tube.signals]
    return [(tube.added, tube.mean_signal) for tube in series.tubes]


def _slope(of: Around, series: AddedSeries) -> Iterator[str]:
    plan, curve = of.method.calibration, of.work.calibration
    if series.r:
        limit = f"; limit at least {plan.additions_smallest_r}" if plan.additions_smallest_r else ""
        yield from prose(f"correlation coefficient r {series.r}{limit}", _IN)
    if not series.slope_ratio:
        return
    slope = curve.coefficients[0 if curve.model == "line_through_zero" else 1]
    name = "slope of the additions over that of the curve"
    yield from formula(name, "a1 / b1", f"{put(series.slope)} / {put(slope)}", series.slope_ratio, indent=_IN)
    limit = plan.additions_largest_slope_percent
    words = f"limit 1 ± {limit} %" if limit else "shown, with no limit of the method"
    if external_unsafe(float(series.slope_ratio)):
        words += "; more than 10 % from 1: the curve would not be safe for this matrix (common practice, no source)"
    yield from prose(words, _IN + STEP)
    yield from said("source of the rules of additions", plan.additions_source, _IN + STEP)


def _value(of: Around, one: WorkedPortion, series: AddedSeries) -> Iterator[str]:
    """Where the line meets zero signal, and u = (s/a1) √(1/n + (mean A/a1)²/Sxx): zero signal is no reading."""
    if not one.solution_value:
        return
    numbers = f"{put(series.intercept)} / {put(series.slope)}"
    yield from formula("c", "a0 / a1", numbers, f"{one.solution_value} {of.unit}", indent=_IN)
    root = f"√(1/{series.n} + ({put(series.signal_mean)} / {put(series.slope)})² / {series.sxx})"
    letters = "s / a1 x √(1/n + (mean A / a1)² / Sxx)"
    puts = f"{series.residual_sd} / {put(series.slope)} x {root}"
    yield from formula("u(c)", letters, puts, f"{one.u_solution} {of.unit}", indent=_IN)
    yield from prose("its standard uncertainty; no term for a reading, since zero signal is not one", _IN + STEP)
