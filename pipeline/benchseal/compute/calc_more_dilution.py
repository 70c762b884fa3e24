"""``calc`` kind dilution_plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.compute.calc_answer import Json, all_refused, fraction, items, number
from benchseal.compute.dilution_plan import Plan, Wanted, Ware, by_factor, dilution_plans, into_range

if TYPE_CHECKING:
    from collections.abc import Mapping


def answer_dilution_plan(request: Mapping[str, Json]) -> dict[str, Json]:
    """The best plans, best first."""
    wanted = _wanted(request)
    shown = int(number(request["plans"]))
    found = dilution_plans(
        wanted, _ware(request["pipettes"]), _ware(request["flasks"]), int(number(request["most_steps"]))
    )
    answer: dict[str, Json] = {"factor_to_the_middle": float(wanted.estimate / wanted.middle)}
    if isinstance(found, str):
        return {**answer, **all_refused(("plans",), found)}
    with_range = "estimate" in request
    return {**answer, "found": len(found), "plans": [_plan(one, with_range=with_range) for one in found[:shown]]}


def _wanted(request: Mapping[str, Json]) -> Wanted:
    least = fraction(request["least_aliquot_ml"])
    if "factor" in request:
        return by_factor(fraction(request["factor"]), least)
    estimate, low, high = (fraction(request[key]) for key in ("estimate", "range_low", "range_high"))
    return into_range(estimate, low, high, least)


def _ware(value: Json) -> list[Ware]:
    rows = [cast("dict[str, Json]", row) for row in items(value)]
    return [Ware(fraction(row["volume_ml"]), fraction(row["tolerance_ml"])) for row in rows]


def _plan(plan: Plan, *, with_range: bool) -> Json:
    answer: dict[str, Json] = {
        "steps": [
            {"aliquot_ml": float(step.pipette.volume_ml), "flask_ml": float(step.flask.volume_ml)}
            for step in plan.steps
        ],
        "factor": float(plan.factor),
        "factor_exact": str(plan.factor),
        "u_relative_percent": 100.0 * plan.u_relative,
    }
    return {**answer, "lands_at": float(plan.lands_at)} if with_range else answer
