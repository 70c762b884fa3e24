"""What ``calc`` takes where a question leaves a key out: one table, used for the answer and said in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchseal.compute.monte_carlo import USUAL_DRAWS

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from benchseal.compute.calc_answer import Json

_GUARDED: Final = ("guarded", "nonbinary", "beyond_doubt")


def _always(_: Mapping[str, Json]) -> bool:
    return True


def _with(*keys: str) -> Callable[[Mapping[str, Json]], bool]:
    return lambda request: all(key in request for key in keys)


def _where(key: str, *words: str) -> Callable[[Mapping[str, Json]], bool]:
    return lambda request: request.get(key) in words


@dataclass(frozen=True, slots=True)
class Default:
    """One key and what is taken for it. counts: whether it moves anything in the answer to this question."""

    key: str
    value: Json
    counts: Callable[[Mapping[str, Json]], bool] = _always


DEFAULTS: Final[Mapping[str, tuple[Default, ...]]] = {
    "calibration": (
        Default("weighting", "none"),
        Default("variance", "estimated"),
        Default("confidence", 0.95, _with("samples")),
    ),
    "standard_addition": (Default("confidence", 0.95),),
    "detection_limit": (
        Default("alpha", 0.01, _where("rule", "calibration_line")),
        Default("beta", 0.01, _where("rule", "calibration_line")),
        Default("m", 1, _where("rule", "calibration_line")),
        Default("k", 3, _where("rule", "calibration_line")),
    ),
    "outlier": (Default("alpha", 0.05), Default("sides", 2)),
    "conformity": (
        Default("k", 2, _where("rule", *_GUARDED)),
        Default("upper_included", True, _with("upper")),
        Default("lower_included", True, _with("lower")),
        Default("round_to", "decimals", _where("rule", "pharma")),
    ),
    "rounding": (Default("mode", "half_up"), Default("k", 2, _with("u"))),
    "uncertainty": (Default("confidence", 0.95),),
    "content": (
        Default("blank_mg_per_l", 0),
        Default("blank_was", "undiluted", _with("blank_mg_per_l")),
        Default("dilution", 1),
    ),
    "recovery": (Default("native", 0),),
    "bracketing": (Default("window_percent", 20),),
    "one_standard": (Default("blank_y", 0), Default("window_percent", 20)),
    "characteristic": (Default("window_percent", 20, _with("history")),),
    "control_chart": (Default("rules", "western_electric"),),
    "score": (Default("k", 2, _with("u", "u_reference")),),
    "species": (Default("value_is", "element", _with("value")),),
    "dilution_plan": (Default("least_aliquot_ml", 1), Default("most_steps", 2), Default("plans", 5)),
    "monte_carlo": (
        Default("draws", USUAL_DRAWS),
        Default("weighting", "none", _where("measurement", "content")),
        Default("blank_was", "undiluted", _with("blank")),
    ),
}


def completed(request: Mapping[str, Json]) -> dict[str, Json]:
    """``request`` with every default of its kind that it leaves out."""
    taken = {one.key: one.value for one in _of(request)}
    return {**taken, **request}


def taken(request: Mapping[str, Json]) -> dict[str, Json]:
    """``defaults_taken`` of the answer: those that count and were left out; nothing where there are none."""
    left_out = (one for one in _of(request) if one.key not in request)
    found: dict[str, Json] = {one.key: one.value for one in left_out if one.counts(request)}
    return {"defaults_taken": found} if found else {}


def _of(request: Mapping[str, Json]) -> tuple[Default, ...]:
    return DEFAULTS.get(str(request["kind"]), ())
