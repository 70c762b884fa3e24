"""``calc`` kinds statistics, outlier and detection_limit."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, cast

import numpy as np

from benchseal.compute.arrays import column
from benchseal.compute.calc_answer import (
    Json,
    all_refused,
    counted,
    decimal,
    items,
    number,
    numbers,
    points_detail,
    refused,
    shifted,
)
from benchseal.compute.fit import fit
from benchseal.compute.limits import (
    MDL_LEAST_BLANKS,
    MDL_LEAST_SPIKED,
    LineLimits,
    MethodDetectionLimit,
    PooledDetectionLimit,
    blank_limits,
    line_limits,
    method_detection_limit,
    pooled_detection_limit,
    scaled_limit,
)
from benchseal.compute.outliers import LEAST_TESTED, End, OutlierTest, Sides, dixon, grubbs
from benchseal.compute.statistics import lag1_autocorrelation, statistics

if TYPE_CHECKING:
    from collections.abc import Mapping

LEAST_BLANKS = 10  # IUPAC (from memory); asked of both rules
# Times s/slope, for detection and quantification: IUPAC and ICH Q2 (both from memory).
BLANK_FACTORS = {"iupac": (3.0, 10.0), "ich": (3.3, 10.0)}
_FEW_BLANKS = (
    "{} method blank{}: the procedure asks for at least 7, as for spiked samples, and takes the greater of both limits"
    " (40 CFR 136 appendix B revision 2, from memory)"
)
_SMALL_GROUP = (
    "a group has fewer than 7 results; a method detection limit rests on at least 7 through the whole method"
    " (40 CFR 136 appendix B revision 2, from memory)"
)
_END_CHOSEN = (
    "the end was chosen from the data, so a false flag is about twice as likely as alpha says: name the end where it"
    " was fixed before measuring, or use sides 2, as the tables of ISO 5725-2 do (from memory)"
)
_SCALING = ("dilution", "volume_ml", "mass_g")
_STATISTICS = ("mean", "sd", "rsd_percent", "lag1_autocorrelation")


def answer_statistics(request: Mapping[str, Json]) -> dict[str, Json]:
    """The mean in exact arithmetic; scatter of values from which the first was taken off exactly."""
    values = [decimal(value) for value in items(request["values"])]
    if not values:
        return {"n": 0, **all_refused(_STATISTICS, "too_few", counted("too_few", 0, 1, "value"))}
    rest = shifted(values)[1]
    found = statistics(column(rest))
    mean = sum(map(Fraction, values), Fraction(0)) / len(values)
    answer: dict[str, Json] = {"n": found.n, "mean": float(mean)}
    if found.n == 1:
        few = refused("too_few", counted("too_few", 1, 2, "values"))
        return {**answer, **dict.fromkeys(_STATISTICS[1:], few)}
    sd, lag = float(found.sd[0]), float(lag1_autocorrelation(column(rest))[0])
    relative = refused("zero_mean") if mean == 0 else 100.0 * sd / abs(float(mean))
    return {
        **answer,
        "sd": sd,
        "rsd_percent": relative,
        "lag1_autocorrelation": refused("no_spread") if np.isnan(lag) else lag,
    }


def answer_outlier(request: Mapping[str, Json]) -> dict[str, Json]:
    """The most extreme value and whether the test flags it; nothing is removed."""
    values = [decimal(value) for value in items(request["values"])]
    rest = shifted(values)[1] if values else []
    test = grubbs if request["test"] == "grubbs" else dixon
    sides = cast("Sides", int(number(request["sides"])))
    end = cast("End | None", request.get("end"))
    found = test(rest, number(request["alpha"]), sides, end)
    if not isinstance(found, OutlierTest):
        detail = counted(found, len(values), LEAST_TESTED, "values")
        return {"n": len(values), **all_refused(("statistic", "critical", "flagged", "index"), found, detail)}
    answer: dict[str, Json] = {
        "n": len(values),
        "statistic": found.statistic,
        "critical": found.critical,
        "flagged": found.flagged,
        "index": found.index,
        "value": float(values[found.index]),
        "end": found.end,
    }
    return answer | ({"caution": _END_CHOSEN} if sides == 1 and end is None else {})


def answer_detection_limit(request: Mapping[str, Json]) -> dict[str, Json]:
    """One of five rules."""
    rule = str(request["rule"])
    rules = {"mdl": _mdl, "mdl_pooled": _pooled, "calibration_line": _line, "iupac": _blanks, "ich": _blanks}
    return {"rule": rule, **rules[rule](request)}


def _mdl(request: Mapping[str, Json]) -> dict[str, Json]:
    spiked, blanks = numbers(request["spiked"]), items(request.get("blanks"))
    found = method_detection_limit(spiked, [None if one == "ND" else number(one) for one in blanks])
    if not isinstance(found, MethodDetectionLimit):
        few = counted(found, len(spiked), MDL_LEAST_SPIKED, "spiked results")
        return all_refused(("mdl", "mdl_spiked", "mdl_blank", "t", "df"), found, few)
    missing = refused("no_blank_number" if blanks else "no_blanks")
    too_few = refused("too_few", counted("too_few", len(blanks), 2, "results of blanks"))
    blank = missing if found.mdl_blank is None else found.mdl_blank
    answer: dict[str, Json] = {
        "mdl": too_few if found.mdl == "too_few" else found.mdl,
        "mdl_spiked": found.mdl_spiked,
        "mdl_blank": too_few if blank == "too_few" else blank,
        "t": found.t,
        "df": found.df,
    }
    if len(blanks) < MDL_LEAST_BLANKS:
        answer["caution"] = _FEW_BLANKS.format(len(blanks), "" if len(blanks) == 1 else "s")
    return answer


def _pooled(request: Mapping[str, Json]) -> dict[str, Json]:
    sizes = [int(one) for one in numbers(request["n"])]
    found = pooled_detection_limit(numbers(request["variances"]), sizes)
    if not isinstance(found, PooledDetectionLimit):
        few = (min(sizes), 2, "results in a group") if sizes else (0, 1, "group")
        return all_refused(("mdl", "s_pooled", "df", "t"), found, counted(found, *few))
    answer: dict[str, Json] = {"mdl": found.mdl, "s_pooled": found.s_pooled, "df": found.df, "t": found.t}
    return answer | ({"caution": _SMALL_GROUP} if min(sizes) < MDL_LEAST_SPIKED else {})


def _line(request: Mapping[str, Json]) -> dict[str, Json]:
    """Limits of the solution read; with a dilution, a volume and a mass also those of the sample."""
    keys = ("decision_limit", "detection_limit", "detection_limit_noncentral", "quantification_limit")
    line = fit(column(numbers(request["x"])), column(numbers(request["y"])), "line")
    of_sample = _keys_of_sample(request, keys)
    if line.faults[0] is not None:
        return all_refused((*keys, *of_sample), line.faults[0], points_detail(line))
    alpha, beta = number(request["alpha"]), number(request["beta"])
    found = line_limits(line, alpha, beta, int(number(request["m"])), number(request["k"]))
    if not isinstance(found, LineLimits):
        return all_refused((*keys, *of_sample), found)
    limits = (found.decision, found.detection, found.detection_noncentral, found.quantification)
    highest = float(line.x_high[0])
    answer = {key: _within(limit, highest) for key, limit in zip(keys, limits, strict=True)}
    return answer | {to: _of_sample(request, answer[key]) for key, to in zip(keys, of_sample, strict=False)}


def _keys_of_sample(request: Mapping[str, Json], keys: tuple[str, ...]) -> tuple[str, ...]:
    """Keys of the limits carried to the sample; none where the request has nothing to carry them by."""
    scaled = any(key in request for key in _SCALING)
    return tuple(f"sample_{key}" for key in keys) if scaled else ()


def _of_sample(request: Mapping[str, Json], limit: Json) -> Json:
    """A limit as its results are carried to the sample; a refused one stays refused."""
    if not isinstance(limit, float):
        return limit
    return scaled_limit(limit, *(number(request.get(key, 1)) for key in _SCALING))


def _within(limit: float | str, highest: float) -> Json:
    """A limit above the highest standard is an extrapolation, and so none."""
    if isinstance(limit, str):
        return refused(limit)
    if limit > highest:
        return refused("limit_above_standards", f"about {limit:.6g} against {highest:.6g}")
    return limit


def _blanks(request: Mapping[str, Json]) -> dict[str, Json]:
    """Both limits of the solution read; with a dilution, a volume and a mass also those of the sample."""
    keys = ("detection_limit", "quantification_limit")
    of_sample = _keys_of_sample(request, keys)
    blanks = numbers(request.get("blank_signals"))
    if "s" not in request and len(blanks) < LEAST_BLANKS:
        detail = counted("too_few_blanks", len(blanks), LEAST_BLANKS, "readings")
        return all_refused(("s", *keys, *of_sample), "too_few_blanks", detail)
    found = statistics(column(blanks)) if blanks else None
    s = number(request["s"]) if found is None else float(found.sd[0])
    answer: dict[str, Json] = {"s": s}
    factors = BLANK_FACTORS[str(request["rule"])]
    for key, factor in zip(keys, factors, strict=True):
        limit = blank_limits(s, number(request["slope"]), factor)
        if isinstance(limit, str):
            return answer | all_refused((*keys, *of_sample), "no_blank_scatter")
        answer[key] = limit
        if of_sample:
            answer[f"sample_{key}"] = _of_sample(request, limit)
    if found is not None:
        answer["detection_signal"] = float(found.mean[0]) + factors[0] * s
    return answer
