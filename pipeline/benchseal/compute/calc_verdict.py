"""``calc`` kinds conformity, rounding, drift, recovery and rpd."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import numpy as np

from benchseal.compute.calc_answer import EXACT, Json, all_refused, decimal, items, number, numbers, refused
from benchseal.compute.conformity import (
    DecisionRule,
    Judgement,
    Limits,
    NoVerdict,
    RoundTo,
    judge,
    judge_below,
    probability_of_conformity,
)
from benchseal.compute.drift import Drift, Pair, drift
from benchseal.compute.recovery import recovery_percent, relative_percent_difference
from benchseal.compute.rounding import reported, rounded_text
from benchseal.records.quantities import RoundingMode, plain

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal


def answer_conformity(request: Mapping[str, Json]) -> dict[str, Json]:
    """Verdict by one rule; the probability is information, never the rule."""
    limits = Limits(
        upper=_plain(request.get("upper")),
        lower=_plain(request.get("lower")),
        upper_included=bool(request["upper_included"]),
        lower_included=bool(request["lower_included"]),
    )
    u = decimal(request["u"]) if "u" in request else None
    below = str(request["value"]).startswith("<")
    value = decimal(str(request["value"])[1:].strip(" ")) if below else decimal(request["value"])
    try:
        found = _judged(request, value, limits, u, below=below)
    except ValueError:
        return {"rule": request["rule"], **all_refused(("verdict", "probability"), "too_many_digits")}
    answer: dict[str, Json] = {"rule": request["rule"]}
    if not isinstance(found, Judgement):
        return {**answer, **all_refused(("verdict", "probability"), found)}
    answer["verdict"] = found.verdict
    if found.acceptance_upper is not None:
        answer["acceptance_upper"] = float(found.acceptance_upper)
    if found.acceptance_lower is not None:
        answer["acceptance_lower"] = float(found.acceptance_lower)
    if not below:
        answer["probability"] = _probability(value, u, limits)
    return answer if found.rounded is None else {**answer, "rounded": found.rounded}


def _judged(
    request: Mapping[str, Json], value: Decimal, limits: Limits, u: Decimal | None, *, below: bool
) -> Judgement | NoVerdict:
    rule, k = cast("DecisionRule", request["rule"]), decimal(request["k"])
    if below:
        return judge_below(rule, value, limits, u=u, k=k)
    return judge(rule, value, limits, u=u, k=k, round_to=cast("RoundTo", request["round_to"]))


def _plain(value: Json) -> str | None:
    return None if value is None else plain(decimal(value))


def _probability(value: Decimal, u: Decimal | None, limits: Limits) -> Json:
    if u is None:
        return refused("u_missing")
    return probability_of_conformity(value, u, limits) if u > 0 else refused("u_zero")


def answer_rounding(request: Mapping[str, Json]) -> dict[str, Json]:
    """``text`` for decimals or significant; with ``u`` also value and U (k = 2 unless given) to one place."""
    value, mode = decimal(request["value"]), cast("RoundingMode", request["mode"])
    answer: dict[str, Json] = {"mode": mode}
    decimals, significant = (_whole(request.get(key)) for key in ("decimals", "significant"))
    if decimals is not None or significant is not None:
        try:
            answer["text"] = rounded_text(value, mode, decimals=decimals, significant=significant)
        except ValueError:
            answer |= all_refused(("text",), "too_many_digits")
    return answer if "u" not in request else answer | _with_u(request, value, mode, decimals)


def _with_u(request: Mapping[str, Json], value: Decimal, mode: RoundingMode, decimals: int | None) -> dict[str, Json]:
    expanded = EXACT.multiply(decimal(request["k"]), decimal(request["u"]))
    if expanded == 0 and decimals is None:
        return all_refused(("value_text", "expanded_text"), "expanded_not_positive")
    try:
        text = reported(value, expanded, mode, decimals=decimals)
    except ValueError:
        return all_refused(("value_text", "expanded_text"), "too_many_digits")
    return {"value_text": text.value_text, "expanded_text": text.expanded_text}


def _whole(value: Json) -> int | None:
    return None if value is None else int(number(value))


def answer_drift(request: Mapping[str, Json]) -> dict[str, Json]:
    """Baseline and sensitivity between two checks; a correction never rescues a failed check."""
    rows = [numbers(sample) for sample in items(request["samples"])]
    positions, absorbances = (np.array([row[place] for row in rows], dtype=np.float64) for place in (0, 1))
    found = drift(_pair(request["check_blank"]), _pair(request["check_standard"]), positions, absorbances)
    if not isinstance(found, Drift):
        samples: list[Json] = [refused(found) for _ in rows]
        return {**all_refused(("drift_percent",), found), "samples": samples}
    return {
        "drift_percent": found.drift_percent,
        "samples": [_drifted(found, place) for place in range(len(rows))],
    }


def _drifted(found: Drift, place: int) -> Json:
    if not found.bracketed[place]:
        return refused("not_bracketed")
    names = ("blank", "net", "factor", "corrected")
    columns = (found.blank, found.net, found.factor, found.corrected)
    return {name: float(values[place]) for name, values in zip(names, columns, strict=True)}


def _pair(value: Json) -> Pair:
    (start, first), (end, last) = (numbers(point) for point in items(value))
    return (start, first), (end, last)


def answer_recovery(request: Mapping[str, Json]) -> dict[str, Json]:
    """100 (found - native)/added."""
    native = decimal(request["native"])
    added = decimal(request["added"])
    if added < 0:
        return all_refused(("percent",), "added_zero", "it is below zero")
    percent = recovery_percent(decimal(request["found"]), added, native)
    return all_refused(("percent",), "added_zero") if percent is None else {"percent": float(percent)}


def answer_rpd(request: Mapping[str, Json]) -> dict[str, Json]:
    """100 |a - b| over the mean."""
    percent = relative_percent_difference(decimal(request["a"]), decimal(request["b"]))
    return all_refused(("percent",), "mean_not_positive") if percent is None else {"percent": float(percent)}
