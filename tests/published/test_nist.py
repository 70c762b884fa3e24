"""NIST Statistical Reference Datasets (StRD): certified values; public domain."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest

from benchseal.compute.arrays import column, sum_points
from benchseal.compute.fit import curve, solve
from benchseal.compute.statistics import lag1_autocorrelation, statistics

from .exact import digits_of, summary
from .published import calc, dataset, digits


@pytest.mark.parametrize("as_text", [True, False], ids=["strings", "numbers"])
@pytest.mark.parametrize(
    ("name", "model"),
    [
        ("Norris", "line"),
        ("Pontius", "quadratic"),
        ("NoInt1", "line_through_zero"),
        ("NoInt2", "line_through_zero"),
    ],
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


@pytest.mark.parametrize("name", ["Filip", "Wampler1", "Wampler3"])
def test_high_degrees_keep_the_digits_of_householder(name: str) -> None:
    """As many digits as another Householder QR keeps, to half a digit; normal equations keep two or more less.

    The certified standard errors and residual sd of Wampler1 are zero: nothing is left of a reading's 3e6 but rounding.
    """
    data, found = dataset("nist_strd_linear", name), _solved(name)
    reached, certified = data["double_precision_digits"], data["certified"]
    least = reached["householder_qr"] - 0.5
    assert min(_agreement(found.coefficients, certified["params"])) >= least >= reached["normal_equations"] + 2
    if name == "Wampler1":
        assert found.residual_sd < 1e-8
        assert max(found.standard_errors) < 1e-8
    else:
        assert min(_agreement(found.standard_errors, certified["params_sd"])) >= least
        assert digits(found.residual_sd, certified["residual_sd"]) >= least
        assert digits(found.r_squared, certified["r_squared"]) >= least


@dataclass(frozen=True)
class _Solved:
    coefficients: list[float]
    standard_errors: list[float]
    residual_sd: float
    r_squared: float


def _solved(name: str) -> _Solved:
    """The QR routine alone, on x scaled by a power of two as every fit scales it: exact, and taken back exactly."""
    data = dataset("nist_strd_linear", name)
    x, y = (column([float(text) for text in data[key]]) for key in ("x", "y"))
    powers = tuple(range(data["degree"] + 1))
    scale = 2.0 ** int(np.frexp(np.max(np.abs(x)))[1])
    found = solve(x / scale, y, np.ones_like(x), powers)
    assert bool(found.determined[0])
    residuals = y - curve(found.coefficients, powers, x / scale)
    squares = float(sum_points(residuals * residuals)[0])
    away = y - sum_points(y) / len(y)
    sd = (squares / data["df_residual"]) ** 0.5
    return _Solved(
        [float(value) / scale**power for power, value in zip(powers, found.coefficients[:, 0], strict=True)],
        [sd * float(found.inverse[power, power, 0]) ** 0.5 / scale**power for power in powers],
        sd,
        1.0 - squares / float(sum_points(away * away)[0]),
    )


def _agreement(values: list[float], certified: dict[str, str]) -> list[float]:
    return [digits(value, true) for value, true in zip(values, certified.values(), strict=True)]


UNIVARIATE = ["NumAcc1", "NumAcc2", "NumAcc3", "NumAcc4", "Michelso", "Lew", "Mavro", "Lottery"]


@pytest.mark.parametrize("name", UNIVARIATE)
def test_univariate(name: str) -> None:
    data = dataset("nist_strd_univariate", name)
    found, certified = calc(kind="statistics", values=data["y"]), data["certified"]
    assert digits(found["mean"], certified["mean"]) >= 14
    assert digits(found["sd"], certified["sd"]) >= 14
    assert digits(found["lag1_autocorrelation"], certified["autocorrelation_lag1"]) >= 14


@pytest.mark.parametrize("name", UNIVARIATE)
@pytest.mark.parametrize("as_text", [True, False], ids=["strings", "numbers"])
def test_univariate_within_one_digit_of_exact_arithmetic(name: str, as_text: bool) -> None:
    """A float holds 15 digits whatever they are; the answer keeps 14 of the exact one on the same values.

    A JSON number is read as the decimal it was written as, so text and number are the same values.
    """
    texts = dataset("nist_strd_univariate", name)["y"]
    values = texts if as_text else [float(text) for text in texts]
    found = calc(kind="statistics", values=values)
    true = summary([Fraction(text) for text in texts])
    for key, exact in zip(("mean", "sd", "lag1_autocorrelation"), true, strict=True):
        assert digits_of(found[key], exact) >= 14, key


@pytest.mark.parametrize("name", UNIVARIATE)
def test_two_passes_in_floats_keep_what_the_floats_hold(name: str) -> None:
    """The binary values themselves, exactly: NumAcc4 as float64 lost half its digits before any sum; two passes lose
    no more. So its sd agrees with the exact sd of the floats, and with the certified one to 8 digits only.
    """
    data = dataset("nist_strd_univariate", name)
    floats = [float(text) for text in data["y"]]
    found = statistics(column(floats))
    values = (float(found.mean[0]), float(found.sd[0]), float(lag1_autocorrelation(column(floats))[0]))
    for value, exact in zip(values, summary([Fraction(one) for one in floats]), strict=True):
        assert digits_of(value, exact) >= 14
    assert digits(values[1], data["certified"]["sd"]) >= {"NumAcc3": 9, "NumAcc4": 8}.get(name, 13)
