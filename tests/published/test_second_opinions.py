"""Calibrations against other implementations: statsmodels (recorded), exact fractions, GTC, uncertainties.

All data here are invented and seeded: they say that two ways of calculating agree, not that a number is right.
"""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from typing import Any

import numpy as np
import pytest
from GTC import dof, type_a, uncertainty, value
from uncertainties import correlated_values, ufloat, umath

from .exact import digits_of, least_squares, root
from .published import calc, digits, figures

POWERS = {"line": (0, 1), "line_through_zero": (1,), "quadratic": (0, 1, 2)}
WEIGHTINGS = ("none", "1/x", "1/x2", "given")
RECORDED = figures("wls_statsmodels")["cases"]
SEEDS = range(12)


def weights_of(one: dict[str, Any]) -> list[float]:
    """Weights of the points, as the weighting of the case says; "given" is 1/s^2."""
    if one["weighting"] == "given":
        return [1 / (s * s) for s in one["s"]]
    power = {"none": 0, "1/x": 1, "1/x2": 2}[one["weighting"]]
    return [1 / x**power for x in one["x"]]


def answered(one: dict[str, Any], **more: object) -> dict[str, Any]:
    """What ``calc`` answers to a case."""
    request = {"kind": "calibration", **{key: one[key] for key in ("model", "weighting", "x", "y")}, **more}
    if one["weighting"] == "given":
        request |= {"weights": weights_of(one), "variance": one.get("variance", "estimated")}
    return calc(**request)


def invented(seed: int, model: str, weighting: str) -> dict[str, Any]:
    """A calibration of 6 to 14 points as an instrument prints them, bent downwards for the quadratic."""
    rng = np.random.default_rng([seed, *model.encode(), *weighting.encode()])
    n, top = int(rng.integers(6, 15)), float(rng.choice([0.5, 2.0, 5.0, 40.0, 200.0]))
    x = np.sort(np.round(rng.uniform(0.03, 1.0, n) * top, 3))
    slope = 0.8 / top * rng.uniform(0.5, 1.0)
    start = 0.0 if model == "line_through_zero" else rng.uniform(-0.002, 0.01)
    bend = -0.15 * slope / top if model == "quadratic" else 0.0
    y = np.round(start + slope * x + bend * x * x + rng.normal(0.0, 0.002 + 0.004 * x / top), 5)
    s = np.round(0.001 + 0.01 * x / top * rng.uniform(0.7, 1.3, n), 5)
    return {"model": model, "weighting": weighting, "x": x.tolist(), "y": y.tolist(), "s": s.tolist()}


@pytest.mark.parametrize("place", range(len(RECORDED)))
def test_statsmodels(place: int) -> None:
    """statsmodels WLS: params, bse, cov_params, scale, rsquared and prediction, as recorded in the fixture."""
    one = RECORDED[place]
    found = answered(one, predict_at=one["predict_at"])
    pairs = [
        *zip(found["coefficients"], one["params"], strict=True),
        *zip(found["standard_errors"], one["bse"], strict=True),
        *zip(np.ravel(found["covariance"]), np.ravel(one["cov"]), strict=True),
        *zip([at["y"] for at in found["predictions"]], one["predicted"], strict=True),
        *zip([at["u"] for at in found["predictions"]], one["se_mean"], strict=True),
        (found["residual_sd"], one["residual_sd"]),
        (found["r_squared"], one["r_squared"]),
    ]
    assert min(digits(float(ours), float(theirs)) for ours, theirs in pairs) >= 10


def test_statsmodels_covers_every_model_and_weighting() -> None:
    assert {(one["model"], one["weighting"], one["variance"]) for one in RECORDED} == {
        (model, weighting, variance)
        for model in POWERS
        for weighting in WEIGHTINGS
        for variance in (("estimated", "known") if weighting == "given" else ("estimated",))
    }


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("weighting", WEIGHTINGS)
@pytest.mark.parametrize("model", list(POWERS))
def test_exact_fractions(model: str, weighting: str, seed: int) -> None:
    """Normal equations in fractions on the same binary numbers: coefficients and errors to 11 digits."""
    one = invented(seed, model, weighting)
    x = [Fraction(value) for value in one["x"]]
    by_rule = {"none": [Fraction(1) for _ in x], "1/x": [1 / v for v in x], "1/x2": [1 / v**2 for v in x]}
    weights = by_rule.get(weighting) or [Fraction(w) for w in weights_of(one)]
    true = least_squares(x, [Fraction(value) for value in one["y"]], weights, POWERS[model])
    found = answered(one)
    covariance = true.covariance()
    assert found["df"] == true.df
    assert min(map(digits_of, found["coefficients"], true.coefficients)) >= 11
    for i, row in enumerate(found["covariance"]):
        assert min(map(digits_of, row, covariance[i])) >= 11
        assert digits_of(found["standard_errors"][i], root(covariance[i][i])) >= 11
    assert digits_of(found["residual_sd"], root(true.variance)) >= 11


