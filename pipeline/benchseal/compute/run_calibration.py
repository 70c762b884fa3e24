"""The calibration of one run as a record, and judged: levels, back-calculated errors, r squared, rising, scatter."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.run_measured import judged_for_scatter
from benchseal.compute.run_numbers import decimal_text, record_text
from benchseal.compute.run_words import Against
from benchseal.records.results import Calibration, CheckVerdict, Level

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.run_curve import Points, Solved
    from benchseal.compute.run_measured import Measured
    from benchseal.records.method import Method
    from benchseal.records.quantities import PlainDecimal


def calibration_of(method: Method, points: Points, solved: Solved, measured: Sequence[Measured]) -> Calibration:
    """The record of the curve; every number is a value of record."""
    ordered = sorted(points.texts, key=Decimal)
    return Calibration(
        element=method.element,
        model=solved.model,
        weighting=method.calibration.weighting,
        fit_on=method.calibration.fit_on,
        unit=method.solution_unit,
        signal_unit=method.signal_unit,
        n=solved.n,
        df=solved.df,
        coefficients=_texts(solved.coefficients.tolist()),
        standard_errors=_texts(solved.standard_errors.tolist()),
        covariance=tuple(_texts(row) for row in solved.covariance.tolist()),
        residual_sd=record_text(solved.residual_sd),
        r_squared=record_text(solved.r_squared),
        rse_percent=record_text(solved.rse_percent),
        lowest=ordered[0],
        highest=ordered[-1],
        levels=_levels(points, solved, measured),
        chosen_because=solved.because,
        diagnostics=solved.diagnostics,
    )


def judge_calibration(
    method: Method, calibration: Calibration, solved: Solved, measured: Sequence[Measured]
) -> tuple[CheckVerdict, ...]:
    """Every verdict on the curve; one that is not a pass fails the run."""
    return (
        _judge_levels(method, calibration, measured),
        *_judge_errors(method, calibration),
        *_judge_rse(method, calibration),
        _judge_r_squared(method, calibration),
        _judge_rising(method, calibration, rises=solved.rises),
        *_judge_through_zero(method, calibration, solved),
    )


def judge_replicates(method: Method, measured: Sequence[Measured]) -> tuple[CheckVerdict, ...]:
    """Scatter of readings: one verdict over all of the laboratory's own solutions, and one for each failing sample."""
    own = [one for one in measured if not one.hidden and not _sample_of(one)]
    samples = [one for one in measured if _sample_of(one) and one.lost and one.lost.code == "reading.scatter"]
    return (_scatter(method, own, made=False), *(_scatter(method, [one], made=True) for one in samples))


def _texts(values: Sequence[float]) -> tuple[PlainDecimal, ...]:
    return tuple(record_text(value) for value in values)


def _levels(points: Points, solved: Solved, measured: Sequence[Measured]) -> tuple[Level, ...]:
    fitted = solved.fitted(points.concentrations)
    return tuple(
        _level(measured[place], text, curve_signal)
        for place, text, curve_signal in zip(points.places, points.texts, fitted, strict=True)
    )


def _level(one: Measured, concentration: PlainDecimal, fitted: float) -> Level:
    """Numbers of one level: residual and error are taken of the values of record beside them."""
    fitted_text = record_text(fitted)
    residual = Decimal(one.mean_signal) - Decimal(fitted_text)
    again = record_text(one.x) if Decimal(concentration) != 0 else ""
    error = 100 * (Decimal(again) - Decimal(concentration)) / Decimal(concentration) if again else None
    return Level(
        label=one.label,
        position=one.position,
        concentration=concentration,
        mean_signal=one.mean_signal,
        fitted_signal=fitted_text,
        residual=decimal_text(residual),
        back_calculated=again,
        error_percent="" if error is None else decimal_text(error),
    )


def _verdict(method: Method, name: str, levels: Sequence[Level], against: Against, why: str) -> CheckVerdict:
    return CheckVerdict(
        rule=f"calibration.{name}",
        check="calibration",
        positions=tuple(level.position for level in levels),
        expected="",
        found=against.found,
        low=against.low,
        high=against.high,
        unit=against.unit,
        verdict="fail" if why else "pass",
        why=why,
        source=method.calibration.source,
        made_on_sample=False,
    )


def _judge_levels(method: Method, calibration: Calibration, measured: Sequence[Measured]) -> CheckVerdict:
    """All the method's standards were read without a loss, and there are levels enough."""
    used = {Decimal(level.concentration) for level in calibration.levels}
    faults = [
        f"standard {one.label} has no reading" for one in method.standards if Decimal(one.concentration) not in used
    ]
    positions = {level.position for level in calibration.levels}
    faults.extend(
        f"standard {one.label} at position {one.position}: {one.lost.why}"
        for one in measured
        if one.position in positions and one.lost
    )
    against = Against(str(len(used)), str(method.calibration.smallest_levels), "", "")
    if not against.inside:
        faults.append(f"levels: {against.words}")
    return _verdict(method, "levels", calibration.levels, against, "; ".join(faults))


