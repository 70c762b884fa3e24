"""``calc`` kinds about standards and signals.

standard_addition, single_addition, bracketing, one_standard, characteristic, variance_function.
"""

from __future__ import annotations

from math import isfinite, isnan
from typing import TYPE_CHECKING, cast

from benchseal.compute.arrays import column
from benchseal.compute.bracketing import (
    Correction,
    Standard,
    StoredCurve,
    bracketed,
    on_curve,
    one_standard,
    u_bracketed,
)
from benchseal.compute.calc_answer import (
    Json,
    all_refused,
    counted,
    fraction,
    fractions,
    items,
    number,
    numbers,
    points_detail,
    refused,
    share,
)
from benchseal.compute.calc_calibration import without_scatter
from benchseal.compute.characteristic import (
    LEAST_HISTORY,
    characteristic_concentration,
    characteristic_mass_pg,
    expected,
)
from benchseal.compute.drift import Addition, standard_addition
from benchseal.compute.fit import fit
from benchseal.compute.single_addition import Spiked, correlation, external_unsafe, single_addition

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction

    from benchseal.compute.fit import Fit

_SPIKED = ("signal_with", "signal_without", "added_volume_ml", "added_concentration", "sample_volume_ml")
_ADDITION = ("x", "u", "df", "half_width", "coefficients", "residual_sd")
_MATRIX = (
    "the slope of the additions differs from the external slope by more than 10 %: a result from the external"
    " calibration is not safe (common practice, no source)"
)
_BELOW_ZERO = "the concentration is below zero: look at the zero and at the correction of blank and background"
_LOW_STANDARD = (
    "the standard lies in the lower half of the range; use one in the upper half (common practice, no source)"
)


def answer_standard_addition(request: Mapping[str, Json]) -> dict[str, Json]:
    """Concentration in the measured solution from the line through the additions, and what its slope says."""
    line = fit(column(numbers(request["added"])), column(numbers(request["y"])), "line")
    judged = _slope_judged(line, request)
    fault = line.faults[0]
    if fault is not None:
        return all_refused((*_ADDITION, *judged), fault, points_detail(line))
    result = standard_addition(line, number(request["confidence"]))
    of_line: dict[str, Json] = {
        "coefficients": [float(one) for one in line.coefficients[:, 0]],
        "residual_sd": float(line.residual_sd[0]),
    }
    if not isinstance(result, Addition):
        return {**all_refused(("x", "u", "half_width"), result), "df": line.df, **of_line, **judged}
    below: dict[str, Json] = {"caution": _BELOW_ZERO} if result.x < 0 else {}
    cautions = [str(one["caution"]) for one in (judged, without_scatter(line), below) if "caution" in one]
    said: dict[str, Json] = {"caution": "; ".join(cautions)} if cautions else {}
    found: dict[str, Json] = {"x": result.x, "u": result.u, "df": result.df, "half_width": result.half_width}
    return {**found, **of_line, **judged, **said}


def _slope_judged(line: Fit, request: Mapping[str, Json]) -> dict[str, Json]:
    """Correlation and slope ratio, where the request has a limit or an external slope to hold them against."""
    answer: dict[str, Json] = {}
    if "least_r" in request or "external_slope" in request:
        found = correlation(line)
        answer["r"], answer["r_squared"] = (refused("all_equal"),) * 2 if found is None else found
        if "least_r" in request:
            least = number(request["least_r"])
            answer["r_reached"] = refused("all_equal") if found is None else found[0] >= least
    if "external_slope" in request:
        ratio = float(line.coefficients[1, 0]) / number(request["external_slope"])
        answer["slope_ratio"] = ratio
        answer["external_unsafe"] = external_unsafe(ratio) if isfinite(ratio) else refused("no_finite_value")
        if answer["external_unsafe"] is True:
            answer["caution"] = _MATRIX
    return answer


def answer_single_addition(request: Mapping[str, Json]) -> dict[str, Json]:
    """Concentration of the sample; its standard uncertainty where any input has one."""
    given = any(f"u_{key}" in request for key in _SPIKED)
    keys = ("concentration", "u") if given else ("concentration",)
    of = Spiked(*(number(request[key]) for key in _SPIKED))
    u = Spiked(*(number(request.get(f"u_{key}", 0)) for key in _SPIKED))
    found = single_addition(of, u)
    if isinstance(found, str):
        return all_refused(keys, found)
    answer: dict[str, Json] = dict(zip(keys, found, strict=False))
    return answer | ({"caution": _BELOW_ZERO} if found[0] < 0 else {})