@pytest.mark.parametrize("seed", SEEDS)
def test_exact_fractions_with_known_uncertainties(seed: int) -> None:
    """Weights 1/u^2 with u known: V = (X'WX)^-1, chi-squared the weighted sum of squares (ISO/TS 28037)."""
    one = invented(seed, "line", "given") | {"variance": "known"}
    found = answered(one)
    x, y = ([Fraction(value) for value in one[key]] for key in ("x", "y"))
    true = least_squares(x, y, [Fraction(w) for w in weights_of(one)], (0, 1))
    covariance = true.covariance(known=True)
    assert all(min(map(digits_of, row, covariance[i])) >= 11 for i, row in enumerate(found["covariance"]))
    assert digits_of(found["chi_squared"], true.squares) >= 11


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("readings", [1, 3])
def test_gtc_reads_an_unweighted_line_backwards_to_the_same_value(seed: int, readings: int) -> None:
    """GTC, type_a.line_fit and its x_from_y: value, uncertainty and degrees of freedom."""
    one = invented(seed, "line", "none")
    y0 = (min(one["y"]) + 2 * max(one["y"])) / 3
    theirs = type_a.line_fit(one["x"], one["y"]).x_from_y([y0] * readings)
    sample = answered(one, samples=[{"y": y0, "readings": readings}])
    (found,) = sample["samples"]
    assert digits(found["x"], value(theirs)) >= 11
    assert digits(found["u"], uncertainty(theirs)) >= 10
    assert sample["df"] == round(dof(theirs))


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("weighting", ["1/x", "1/x2"])
def test_gtc_reads_a_weighted_line_backwards_to_the_same_value(seed: int, weighting: str) -> None:
    """GTC, type_a.line_fit_rwls: scatter proportional to sqrt(x) or x, for the sample at its own x."""
    one = invented(seed, "line", weighting)
    spread = {"1/x": sqrt, "1/x2": float}[weighting]
    y0 = (min(one["y"]) + max(one["y"])) / 2
    line = type_a.line_fit_rwls(one["x"], one["y"], [spread(x) for x in one["x"]])
    (found,) = answered(one, samples=[{"y": y0, "readings": 2}])["samples"]
    theirs = line.x_from_y([y0, y0], spread(found["x"]))
    assert digits(found["x"], value(theirs)) >= 11
    assert digits(found["u"], uncertainty(theirs)) >= 10


@pytest.mark.parametrize("seed", SEEDS)
def test_gtc_reads_a_line_of_known_uncertainties_backwards_to_the_same_value(seed: int) -> None:
    """GTC, type_a.line_fit_wls: u(y) known, infinite degrees of freedom."""
    one = invented(seed, "line", "given") | {"variance": "known"}
    y0, u_y0 = (min(one["y"]) + max(one["y"])) / 2, 0.004
    theirs = type_a.line_fit_wls(one["x"], one["y"], one["s"]).x_from_y([y0, y0], u_y0)
    (found,) = answered(one, samples=[{"y": y0, "readings": 2, "weight": 1 / u_y0**2}])["samples"]
    assert digits(found["x"], value(theirs)) >= 11
    assert digits(found["u"], uncertainty(theirs)) >= 10
    assert digits(found["half_width"], 1.959963984540054 * uncertainty(theirs)) >= 10


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("weighting", ["none", "1/x", "1/x2"])
def test_uncertainties_reads_a_curve_backwards_to_the_same_value(seed: int, weighting: str) -> None:
    """uncertainties: the quadratic's coefficients with their full covariance, put through the textbook root."""
    one = invented(seed, "quadratic", weighting)
    y0 = (min(one["y"]) + 2 * max(one["y"])) / 3
    found = answered(one, samples=[{"y": y0, "readings": 3}])
    (sample,) = found["samples"]
    weight = {"none": 1.0, "1/x": 1 / sample["x"], "1/x2": 1 / sample["x"] ** 2}[weighting]
    b0, b1, b2 = correlated_values(found["coefficients"], found["covariance"])
    reading = ufloat(y0, found["residual_sd"] / sqrt(3 * weight))
    theirs = (umath.sqrt(b1 * b1 - 4 * b2 * (b0 - reading)) - b1) / (2 * b2)
    assert digits(sample["x"], theirs.nominal_value) >= 9
    assert digits(sample["u"], theirs.std_dev) >= 9
    parts = theirs.error_components()
    of_curve = sqrt(sum(part**2 for variable, part in parts.items() if variable is not reading))
    assert digits(sample["u_reading"], parts[reading]) >= 9
    assert digits(sample["u_curve"], of_curve) >= 9


@pytest.mark.parametrize("seed", SEEDS)
def test_uncertainties_extrapolates_an_addition_to_the_same_value(seed: int) -> None:
    """uncertainties: x = b0/b1 with the covariance of the two."""
    one = invented(seed, "line", "none")
    added, y = one["x"], [round(reading + 0.2, 5) for reading in one["y"]]
    found = calc(kind="standard_addition", added=added, y=y)
    line = calc(kind="calibration", model="line", x=added, y=y)
    b0, b1 = correlated_values(line["coefficients"], line["covariance"])
    theirs = b0 / b1
    assert digits(found["x"], theirs.nominal_value) >= 12
    assert digits(found["u"], theirs.std_dev) >= 10