def _judge_errors(method: Method, calibration: Calibration) -> tuple[CheckVerdict, ...]:
    """Back-calculated error of every level above zero: the lowest has a limit of its own (EPA 8000D, 11.5.4.1)."""
    above = [level for level in calibration.levels if Decimal(level.concentration) > 0]
    lowest = min((Decimal(level.concentration) for level in above), default=Decimal(0))
    plan = method.calibration
    groups = (
        ("error_lowest", [one for one in above if Decimal(one.concentration) == lowest], plan.at_lowest_percent),
        ("error", [one for one in above if Decimal(one.concentration) != lowest], plan.largest_error_percent),
    )
    return tuple(_judge_error(method, name, group, limit) for name, group, limit in groups if group)


def _judge_error(method: Method, name: str, levels: Sequence[Level], limit: PlainDecimal) -> CheckVerdict:
    unread = [level for level in levels if not level.error_percent]
    if unread:
        why = f"the curve gives nothing back for standard {unread[0].label}"
        return _verdict(method, name, levels, Against("", f"-{limit}", limit, "%"), why)
    worst = max(levels, key=lambda level: abs(Decimal(level.error_percent)))
    against = Against(worst.error_percent, f"-{limit}", limit, "%")
    why = "" if against.inside else f"standard {worst.label} is given back with an error of {against.words}"
    return _verdict(method, name, levels, against, why)


def _no_rse(calibration: Calibration) -> str:
    above = [level for level in calibration.levels if Decimal(level.concentration) != 0]
    if lost := [level.label for level in above if not level.error_percent]:
        return f"the curve does not give back {', '.join(lost)}"
    due = len(calibration.coefficients) + 1
    return f"levels above zero are {len(above)}, and {due} points above zero are needed"


def _judge_rse(method: Method, calibration: Calibration) -> Iterator[CheckVerdict]:
    """Relative standard error, where the method limits it: EPA 8000D, 11.5.4.2."""
    limit = method.calibration.largest_rse_percent
    if not limit:
        return
    against = Against(calibration.rse_percent, "", limit, "%")
    if not against.found:
        why = f"the relative standard error is not defined: {_no_rse(calibration)}"
    else:
        why = "" if against.inside else f"the relative standard error is {against.words}"
    yield _verdict(method, "rse", calibration.levels, against, why)


def _judge_through_zero(method: Method, calibration: Calibration, solved: Solved) -> Iterator[CheckVerdict]:
    """A line through zero stands only where the intercept it leaves out cannot be told from zero.

    The 95 % interval of b0 of the free line through the same points contains zero: EPA 8000D, 11.5.2 to 11.5.3.
    """
    if calibration.model != "line_through_zero":
        return
    found, reach = record_text(solved.intercept), record_text(solved.intercept_reach)
    low = decimal_text(-Decimal(reach)) if reach else ""
    against = Against(found, low, reach, calibration.signal_unit)
    if not (found and reach):
        why = "no line with an intercept can be fitted, so leaving the intercept out cannot be judged"
    else:
        why = "" if against.inside else f"the line with an intercept meets concentration zero at {against.words}"
    verdict = _verdict(method, "through_zero", calibration.levels, against, why)
    yield replace(verdict, source="EPA 8000D, 11.5.2 to 11.5.3")


def _judge_r_squared(method: Method, calibration: Calibration) -> CheckVerdict:
    against = Against(calibration.r_squared, method.calibration.smallest_r_squared, "", "")
    if not against.found:
        why = "r squared is not defined: all calibration readings are equal"
    else:
        why = "" if against.inside else f"r squared is {against.words}"
    return _verdict(method, "r_squared", calibration.levels, against, why)


def _judge_rising(method: Method, calibration: Calibration, *, rises: bool) -> CheckVerdict:
    """EPA 8000D, 11.5.3.2."""
    why = "" if rises else f"the curve does not rise from {calibration.lowest} to {calibration.highest} throughout"
    return _verdict(method, "rising", calibration.levels, Against("", "", "", ""), why)


def _sample_of(one: Measured) -> str:
    return "" if one.portion is None else one.portion.sample


def _scatter(method: Method, solutions: Sequence[Measured], *, made: bool) -> CheckVerdict:
    judged = [one for one in solutions if judged_for_scatter(method, one.rsd_percent, one.nominal or one.x_text)]
    worst = max(judged, key=lambda one: Decimal(one.rsd_percent), default=None)
    against = Against("" if worst is None else worst.rsd_percent, "0", method.replicates.largest_rsd_percent, "%")
    if worst is None:
        why = "no solution holds enough for the scatter of its readings to be judged"
    else:
        why = "" if against.inside else f"readings at position {worst.position} scatter by {against.words}"
    return CheckVerdict(
        rule="replicates",
        check="replicates",
        positions=tuple(one.position for one in judged),
        expected="",
        found=against.found,
        low=against.low,
        high=against.high,
        unit="%",
        verdict="not_evaluated" if worst is None else "fail" if why else "pass",
        why=why,
        source=method.replicates.source,
        made_on_sample=made,
    )
