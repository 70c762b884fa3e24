"""Asking ``calc``, and one good request of each kind."""

from __future__ import annotations

import json
from typing import Any, cast

from benchseal.compute.calc import answer
from benchseal.problems import Problem

X, Y = [0, 1, 2, 3, 4], ["0.001", 0.21, 0.405, 0.61, 0.795]

# One good request of each kind, and the keys its answer promises.
GOOD: dict[str, tuple[dict[str, Any], set[str]]] = {
    "calibration": (
        {"model": "line", "x": X, "y": Y, "samples": [{"y": 0.3, "readings": 3}], "predict_at": [2.5]},
        {
            "n",
            "df",
            "coefficients",
            "standard_errors",
            "covariance",
            "residual_sd",
            "r_squared",
            "mandel",
            "back_calculated_percent_error",
            "rse_percent",
            "samples",
            "predictions",
        },
    ),
    "standard_addition": (
        {"added": X, "y": [0.2, 0.41, 0.6, 0.79, 1.0]},
        {"x", "u", "df", "half_width", "coefficients", "residual_sd"},
    ),
    "detection_limit": (
        {"rule": "mdl", "spiked": [1, 1.1, 0.9, 1.05, 0.95, 1, 1.02], "blanks": ["ND", "0.1"]},
        {"mdl", "mdl_spiked", "mdl_blank", "t", "df"},
    ),
    "outlier": ({"test": "dixon", "values": [1, 2, 9]}, {"statistic", "critical", "flagged", "index"}),
    "statistics": ({"values": [1, 2, "4.0"]}, {"n", "mean", "sd", "rsd_percent", "lag1_autocorrelation"}),
    "conformity": (
        {"rule": "guarded", "value": "0.27", "u": "0.01", "k": "2", "upper": "0.30"},
        {"verdict", "acceptance_upper", "probability"},
    ),
    "rounding": ({"value": "0.2602", "u": "0.0178"}, {"value_text", "expanded_text"}),
    "uncertainty": (
        {"terms": [{"name": "a", "u": 1, "df": 4}, {"name": "b", "u": 2}]},
        {"u", "df_effective", "k", "expanded", "shares_percent"},
    ),
    "content": (
        {
            "solution_mg_per_l": 0.5,
            "blank_mg_per_l": 0.01,
            "blank_was": "undiluted",
            "dilution": 10,
            "volume_ml": 50,
            "mass_g": "0.5",
            "u_solution": 0.01,
            "u_blank": 0.001,
        },
        {"mg_per_kg", "u", "basis", "shares_percent"},
    ),
    "drift": (
        {"check_blank": [[0, 0.001], [9, 0.002]], "check_standard": [[0, 0.2], [9, 0.19]], "samples": [[4, 0.1]]},
        {"drift_percent", "samples"},
    ),
    "recovery": ({"found": 1.1, "added": 1, "native": "0.1"}, {"percent"}),
    "rpd": ({"a": 1, "b": 1.1}, {"percent"}),
}


def ask(kind: str, **more: object) -> dict[str, Any]:
    """The answer to a request, checked to be strict JSON without null."""
    found = answer({"kind": kind, **more})
    assert isinstance(found, dict), [str(problem) for problem in found]
    strict(found)
    return cast("dict[str, Any]", found)


def problems(request: object) -> list[tuple[str, str]]:
    found = answer(request)
    assert isinstance(found, tuple), found
    for problem in found:
        assert type(problem) is Problem
        assert str(problem).isprintable()
    return [(problem.code, problem.where) for problem in found]


def strict(value: object) -> None:
    json.dumps(value, allow_nan=False)
    assert value is not None
    for one in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        strict(one)
