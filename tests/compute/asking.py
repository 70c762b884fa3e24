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
    "variance_function": (
        {"x": [0, 0, 0, 1, 1, 1, 4, 4, 4], "y": [0.001, 0.003, "0.002", 0.2, 0.21, 0.205, 0.79, 0.82, 0.77]},
        {"s0", "k", "df", "levels"},
    ),
    "single_addition": (
        {
            "signal_with": 0.412,
            "signal_without": 0.198,
            "added_volume_ml": "0.1",
            "added_concentration": 100,
            "sample_volume_ml": 10,
            "u_signal_with": 0.002,
            "u_signal_without": 0.002,
        },
        {"concentration", "u"},
    ),
    "bracketing": (
        {
            "low": {"x": 0.9, "y": 0.181, "u_y": 0.001},
            "high": {"x": "1.1", "y": 0.219, "u_y": 0.001},
            "samples": [{"y": 0.2, "u_y": 0.001}],
        },
        {"window_percent", "samples"},
    ),
    "one_standard": (
        {
            "coefficients": [0, 0.2, "-0.01"],
            "range_low": 0,
            "range_high": 2,
            "standard": {"x": 1.5, "y": 0.27},
            "blank_y": 0.002,
            "samples": [{"y": 0.15}],
        },
        {"nominal", "net", "factor", "within_window", "samples"},
    ),
    "characteristic": (
        {"concentration_mg_per_l": 2, "absorbance": 0.21, "history": [0.04, "0.041", 0.043]},
        {
            "characteristic_concentration_mg_per_l",
            "history_median",
            "expected_absorbance",
            "percent_of_expected",
            "within_window",
        },
    ),
    "control_chart": (
        {"values": [0.99, 1.01, 1, 1.02, 0.98, 1.01, 0.99, 1, 1.01, 0.99, 1.05, "1.00"], "base_first": 10},
        {"charts"},
    ),
    "score": (
        {"value": 10.4, "u": 0.15, "reference": 10, "u_reference": "0.1", "sigma_pt": 0.25},
        {"difference", "z", "z_prime", "reference_negligible", "zeta", "e_n"},
    ),
    "pde_limit": (
        {"pde_ug_per_day": 5, "dose_g_per_day": "3.2", "route": "oral", "decimals": 1},
        {"route", "limit_text", "control_threshold_text", "limit_for_10_g_per_day_text", "limit_ug_per_g"},
    ),
    "species": (
        {"formula": "CaCO3", "element": "Ca", "value": 40},
        {"factor", "molar_mass_g_per_mol", "atomic_weight", "atoms", "result"},
    ),
    "dilution_plan": (
        {
            "estimate": 37,
            "range_low": 0.2,
            "range_high": 2,
            "plans": 3,
            "pipettes": [
                {"volume_ml": 1, "tolerance_ml": 0.008},
                {"volume_ml": 2, "tolerance_ml": 0.01},
                {"volume_ml": 5, "tolerance_ml": 0.015},
            ],
            "flasks": [{"volume_ml": 50, "tolerance_ml": 0.06}, {"volume_ml": 100, "tolerance_ml": "0.1"}],
        },
        {"factor_to_the_middle", "found", "plans"},
    ),
    "monte_carlo": (
        {
            "measurement": "content",
            "seed": 1,
            "draws": 20000,
            "model": "line",
            "x": X,
            "y": Y,
            "reading": {"y": 0.3, "readings": 3},
            "blank": {"value": 0.01, "u": 0.002},
            "blank_was": "undiluted",
            "dilution": {"value": 10, "u": 0.03, "distribution": "triangular"},
            "volume_ml": {"value": 50, "half_width": 0.1, "distribution": "rectangular"},
            "mass_g": {"value": 0.5, "u": "0.0002"},
            "recovery": {"value": 0.95, "u": 0.01, "distribution": "student", "df": 9},
        },
        {
            "value",
            "gum",
            "mean",
            "sd",
            "interval_symmetric",
            "interval_shortest",
            "standard_error_mean",
            "standard_error_ends",
            "draws_without_value",
            "delta",
            "difference_ends",
            "validated",
        },
    ),
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
