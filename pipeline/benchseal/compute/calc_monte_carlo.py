"""``calc`` kind monte_carlo."""

from __future__ import annotations

from dataclasses import fields
from math import inf, nan, sqrt
from typing import TYPE_CHECKING, cast

from benchseal.compute.arrays import column
from benchseal.compute.calc_answer import Json, all_refused, counted, items, number, numbers, points_detail, refused
from benchseal.compute.fit import Model, Weighting, fit
from benchseal.compute.monte_carlo import Drawn, Shape, Uncertain, compared, propagate
from benchseal.compute.monte_carlo_model import Estimate, Measured, Reading, Sample, Total, measured

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from benchseal.compute.content import BlankWas

_ROOT_OF = {"rectangular": sqrt(3.0), "triangular": sqrt(6.0)}
_ESTIMATED = ("value", "gum")
_DRAWN = (
    "mean", "sd", "interval_symmetric", "interval_shortest", "standard_error_mean", "standard_error_ends",
    "draws_without_value",
)  # fmt: skip
_COMPARED = ("delta", "difference_ends", "validated")


def answer_monte_carlo(request: Mapping[str, Json]) -> dict[str, Json]:
    """Draws of a measurement or a sum, beside the GUM's answer to the same input."""
    draws, seed = int(number(request["draws"])), int(number(request["seed"]))
    named: dict[str, Json] = {"measurement": request["measurement"], "draws": draws, "seed": seed}
    model = _total(request) if request["measurement"] == "sum" else _measured(request)
    if isinstance(model, tuple):
        return {**named, **all_refused((*_ESTIMATED, *_DRAWN, *_COMPARED), *model)}
    gum = model.estimate()
    if gum.u == 0:
        return {**named, **all_refused((*_ESTIMATED, *_DRAWN, *_COMPARED), "zero_u")}
    answer: dict[str, Json] = {**named, "value": gum.value, "gum": _gum(gum)}
    drawn = propagate(model.values, draws, seed)
    if isinstance(drawn, str):
        return {**answer, **all_refused((*_DRAWN, *_COMPARED), drawn)}
    return {**answer, **_drawn(drawn, _least_df(model)), **_compared(drawn, gum)}


def _total(request: Mapping[str, Json]) -> Total | tuple[str, str]:
    """The sum of a request, or the word of why there is none, with its detail."""
    terms = tuple(_uncertain(term) for term in items(request["terms"]))
    return Total(terms) if terms else ("too_few", counted("too_few", 0, 1, "term"))


def _measured(request: Mapping[str, Json]) -> Measured | tuple[str, str]:
    """The measurement of a request, or the word of why there is none, with its detail."""
    weighting = cast("Weighting", request["weighting"])
    weights = column(numbers(request["weights"])) if weighting == "given" else None
    line = fit(
        column(numbers(request["x"])), column(numbers(request["y"])), cast("Model", request["model"]), weighting,
        weights=weights,
    )  # fmt: skip
    if line.faults[0] is not None:
        return line.faults[0], points_detail(line)
    row = cast("dict[str, Json]", request["reading"])
    reading = Reading(
        number(row["y"]), number(row.get("readings", 1)), number(row["weight"]) if "weight" in row else nan
    )
    found = measured(line, reading, _sample(request))
    return found if isinstance(found, Measured) else (found.name.lower(), "")


def _sample(request: Mapping[str, Json]) -> Sample:
    names = [one.name for one in fields(Sample) if one.name != "blank_was"]
    given = {name: _uncertain(request[name]) for name in names if name in request}
    return Sample(cast("BlankWas", request["blank_was"]), **given)


def _uncertain(value: Json) -> Uncertain:
    row = cast("dict[str, Json]", value)
    shape = cast("Shape", row.get("distribution", "normal"))
    half_width = "half_width" in row
    u = number(row["half_width"]) / _ROOT_OF[shape] if half_width else number(row.get("u", 0))
    return Uncertain(number(row["value"]), u, shape, number(row["df"]) if "df" in row else inf)


def _least_df(model: Total | Measured) -> float:
    """Fewest degrees of freedom of anything drawn."""
    inputs: Iterable[Uncertain] = model.terms if isinstance(model, Total) else model.sample.inputs
    own = inf if isinstance(model, Total) else model.df
    return min((own, *(one.df for one in inputs if one.u > 0)))


def _gum(found: Estimate) -> dict[str, Json]:
    few = refused("df_below_one")
    return {
        "u": found.u,
        "df_effective": "infinite" if found.df == inf else int(found.df),
        "k": few if found.k is None else found.k,
        "interval": few if found.interval is None else list(found.interval),
    }


def _drawn(found: Drawn, least_df: float) -> dict[str, Json]:
    """A t distribution has no mean with 1 degree of freedom and no standard deviation with 2."""
    none = refused("no_moment")
    return {
        "mean": found.mean if least_df > 1 else none,
        "sd": found.sd if least_df > 2 else none,
        "interval_symmetric": list(found.symmetric),
        "interval_shortest": list(found.shortest),
        "standard_error_mean": found.u_mean if least_df > 2 else none,
        "standard_error_ends": list(found.u_ends),
        "draws_without_value": found.without_value,
    }


def _compared(drawn: Drawn, gum: Estimate) -> dict[str, Json]:
    if gum.interval is None:
        return dict.fromkeys(_COMPARED, refused("df_below_one"))
    found = compared(drawn, gum.interval, gum.u)
    return {
        "delta": found.delta,
        "difference_ends": list(found.apart),
        "validated": refused("too_few_draws") if found.validated is None else found.validated,
    }
