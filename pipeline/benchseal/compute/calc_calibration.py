"""``calc`` kind calibration."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import numpy as np

from benchseal.compute.arrays import Array, column, square
from benchseal.compute.calc_answer import Json, all_refused, counted, items, number, numbers, points_detail, refused
from benchseal.compute.fit import Fit, Model, Variance, Weighting, curve, fit
from benchseal.compute.interval import Interval, interval
from benchseal.compute.invert import Inverted, Status, invert, quadratic_form, rises, terms_at
from benchseal.compute.judge_curve import (
    Ratio,
    back_calculated_percent_error,
    free_intercept,
    homogeneity,
    lack_of_fit,
    levels_of,
    mandel,
    rse_percent,
)
from benchseal.compute.quantiles import f_tail
from benchseal.compute.statistics import statistics
from benchseal.compute.weights import LevelScatter, VarianceFunction, WeightRule, level_scatter, scatter_rule

if TYPE_CHECKING:
    from collections.abc import Mapping

_AS_GOOD_AS_NONE = 1e-12  # of the largest reading: no reading is known so well, and rounding alone leaves a little
_OUTSIDE = "outside the standards: nothing was measured there, and u does not know whether the curve goes on so"
_PERFECT = (
    "the points lie on the curve without scatter: the uncertainties, which are made of it, come out as nothing and say"
    " nothing of the measurement; give unrounded readings"
)
_OF_THE_FIT = (
    "coefficients", "standard_errors", "covariance", "residual_sd", "r_squared", "residuals",
    "back_calculated_percent_error", "rse_percent",
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Posed:
    """Points as they are fitted and what weighs them. read_x, read_y: every reading as asked."""

    x: Array
    y: Array
    weights: Array | None
    rule: WeightRule | None
    read_x: Array
    read_y: Array


def answer_calibration(request: Mapping[str, Json]) -> dict[str, Json]:
    """Fit, its judgement, samples and predictions; a sample outside the standards is refused."""
    weighting = cast("Weighting", request["weighting"])
    posed = _posed(request, weighting)
    found = fit(
        posed.x,
        posed.y,
        cast("Model", request["model"]),
        weighting,
        weights=posed.weights,
        rule=posed.rule,
        variance=cast("Variance", request["variance"]),
    )
    known = {"model": request["model"], "weighting": weighting, "n": found.n}
    fault = found.faults[0]
    if fault is not None:
        return {**known, **all_refused((*_OF_THE_FIT, "df"), fault, points_detail(found)), **_not_fitted(request)}
    answer: dict[str, Json] = {**known, "df": found.df, **_fitted(found), **_judged(found, posed)}
    confidence = number(request["confidence"])
    if "samples" in request:
        answer["samples"] = _samples(found, items(request["samples"]), confidence)
    if "predict_at" in request:
        answer["predictions"] = _predictions(found, numbers(request["predict_at"]))
    return answer | without_scatter(found)


def without_scatter(found: Fit) -> dict[str, Json]:
    """A caution where the points lie on the curve and the uncertainties, made of their scatter, come out as nothing."""
    largest = float(np.max(np.abs(found.residuals[:, 0])))
    scatters = largest > _AS_GOOD_AS_NONE * float(np.max(np.abs(found.y[:, 0])))
    return {} if scatters or found.variance == "known" else {"caution": _PERFECT}


def _posed(request: Mapping[str, Json], weighting: Weighting) -> _Posed:
    """The points to fit: the readings, or under weighting 1/s2 the mean of each level.

    The scatter of the readings about their mean has then been spent on the weights; counted again in the residuals
    it would make them look better known than they are.
    """
    x, y = column(numbers(request["x"])), column(numbers(request["y"]))
    if weighting == "1/s2":
        scatter = level_scatter(list(zip(x[:, 0].tolist(), y[:, 0].tolist(), strict=True)))
        levels = [y[x[:, 0] == one] for one in scatter]
        counts = column([float(len(level)) for level in levels])
        means = column([float(statistics(level).mean[0]) for level in levels])
        return _Posed(column(list(scatter)), means, None, scatter_rule([scatter], counts), x, y)
    if weighting == "variance_function":
        rule = VarianceFunction(np.array([number(request["s0"])]), np.array([number(request["k"])]))
        return _Posed(x, y, None, rule, x, y)
    weights = column(numbers(request["weights"])) if weighting == "given" else None
    return _Posed(x, y, weights, None, x, y)


def _not_fitted(request: Mapping[str, Json]) -> dict[str, Json]:
    """What was asked of a curve that there is not."""
    asked = {"samples": "samples", "predict_at": "predictions"}
    return {to: [refused("not_fitted") for _ in items(request[one])] for one, to in asked.items() if one in request}


def _judged(found: Fit, posed: _Posed) -> dict[str, Json]:
    """What speaks for or against the curve; a test is absent where it does not apply."""
    judged: dict[str, Json] = {}
    if isinstance(posed.rule, LevelScatter):
        judged["levels"] = _levels(posed.rule, found)
    if found.model == "line_through_zero":
        judged["free_intercept"] = _free_intercept(found)
    else:
        judged["mandel"] = _mandel(found)
    return judged | _lack_of_fit(found) | _homogeneity(posed)


def _levels(rule: LevelScatter, found: Fit) -> Json:
    columns = (found.x, found.y, rule.s, rule.readings)
    rows = zip(*(one[:, 0].tolist() for one in columns), strict=True)
    return [{"x": x, "mean": mean, "s": s, "readings": int(readings)} for x, mean, s, readings in rows]


def _free_intercept(found: Fit) -> Json:
    """The intercept that a line through zero leaves out: EPA 8000D, 11.5.2 to 11.5.3."""
    free = free_intercept(found)
    fault = free.faults[0]
    if fault is not None:
        return refused(fault, counted(fault, found.n, 3, "points"))
    return {
        "b0": float(free.b0[0]),
        "half_width": float(free.half_width[0]),
        "contains_zero": bool(free.contains_zero[0]),
    }


def _homogeneity(posed: _Posed) -> dict[str, Json]:
    """Present only where the lowest and the highest level have readings enough."""
    low, high = (posed.read_y[posed.read_x[:, 0] == end] for end in (posed.read_x.min(), posed.read_x.max()))
    if min(len(low), len(high)) < 2 or posed.read_x.min() == posed.read_x.max():
        return {}
    test = homogeneity(low, high)
    statistic = float(test.statistic[0])
    if np.isnan(statistic):
        return {"homogeneity": refused("no_scatter")}
    ratio: dict[str, Json] = {"statistic": statistic, "df": [test.df1, test.df2], "critical_99": test.critical}
    return {"homogeneity": {**ratio, "significant": bool(test.exceeded[0])}}


def _fitted(found: Fit) -> dict[str, Json]:
    r2 = float(found.r_squared[0])
    errors = back_calculated_percent_error(found)[:, 0]
    rse = float(rse_percent(found)[0])
    missing = "no_root" if rises(found)[0] else "not_rising"
    answer: dict[str, Json] = {
        "coefficients": _floats(found.coefficients[:, 0]),
        "standard_errors": _floats(found.standard_errors[:, 0]),
        "covariance": [_floats(row[:, 0]) for row in found.covariance],
        "residual_sd": float(found.residual_sd[0]),
        "r_squared": refused("all_equal") if np.isnan(r2) else r2,
        "residuals": _floats(found.residuals[:, 0]),
        "back_calculated_percent_error": [
            refused("zero_x" if x == 0 else missing) if np.isnan(error) else float(error)
            for x, error in zip(found.x[:, 0], errors, strict=True)
        ],
        "rse_percent": _no_rse(found, errors, missing) if np.isnan(rse) else rse,
    }
    if found.variance == "known":
        answer["chi_squared"] = square(float(found.residual_sd[0])) * found.df
    return answer


def _no_rse(found: Fit, errors: Array, missing: str) -> Json:
    above = found.x[:, 0] != 0
    if bool(np.any(np.isnan(errors[above]))):
        return refused(missing)
    few = (int(np.count_nonzero(above)), len(found.powers) + 1, "points not at zero")
    return refused("too_few_points", counted("too_few_points", *few))


def _mandel(found: Fit) -> Json:
    if found.n < 4:
        return refused("too_few_points", counted("too_few_points", found.n, 4, "points"))
    test = mandel(found)
    if np.isnan(test.statistic[0]):
        return refused("x_not_spread" if len(levels_of(found.x[:, 0].tolist())) < 3 else "no_scatter")
    return {
        "statistic": float(test.statistic[0]),
        "critical_99": test.critical,
        "quadratic_better": bool(test.exceeded[0]),
    }


def _lack_of_fit(found: Fit) -> dict[str, Json]:
    """Present only where there are replicates and levels enough."""
    test = lack_of_fit(found, levels_of(found.x[:, 0].tolist()))
    return {} if test is None else {"lack_of_fit": _ratio(test)}


def _ratio(test: Ratio) -> Json:
    statistic = float(test.statistic[0])
    if np.isnan(statistic):
        return refused("no_scatter")
    return {
        "statistic": statistic,
        "df": [test.df1, test.df2],
        "critical_95": test.critical,
        "p_value": f_tail(statistic, test.df1, test.df2),
        "significant": bool(test.exceeded[0]),
    }


def _samples(found: Fit, samples: list[Json], confidence: float) -> list[Json]:
    rows = [cast("dict[str, Json]", sample) for sample in samples]
    if not rows:
        return []
    back = invert(
        found,
        column([number(row["y"]) for row in rows]),
        column([number(row.get("readings", 1)) for row in rows]),
        weight=column([number(row["weight"]) if "weight" in row else np.nan for row in rows]),
        confidence=confidence,
    )
    between = interval(found, back)
    return [_sample(found, back, between, place) for place in range(len(rows))]


def _sample(found: Fit, back: Inverted, between: Interval, place: int) -> Json:
    status = Status(int(back.status[place, 0]))
    if status is not Status.IN_RANGE:
        detail = ""
        if status in (Status.OVER_RANGE, Status.BELOW_LOWEST):
            edge = found.x_high if status is Status.OVER_RANGE else found.x_low
            detail = f"about {float(back.x[place, 0]):.6g} against {float(edge[0]):.6g}"
        return refused(status.name.lower(), detail)
    low, high = float(between.low[place, 0]), float(between.high[place, 0])
    missing = refused("no_interval")
    ok = bool(between.found[place, 0])
    return {
        "x": float(back.x[place, 0]),
        "u": float(back.u[place, 0]),
        "u_reading": float(back.u_reading[place, 0]),
        "u_curve": float(back.u_curve[place, 0]),
        "half_width": (high - low) / 2 if ok else missing,
        "interval": [low, high] if ok else missing,
        "interval_by": "fieller" if between.by_fieller[place, 0] else "t",
    }


def _predictions(found: Fit, at: list[float]) -> list[Json]:
    """Fitted y and the standard uncertainty of the curve alone; any x, but outside the standards it says so."""
    x = column(at)
    terms = terms_at(found, x)
    y = curve(found.coefficients, found.powers, x)
    u = np.sqrt(np.maximum(quadratic_form(found.covariance, terms, terms), 0.0))
    found_at: list[Json] = []
    for place, one in enumerate(at):
        row: dict[str, Json] = {"x": one, "y": float(y[place, 0]), "u": float(u[place, 0])}
        outside = not found.x_low[0] <= one <= found.x_high[0]
        found_at.append(row | ({"caution": _OUTSIDE} if outside else {}))
    return found_at


def _floats(values: Array) -> list[Json]:
    return [float(value) for value in values]
