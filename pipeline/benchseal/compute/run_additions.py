"""Portions evaluated by their own standard additions: a line through their tubes in place of the curve.

The line is always unweighted and straight, through readings or means as the method fits its curve. It is made by the
functions ``calc`` uses. Which tubes make a series is fixed by the preparation sheet before anything is read.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from math import nan
from typing import TYPE_CHECKING

from benchseal.compute.arrays import column, sum_points
from benchseal.compute.drift import Addition, NoAddition, standard_addition
from benchseal.compute.fit import Fit, fit
from benchseal.compute.run_numbers import fraction_of, record_text, shown
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import Against
from benchseal.compute.single_addition import correlation, external_unsafe
from benchseal.records.quantities import unit_shown
from benchseal.records.results import AddedSeries, AddedTube

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.run_curve import Solved
    from benchseal.compute.run_measured import Measured
    from benchseal.compute.run_signals import Signals
    from benchseal.records.method import Method
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.run import Run

_NO_LINE: dict[NoAddition, tuple[str, str]] = {
    "not_fitted": ("additions.no-line", "no line can be laid through the additions"),
    "not_rising": ("additions.no-line", "the signal does not rise with the additions"),
    "slope_not_significant": ("additions.no-line", "the slope of the additions is lost in their scatter"),
}


@dataclass(frozen=True, slots=True)
class _Tube:
    """One tube that was read. values: what it puts on the line, its readings or their mean."""

    measured: Measured
    added: PlainDecimal
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """A fitted line with the sums its worked calculation shows. outcome: what the additions say."""

    fit: Fit
    added_mean: float
    signal_mean: float
    sxx: float
    ratio: float
    outcome: Addition | NoAddition


def evaluated(
    run: Run, signals: Signals, solved: Solved, measured: tuple[Measured, ...]
) -> tuple[tuple[Measured, ...], tuple[str, ...]]:
    """``measured`` with one entry for each series of additions, and cautions about slopes.

    The tube without addition (or the first read, where that one is missing) stands for its portion with the result of
    the line; the other tubes keep their place and belong to no portion any more.
    """
    places: dict[tuple[str, str], list[int]] = {}
    for place, one in enumerate(measured):
        if run.method.calibration.additions and one.portion and one.portion.additions.get(run.method.element):
            places.setdefault(one.key, []).append(place)
    found, cautions = list(measured), list[str]()
    for own in places.values():
        tubes = _tubes(run.method, signals, [measured[place] for place in own])
        standing, series = _standing(run.method, solved, tubes)
        for place in own:
            found[place] = replace(measured[place], portion=None)
        found[standing.index] = standing
        cautions.extend(_caution(standing, series))
    return tuple(found), tuple(cautions)


def _tubes(method: Method, signals: Signals, read: Sequence[Measured]) -> list[_Tube]:
    """The tubes read, in the order of the sheet: rising, the one without addition first."""
    portion = read[0].portion
    added = {tube.label: tube.added for tube in portion.additions[method.element]} if portion else {}
    on_readings = method.calibration.fit_on == "readings"
    tubes = [
        _Tube(one, added[one.label], signals.values[one.index] if on_readings else (signals.mean[one.index],))
        for one in read
    ]
    return sorted(tubes, key=lambda tube: Decimal(tube.added))


def _standing(method: Method, solved: Solved, tubes: Sequence[_Tube]) -> tuple[Measured, AddedSeries]:
    """The tube that stands for the series, with its value or why there is none."""
    first = tubes[0].measured
    loss = _incomplete(method, tubes) or _tube_lost(tubes, unit_shown(method.solution_unit))
    line = None if loss else _line(solved, tubes)
    series = _record(tubes, line)
    if line is not None and loss is None:
        loss = _judged(method, line, series, tubes[-1].added)
    value = line.outcome if line is not None and isinstance(line.outcome, Addition) else None
    standing = replace(
        first,
        x=nan if value is None else value.x,
        u_reading=nan if value is None else value.u,
        x_text="" if value is None else record_text(value.x),
        u_text="" if value is None else record_text(value.u),
        lost=loss,
        series=series,
    )
    return standing, series


def _incomplete(method: Method, tubes: Sequence[_Tube]) -> Loss | None:
    portion = tubes[0].measured.portion
    wanted = portion.labels_for(method.element) if portion else ()
    lacking = [label for label in wanted if label not in {tube.measured.label for tube in tubes}]
    if not lacking:
        return None
    return Loss("additions.incomplete", f"of its additions {', '.join(lacking)} was not read; read all tubes")


def _tube_lost(tubes: Sequence[_Tube], unit: str) -> Loss | None:
    """The first tube that gives no value costs the whole series: points are never left out of a line.

    Over range too: how signal and concentration go together is known up to the highest standard only.
    """
    for tube in tubes:
        lost = tube.measured.lost
        if lost is not None:
            return Loss(lost.code, f"tube {tube.measured.label} with {tube.added} {unit} added: {lost.why}")
    return None


def _line(solved: Solved, tubes: Sequence[_Tube]) -> _Line:
    x = column(tuple(float(tube.added) for tube in tubes for _ in tube.values))
    y = column(tuple(value for tube in tubes for value in tube.values))
    line = fit(x, y, "line")
    n = float(line.n)
    added_mean, signal_mean = (float(sum_points(one)[0]) / n for one in (x, y))
    away = x - added_mean
    fitted = line.faults[0] is None
    return _Line(
        fit=line,
        added_mean=added_mean,
        signal_mean=signal_mean,
        sxx=float(sum_points(away * away)[0]),
        ratio=float(line.coefficients[1, 0]) / _slope(solved) if fitted and _slope(solved) else nan,
        outcome=standard_addition(line),
    )


def _slope(solved: Solved) -> float:
    """Slope of the run's curve, a straight line (the rules of methods see to that)."""
    return float(solved.coefficients[solved.powers.index(1)])


