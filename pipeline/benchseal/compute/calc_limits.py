"""``calc`` kinds statistics, outlier and detection_limit."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, cast

import numpy as np

from benchseal.compute.arrays import column
from benchseal.compute.calc_answer import (
    EXACT,
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
from benchseal.compute.outliers import LEAST_TESTED, OutlierTest, Sides, dixon, grubbs
from benchseal.compute.statistics import lag1_autocorrelation, statistics

if TYPE_CHECKING:
    from collections.abc import Mapping

LEAST_BLANKS = 10  # IUPAC (from memory); asked of both rules
# Times s/slope, for detection and quantification: IUPAC and ICH Q2 (both from memory).
BLANK_FACTORS = {"iupac": (3.0, 10.0), "ich": (3.3, 10.0)}
_STATISTICS = ("mean", "sd", "rsd_percent", "lag1_autocorrelation")


def answer_statistics(request: Mapping[str, Json]) -> dict[str, Json]:
    """Of values from which the first was taken off exactly; the mean gets it back exactly."""
    values = [decimal(value) for value in items(request["values"])]
    if not values:
        return {"n": 0, **all_refused(_STATISTICS, "too_few", counted("too_few", 0, 1, "value"))}
    origin, rest = shifted(values)
    found = statistics(column(rest))
    mean = EXACT.add(origin, Decimal(float(found.mean[0])))
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
    sides = cast("Sides", int(number(request.get("sides", 2))))
    found = test(rest, number(request.get("alpha", 0.05)), sides)
    if not isinstance(found, OutlierTest):
        detail = counted(found, len(values), LEAST_TESTED, "values")
        return {"n": len(values), **all_refused(("statistic", "critical", "flagged", "index"), found, detail)}
    return {
        "n": len(values),
        "statistic": found.statistic,
        "critical": found.critical,
        "flagged": found.flagged,
        "index": found.index,
        "value": float(values[found.index]),
    }


def answer_detection_limit(request: Mapping[str, Json]) -> dict[str, Json]:
    """One of five rules."""
    rule = str(request["rule"])
    rules = {"mdl": _mdl, "mdl_pooled": _pooled, "calibration_line": _line, "iupac": _blanks, "ich": _blanks}
    return {"rule": rule, **rules[rule](request)}


def _mdl(request: Mapping[str, Json]) -> dict[str, Json]:
    blanks = items(request.get("blanks"))
    spiked = numbers(request["spiked"])
    found = method_detection_limit(spiked, [None if one == "ND" else number(one) for one in blanks])
    if not isinstance(found, MethodDetectionLimit):
        short = len(spiked) < MDL_LEAST_SPIKED
        few = (len(spiked), MDL_LEAST_SPIKED, "spiked results") if short else (len(blanks), 2, "results of blanks")
        return all_refused(("mdl", "mdl_spiked", "mdl_blank", "t", "df"), found, counted(found, *few))
    missing = refused("no_blank_number" if blanks else "no_blanks")
    return {
        "mdl": found.mdl,
        "mdl_spiked": found.mdl_spiked,
        "mdl_blank": missing if found.mdl_blank is None else found.mdl_blank,
        "t": found.t,
        "df": found.df,
    }


def _pooled(request: Mapping[str, Json]) -> dict[str, Json]:
    sizes = [int(one) for one in numbers(request["n"])]
    found = pooled_detection_limit(numbers(request["variances"]), sizes)
    if not isinstance(found, PooledDetectionLimit):
        few = (min(sizes), 2, "results in a group") if sizes else (0, 1, "group")
        return all_refused(("mdl", "s_pooled", "df", "t"), found, counted(found, *few))
    return {"mdl": found.mdl, "s_pooled": found.s_pooled, "df": found.df, "t": found.t}


def _line(request: Mapping[str, Json]) -> dict[str, Json]:
    keys = ("decision_limit", "detection_limit", "detection_limit_noncentral", "quantification_limit")
    line = fit(column(numbers(request["x"])), column(numbers(request["y"])), "line")
    if line.faults[0] is not None:
        return all_refused(keys, line.faults[0], points_detail(line))
    alpha, beta = number(request.get("alpha", 0.01)), number(request.get("beta", 0.01))
    found = line_limits(line, alpha, beta, int(number(request.get("m", 1))), number(request.get("k", 3)))
    if not isinstance(found, LineLimits):
        return all_refused(keys, found)
    last = found.quantification
    values: tuple[Json, ...] = (
        found.decision,
        found.detection,
        found.detection_noncentral,
        last if isinstance(last, float) else refused(last),
    )
    return dict(zip(keys, values, strict=True))


def _blanks(request: Mapping[str, Json]) -> dict[str, Json]:
    """Both limits of the solution read; with a dilution, a volume and a mass also those of the sample."""
    scaled = any(key in request for key in ("dilution", "volume_ml", "mass_g"))
    keys = ("detection_limit", "quantification_limit")
    of_sample = tuple(f"sample_{key}" for key in keys) if scaled else ()
    blanks = numbers(request.get("blank_signals"))
    if "s" not in request and len(blanks) < LEAST_BLANKS:
        detail = counted("too_few_blanks", len(blanks), LEAST_BLANKS, "readings")
        return all_refused(("s", *keys, *of_sample), "too_few_blanks", detail)
    found = statistics(column(blanks)) if blanks else None
    s = number(request["s"]) if found is None else float(found.sd[0])
    answer: dict[str, Json] = {"s": s}
    factors = BLANK_FACTORS[str(request["rule"])]
    scaling = [number(request.get(key, 1)) for key in ("dilution", "volume_ml", "mass_g")]
    for key, factor in zip(keys, factors, strict=True):
        limit = blank_limits(s, number(request["slope"]), factor)
        if isinstance(limit, str):
            return answer | all_refused((*keys, *of_sample), "no_blank_scatter")
        answer[key] = limit
        if scaled:
            answer[f"sample_{key}"] = scaled_limit(limit, *scaling)
    if found is not None:
        answer["detection_signal"] = float(found.mean[0]) + factors[0] * s
    return answer
