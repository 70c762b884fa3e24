"""``calc`` kinds about quality and limits: control_chart, score, pde_limit, species."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, cast

from benchseal.compute.calc_answer import (
    EXACT,
    Json,
    all_refused,
    counted,
    decimal,
    fraction,
    fractions,
    items,
    number,
    refused,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.compute.control_chart import Break, Limits, NoChart, RuleSet
    from benchseal.compute.proficiency import Score

_CHART = ("mean", "s", "warning", "control", "breaks")


def answer_control_chart(request: Mapping[str, Json]) -> dict[str, Json]:
    """A chart for each lot, in order of first appearance; one without lots."""
    values = fractions(request["values"])
    named = [str(one) for one in items(request.get("lots"))]
    lots = named or [""] * len(values)
    charts: list[Json] = []
    for lot in dict.fromkeys(lots) if values else [""]:
        places = [place for place, one in enumerate(lots) if one == lot]
        chart = _chart(request, [values[place] for place in places], places)
        charts.append({"lot": lot, **chart} if named else chart)
    return {"charts": charts}


def _chart(request: Mapping[str, Json], values: Sequence[Fraction], places: Sequence[int]) -> dict[str, Json]:
    from benchseal.compute import control_chart as own  # noqa: PLC0415  only here

    limits = _limits(request, values)
    if isinstance(limits, str):
        base = int(number(request.get("base_first", 0)))
        return {"n": len(values), **all_refused(_CHART, limits, counted(limits, base, own.LEAST_BASE, "values"))}
    rules = request["rules"]
    sets = cast("list[RuleSet]", ["western_electric", "nelson"] if rules == "both" else [rules])
    found = own.breaks(values, limits, sets)
    answer: dict[str, Json] = {
        "n": len(values),
        "base_n": limits.base,
        "mean": float(limits.mean),
        "s": float(limits.s),
        "warning": [float(one) for one in limits.at(2)],
        "control": [float(one) for one in limits.at(3)],
        "breaks": [_broken(one, places, limits.base) for one in found],
    }
    if limits.base and limits.base < own.WISHED_BASE:
        answer["caution"] = f"the base period has {limits.base} values; {own.WISHED_BASE} or more are recommended"
    return answer


def _limits(request: Mapping[str, Json], values: Sequence[Fraction]) -> Limits | NoChart:
    from benchseal.compute import control_chart as own  # noqa: PLC0415  only here

    if "base_first" in request:
        return own.base_limits(values, int(number(request["base_first"])))
    return own.Limits(fraction(request["mean"]), fraction(request["sd"]), 0)


def _broken(one: Break, places: Sequence[int], base: int) -> Json:
    return {
        "rule": f"{one.rules} {one.rule}",
        "words": one.words,
        "first_index": places[one.first],
        "last_index": places[one.last],
        "in_base": one.first < base,
    }


def answer_score(request: Mapping[str, Json]) -> dict[str, Json]:
    """Each score whose inputs are given, and how it stands."""
    from benchseal.compute.proficiency import e_n_scored, reference_negligible, scored  # noqa: PLC0415  only here

    value, reference = decimal(request["value"]), decimal(request["reference"])
    answer: dict[str, Json] = {"difference": float(EXACT.subtract(value, reference))}
    u_reference = decimal(request["u_reference"]) if "u_reference" in request else None
    if "sigma_pt" in request:
        sigma = decimal(request["sigma_pt"])
        answer["z"] = _scored(scored(value, sigma, reference, Decimal(0)))
        if u_reference is not None:
            answer["z_prime"] = _scored(scored(value, sigma, reference, u_reference))
            answer["reference_negligible"] = reference_negligible(u_reference, sigma)
    if "u" in request and u_reference is not None:
        u, k = decimal(request["u"]), decimal(request["k"])
        answer["zeta"] = _scored(scored(value, u, reference, u_reference))
        expanded = (EXACT.multiply(k, one) for one in (u, u_reference))
        answer["e_n"] = _scored(e_n_scored(value, next(expanded), reference, next(expanded)))
    return answer


def _scored(found: Score | str) -> Json:
    return refused(found) if isinstance(found, str) else {"value": found.value, "standing": found.standing}


def answer_pde_limit(request: Mapping[str, Json]) -> dict[str, Json]:
    """Limit in ug/g, rounded down; a threshold of the risk assessment beside it."""
    from benchseal.compute import pde  # noqa: PLC0415  only here

    exposure, dose = fraction(request["pde_ug_per_day"]), fraction(request["dose_g_per_day"])
    decimals = int(number(request["decimals"]))
    answer: dict[str, Json] = {"route": request["route"]}
    wanted = {"limit": (Fraction(1), dose), "control_threshold": (pde.CONTROL_THRESHOLD, dose)}
    if dose <= pde.OPTION_1_DOSE_G:
        wanted["limit_for_10_g_per_day"] = (Fraction(1), Fraction(pde.OPTION_1_DOSE_G))
    for key, (part, per_day) in wanted.items():
        found = pde.pde_limit(part * exposure, per_day, decimals)
        answer[f"{key}_text"] = refused(found) if isinstance(found, str) else found.text
    return {**answer, "limit_ug_per_g": float(exposure / dose)}


def answer_species(request: Mapping[str, Json]) -> dict[str, Json]:
    """Factor from an element to the substance it is given as, and a value turned by it, either way."""
    from benchseal.records.species import ATOMIC_WEIGHTS, atoms_in, expression_factor, molar_mass  # noqa: PLC0415

    formula, element = str(request["formula"]), str(request["element"])
    keys = ("factor", "molar_mass_g_per_mol", "atomic_weight", "atoms", *(("result",) if "value" in request else ()))
    try:
        factor = expression_factor(formula, element)
    except ValueError as fault:
        refusal = refused("formula_unfit", json.dumps(str(fault))[1:-1])
        return {**dict.fromkeys(keys, refusal), **refusal}
    answer: dict[str, Json] = {
        "factor": float(factor),
        "molar_mass_g_per_mol": float(molar_mass(formula)),
        "atomic_weight": float(Fraction(ATOMIC_WEIGHTS[element])),
        "atoms": atoms_in(formula)[element],
    }
    if "value" in request:
        value = fraction(request["value"])
        as_element = request["value_is"] == "element"
        answer["result"] = float(value * factor if as_element else value / factor)
    return answer