def answer_bracketing(request: Mapping[str, Json]) -> dict[str, Json]:
    """Samples between two standards; ``u`` where all three readings have one."""
    rows = {key: cast("dict[str, Json]", request[key]) for key in ("low", "high")}
    low, high = (Standard(fraction(row["x"]), fraction(row["y"])) for row in rows.values())
    window = share(request["window_percent"])
    known = [number(row["u_y"]) for row in rows.values() if "u_y" in row]
    answers: list[Json] = []
    for sample in items(request["samples"]):
        row = cast("dict[str, Json]", sample)
        y = fraction(row["y"])
        x = bracketed(low, high, y, window)
        if isinstance(x, str):
            answers.append(refused(x))
            continue
        one: dict[str, Json] = {"x": float(x)}
        if len(known) == 2 and "u_y" in row:
            one["u"] = u_bracketed(low, high, y, (known[0], known[1], number(row["u_y"])))
        answers.append(one)
    return {"window_percent": float(100 * window), "samples": answers}


def answer_one_standard(request: Mapping[str, Json]) -> dict[str, Json]:
    """Factor of today's standard, and samples read on the stored curve with it."""
    row = cast("dict[str, Json]", request["standard"])
    curve = StoredCurve(
        tuple(fractions(request["coefficients"])), fraction(request["range_low"]), fraction(request["range_high"])
    )
    standard, blank = Standard(fraction(row["x"]), fraction(row["y"])), fraction(request["blank_y"])
    window = share(request["window_percent"])
    found = one_standard(curve, standard, blank)
    samples = [fraction(cast("dict[str, Json]", sample)["y"]) - blank for sample in items(request.get("samples"))]
    if not isinstance(found, Correction):
        rest: dict[str, Json] = {"samples": [refused(found) for _ in samples]}
        return {**all_refused(("nominal", "net", "factor", "within_window"), found), **rest}
    within = found.within(window)
    answer: dict[str, Json] = {
        "nominal": float(found.nominal),
        "net": float(found.net),
        "factor": float(found.factor),
        "within_window": within,
    }
    if 2 * standard.x < curve.low + curve.high:
        answer["caution"] = _LOW_STANDARD
    answer["samples"] = [
        _corrected(curve, net, found.factor) if within else refused("factor_outside") for net in samples
    ]
    return answer


def _corrected(curve: StoredCurve, net: Fraction, factor: Fraction) -> Json:
    x, why = on_curve(curve, net * factor)
    if why is not None:
        edge = float(curve.low if why == "below_lowest" else curve.high)
        return refused(why, "" if isnan(x) else f"about {x:.6g} against {edge:.6g}")
    return {"net": float(net), "corrected": float(net * factor), "x": x}


def answer_characteristic(request: Mapping[str, Json]) -> dict[str, Json]:
    """Characteristic concentration, or mass with a volume; with a history, the absorbance it expects."""
    c, a = fraction(request["concentration_mg_per_l"]), fraction(request["absorbance"])
    furnace = "volume_ul" in request
    key = "characteristic_mass_pg" if furnace else "characteristic_concentration_mg_per_l"
    if furnace:
        today = characteristic_mass_pg(c, a, fraction(request["volume_ul"]))
    else:
        today = characteristic_concentration(c, a)
    keys = ("expected_absorbance", "percent_of_expected", "within_window")
    if isinstance(today, str):
        return all_refused((key, *(keys if "history" in request else ())), today)
    answer: dict[str, Json] = {key: float(today)}
    if "history" not in request:
        return answer
    found = expected(today, a, fractions(request["history"]))
    if isinstance(found, str):
        few = counted(found, len(items(request["history"])), LEAST_HISTORY, "earlier figures")
        return answer | dict.fromkeys(keys, refused(found, few))
    window = share(request["window_percent"])
    judged = (float(found.absorbance), float(100 * found.ratio), found.within(window))
    return {**answer, "history_median": float(found.history), **dict(zip(keys, judged, strict=True))}


def answer_variance_function(request: Mapping[str, Json]) -> dict[str, Json]:
    """s0 and k of the scatter, and for each level the scatter found and fitted."""
    from benchseal.compute.judge_curve import levels_of  # noqa: PLC0415  only here
    from benchseal.compute.variance_fit import LEAST_LEVELS, VarianceFunction, variance_function  # noqa: PLC0415

    x = numbers(request["x"])
    found = variance_function(x, numbers(request["y"]))
    if not isinstance(found, VarianceFunction):
        several = sum(len(level) > 1 for level in levels_of(x))
        detail = counted(found, several, LEAST_LEVELS, "levels read several times")
        return all_refused(("s0", "k", "df", "levels"), found, detail)
    few = refused("too_few", counted("too_few", 1, 2, "readings"))
    levels: list[Json] = [
        {"x": one.x, "n": one.n, "s": few if one.s is None else one.s, "s_fitted": one.fitted} for one in found.levels
    ]
    return {"s0": found.s0, "k": found.k, "df": found.df, "levels": levels}
