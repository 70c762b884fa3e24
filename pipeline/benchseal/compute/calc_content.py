"""``calc`` kinds uncertainty and content."""

from __future__ import annotations

from math import inf, isinf, isnan
from typing import TYPE_CHECKING, cast

import numpy as np

from benchseal.compute.arrays import column
from benchseal.compute.budget import combine
from benchseal.compute.calc_answer import Json, all_refused, counted, items, number, refused
from benchseal.compute.content import TERMS, BlankWas, Portion, content

if TYPE_CHECKING:
    from collections.abc import Mapping

_INPUTS = ("solution_mg_per_l", "blank_mg_per_l", "dilution", "volume_ml", "mass_g", "moisture_fraction")


def answer_uncertainty(request: Mapping[str, Json]) -> dict[str, Json]:
    """Combined and expanded uncertainty by the Welch-Satterthwaite formula; k from the truncated df."""
    terms = [cast("dict[str, Json]", term) for term in items(request["terms"])]
    keys = ("u", "df_effective", "df_before_truncation", "k", "expanded", "shares_percent")
    if not terms:
        return all_refused(keys, "too_few", counted("too_few", 0, 1, "term"))
    found = combine(
        column([number(term["u"]) for term in terms]),
        column([number(term["df"]) if "df" in term else inf for term in terms]),
        number(request["confidence"]),
    )
    if float(found.u[0]) == 0:
        return all_refused(keys, "zero_u")
    shares: dict[str, Json] = {
        str(term["name"]): float(share) for term, share in zip(terms, found.shares_percent[:, 0], strict=True)
    }
    answer: dict[str, Json] = {
        "u": float(found.u[0]),
        **_degrees(float(found.df[0]), float(found.df_before_truncation[0])),
    }
    few = isnan(float(found.k[0]))
    answer["k"] = refused("df_below_one") if few else float(found.k[0])
    answer["expanded"] = refused("df_below_one") if few else float(found.expanded[0])
    return {**answer, "shares_percent": shares}


def _degrees(df: float, raw: float) -> dict[str, Json]:
    """No JSON number is infinite: degrees of freedom without bound are said in a word."""
    if isinf(raw):
        return {"df_effective": "infinite", "df_before_truncation": "infinite"}
    return {"df_effective": int(df), "df_before_truncation": raw}


def answer_content(request: Mapping[str, Json]) -> dict[str, Json]:
    """Content of the sample, and its standard uncertainty where any input has one."""
    values = (request.get(key, 0) for key in _INPUTS)  # only the moisture may be left out
    portion = Portion(*(np.array([number(value)]) for value in values))
    u = Portion(*(np.array([number(request.get(f"u_{term}", 0))]) for term in TERMS))
    found = content(portion, cast("BlankWas", request["blank_was"]), u)
    answer: dict[str, Json] = {
        "mg_per_kg": float(found.mg_per_kg[0]),
        "basis": "dry" if "moisture_fraction" in request else "as received",
    }
    given = [term for term in TERMS if f"u_{term}" in request]
    if not given:
        return answer
    total = float(found.u_mg_per_kg[0])
    if total == 0:
        return {**answer, "u": 0.0, "shares_percent": refused("zero_u")}
    parts = dict(zip(TERMS, found.contributions[:, 0].tolist(), strict=True))
    shares: dict[str, Json] = {term: 100.0 * (parts[term] / total) ** 2 for term in given}
    return {**answer, "u": total, "shares_percent": shares}