def _record(tubes: Sequence[_Tube], line: _Line | None) -> AddedSeries:
    rows = tuple(
        AddedTube(
            label=tube.measured.label,
            added=tube.added,
            position=tube.measured.position,
            lines=tube.measured.lines,
            signals=tube.measured.signals,
            mean_signal=tube.measured.mean_signal,
            rsd_percent=tube.measured.rsd_percent,
        )
        for tube in tubes
    )
    points = sum(len(tube.values) for tube in tubes)
    if line is None or line.fit.faults[0] is not None:
        return AddedSeries(rows, points, 0, "", "", "", "", "", "", "", "")
    r = correlation(line.fit)
    return AddedSeries(
        tubes=rows,
        n=points,
        df=line.fit.df,
        added_mean=record_text(line.added_mean),
        signal_mean=record_text(line.signal_mean),
        sxx=record_text(line.sxx),
        intercept=record_text(float(line.fit.coefficients[0, 0])),
        slope=record_text(float(line.fit.coefficients[1, 0])),
        residual_sd=record_text(float(line.fit.residual_sd[0])),
        r="" if r is None else record_text(r[0]),
        slope_ratio=record_text(line.ratio),
    )


def _judged(method: Method, line: _Line, series: AddedSeries, highest: PlainDecimal) -> Loss | None:
    """Why a line gives no value: it is none, scatters, differs from the curve's slope, or its value lies too far off.

    A value beyond the highest addition would be reached by a longer way than was measured (common practice, no source).
    """
    if not isinstance(line.outcome, Addition):
        code, words = _NO_LINE[line.outcome]
        return Loss(code, f"{words}; prepare the additions again")
    plan, unit = method.calibration, unit_shown(method.solution_unit)
    least = Against(series.r, plan.additions_smallest_r, "", "")
    if plan.additions_smallest_r and not least.inside:
        return Loss("additions.scatter", f"r of the additions is {least.words}; prepare the additions again")
    largest = plan.additions_largest_slope_percent
    if largest and abs(fraction_of(series.slope_ratio) - 1) * 100 > fraction_of(largest):
        words = f"the slope of the additions is {shown(series.slope_ratio)} times that of the curve"
        return Loss("additions.slope", f"{words}; limit 1 ± {largest} %; find the cause, or dilute")
    beyond = Against(record_text(line.outcome.x), "", highest, method.solution_unit)
    if not beyond.inside:
        words = f"the value, {shown(beyond.found)} {unit}, lies beyond the highest addition, {highest} {unit}"
        return Loss("additions.beyond", f"{words}; add more, or dilute")
    return None


def _caution(standing: Measured, series: AddedSeries) -> Iterator[str]:
    """What a slope far from the curve's says of other readings of this matrix; by itself it fails nothing."""
    if standing.portion is not None and series.slope_ratio and external_unsafe(float(series.slope_ratio)):
        yield (
            f"the slope of the additions to {standing.portion.portion} is {shown(series.slope_ratio)} times that of "
            "the curve: a result of this matrix read from the curve would not be safe (common practice, no source)"
        )
