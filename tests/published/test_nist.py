"""NIST Statistical Reference Datasets (StRD): certified values; public domain."""

from __future__ import annotations

import numpy as np
import pytest

from benchseal.compute.arrays import column
from benchseal.compute.fit import solve
from benchseal.compute.statistics import statistics

from .published import calc, dataset, digits


@pytest.mark.parametrize("as_text", [True, False], ids=["strings", "numbers"])
@pytest.mark.parametrize(
    ("name", "model"), [("Norris", "line"), ("Pontius", "quadratic"), ("NoInt1", "line_through_zero")]
)
def test_linear_least_squares(name: str, model: str, as_text: bool) -> None:
    data = dataset("nist_strd_linear", name)
    x, y = (data[key] if as_text else [float(text) for text in data[key]] for key in ("x", "y"))
    found = calc(kind="calibration", model=model, x=x, y=y)
    certified = data["certified"]
    assert found["n"] == data["n"]
    assert found["df"] == data["df_residual"]
    for value, true in zip(found["coefficients"], certified["params"].values(), strict=True):
        assert digits(value, true) >= 11
    for value, true in zip(found["standard_errors"], certified["params_sd"].values(), strict=True):
        assert digits(value, true) >= 11
    assert digits(found["residual_sd"], certified["residual_sd"]) >= 11
    assert digits(found["r_squared"], certified["r_squared"]) >= 12


@pytest.mark.parametrize(("name", "least"), [("Filip", 6.5), ("Wampler1", 8.5), ("Wampler3", 8.5)])
def test_high_degrees_keep_the_digits_of_householder(name: str, least: float) -> None:
    """Normal equations keep no digit of Filip and six of Wampler1."""
    data = dataset("nist_strd_linear", name)
    x, y = (column([float(text) for text in data[key]]) for key in ("x", "y"))
    powers = tuple(range(data["degree"] + 1))
    top = float(np.max(np.abs(x)))
    found = solve(x / top, y, np.ones_like(x), powers)
    assert bool(found.determined[0])
    for power, (value, true) in enumerate(
        zip(found.coefficients[:, 0], data["certified"]["params"].values(), strict=True)
    ):
        assert digits(float(value) / top**power, true) >= least


@pytest.mark.parametrize("name", ["NumAcc1", "NumAcc2", "NumAcc4", "Michelso", "Lew"])
def test_univariate(name: str) -> None:
    data = dataset("nist_strd_univariate", name)
    found, certified = calc(kind="statistics", values=data["y"]), data["certified"]
    assert digits(found["mean"], certified["mean"]) >= 14
    assert digits(found["sd"], certified["sd"]) >= 13
    assert digits(found["lag1_autocorrelation"], certified["autocorrelation_lag1"]) >= 13


def test_two_passes_in_floats_keep_what_the_floats_hold() -> None:
    """NumAcc4 as float64 has lost half its digits before any sum; two passes lose no more."""
    data = dataset("nist_strd_univariate", "NumAcc4")
    found = statistics(column([float(text) for text in data["y"]]))
    assert digits(float(found.sd[0]), data["certified"]["sd"]) >= 8
