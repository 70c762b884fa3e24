"""Fits: against independent solvers, invariances, faults, and the same bits in any company."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchseal.compute.arrays import Array, column, sum_points
from benchseal.compute.fit import POWERS, Fit, Model, Weighting, fit, solve

MODELS: tuple[Model, ...] = ("line", "line_through_zero", "quadratic")
WEIGHTINGS: tuple[Weighting, ...] = ("none", "1/x", "1/x2", "given")


def calibrations(runs: int, points: int = 12, seed: int = 1) -> tuple[Array, Array, Array]:
    """Invented calibrations: x above zero with repeats, y near a bent curve, weights."""
    rng = np.random.default_rng(seed)
    x = np.sort(np.round(rng.uniform(0.05, 5.0, (points, runs)), 2), axis=0)
    y = 0.01 + 0.2 * x - 0.008 * x * x + rng.normal(0.0, 0.002, x.shape)
    return x, y, rng.uniform(0.1, 10.0, x.shape)


def fitted(x: Array, y: Array, w: Array, model: Model, weighting: Weighting) -> Fit:
    return fit(x, y, model, weighting, weights=w if weighting == "given" else None)


def bits(of: Fit, run: int) -> list[str]:
    arrays = (of.coefficients, of.covariance, of.residuals, of.residual_sd, of.r_squared, of.standard_errors)
    return [float(value).hex() for array in arrays for value in array[..., run].ravel()]


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("weighting", WEIGHTINGS)
def test_agrees_with_an_independent_solver(model: Model, weighting: Weighting) -> None:
    """numpy's least squares (LAPACK, singular values) and inverse, which the result path may not use."""
    x, y, w = calibrations(3)
    found = fitted(x, y, w, model, weighting)
    for run in range(3):
        weight = {"none": np.ones(len(x)), "1/x": 1 / x[:, run], "1/x2": 1 / x[:, run] ** 2, "given": w[:, run]}[
            weighting
        ]
        design = np.stack([x[:, run] ** power for power in POWERS[model]], axis=1)
        root = np.sqrt(weight)
        expected = np.linalg.lstsq(design * root[:, None], y[:, run] * root, rcond=None)[0]
        residuals = y[:, run] - design @ expected
        variance = float(weight @ residuals**2) / (len(x) - design.shape[1])
        covariance = variance * np.linalg.inv(design.T @ (design * weight[:, None]))
        np.testing.assert_allclose(found.coefficients[:, run], expected, rtol=1e-10)
        np.testing.assert_allclose(found.covariance[:, :, run], covariance, rtol=1e-8)
        np.testing.assert_allclose(found.residual_sd[run], np.sqrt(variance), rtol=1e-10)
        np.testing.assert_allclose(found.residuals[:, run], residuals, atol=1e-13)


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("weighting", WEIGHTINGS)
def test_bits_do_not_depend_on_company(model: Model, weighting: Weighting) -> None:
    x, y, w = calibrations(37)
    together = fitted(x, y, w, model, weighting)
    order = np.random.default_rng(2).permutation(37)
    shuffled = fitted(x[:, order], y[:, order], w[:, order], model, weighting)
    for place, run in enumerate(order.tolist()):
        one = slice(run, run + 1)
        alone = fitted(x[:, one], y[:, one], w[:, one], model, weighting)
        assert bits(alone, 0) == bits(together, run) == bits(shuffled, place)


def test_bits_do_not_depend_on_memory_layout_or_batch_size() -> None:
    x, y, w = calibrations(1000)
    together = fit(x, y, "quadratic", "given", weights=w)
    turned = fit(np.asfortranarray(x), np.asfortranarray(y), "quadratic", "given", weights=np.asfortranarray(w))
    strided = fit(x[:, ::3], y[:, ::3], "quadratic", "given", weights=w[:, ::3])
    assert all(bits(together, run) == bits(turned, run) for run in range(0, 1000, 7))
    assert all(bits(together, 3 * run) == bits(strided, run) for run in range(0, 300, 7))


def test_bits_do_not_depend_on_the_process() -> None:
    script = (
        "import sys; sys.path[:0] = sys.argv[1:3]\n"
        "from test_fit import bits, calibrations\n"
        "from benchseal.compute.fit import fit\n"
        "x, y, w = calibrations(6)\n"
        "part = slice(int(sys.argv[3]), int(sys.argv[4]))\n"
        "found = fit(x[:, part], y[:, part], 'quadratic', 'given', weights=w[:, part])\n"
        "print([bits(found, run) for run in range(found.x.shape[1])])\n"
    )
    here, home = str(Path(__file__).parent), str(Path(__file__).parents[2] / "pipeline")
    halves = [
        subprocess.run(  # noqa: S603  this interpreter, our own text
            [sys.executable, "-c", script, here, home, *part], capture_output=True, text=True, check=True
        ).stdout
        for part in (("0", "3"), ("3", "6"))
    ]
    x, y, w = calibrations(6)
    together = fit(x, y, "quadratic", "given", weights=w)
    assert halves == [f"{[bits(together, run) for run in runs]}\n" for runs in (range(3), range(3, 6))]


def test_sums_run_in_point_order() -> None:
    values = column([1e16, 1.0, 1.0, -1e16])
    assert float(sum_points(values)[0]) == ((1e16 + 1.0) + 1.0) - 1e16


@pytest.mark.parametrize("points", [1, 2, 7, 300, 5000])
@pytest.mark.parametrize("beside", [(1,), (3, 2), (40,)])
def test_sums_are_those_of_python_added_one_by_one(points: int, beside: tuple[int, ...]) -> None:
    """In columns of any length and number, which are added in two ways; bit by bit, the sign of zero too."""
    random = np.random.default_rng(points)
    values = random.standard_normal((points, *beside)) * 10.0 ** random.integers(-12, 12, (points, *beside))
    values[random.random(values.shape) < 0.2] = -0.0
    columns = values.reshape(points, -1).T.tolist()
    due = []
    for one in columns:
        total = 0.0
        for value in one:
            total += value
        due.append(total)
    assert [value.hex() for value in sum_points(values).reshape(-1).tolist()] == [value.hex() for value in due]


numbers = st.floats(-5, 5).map(lambda value: round(value, 3))


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(MODELS), st.lists(numbers, min_size=3, max_size=3), st.integers(4, 9))
def test_points_on_a_curve_give_the_curve_back(model: Model, of: list[float], points: int) -> None:
    powers = POWERS[model]
    x = np.arange(1.0, points + 1.0).reshape(-1, 1)
    y = np.zeros_like(x)
    for power, coefficient in zip(powers, of, strict=False):
        y = y + coefficient * x**power
    found = fit(x, y, model)
    np.testing.assert_allclose(found.coefficients[:, 0], of[: len(powers)], atol=2e-11)
    assert not bool(found.scatters[0])


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from(MODELS), st.sampled_from(WEIGHTINGS), st.integers(-20, 20), st.integers(-40, 40), st.integers(0, 99)
)
def test_powers_of_two_scale_without_a_changed_bit(
    model: Model, weighting: Weighting, ex: int, ey: int, seed: int
) -> None:
    x, y, w = calibrations(1, seed=seed)
    ex = 2 * ex  # the root of a weight 1/x takes even powers only
    one = fitted(x, y, w, model, weighting)
    other = fitted(x * 2.0**ex, y * 2.0**ey, w * 4.0**ex, model, weighting)
    for place, power in enumerate(POWERS[model]):
        assert float(other.coefficients[place, 0]) == float(one.coefficients[place, 0]) * 2.0 ** (ey - power * ex)
    assert float(other.r_squared[0]) == float(one.r_squared[0])


@settings(deadline=None, max_examples=60)
@given(st.floats(-3, 3), st.floats(0.1, 10), st.integers(0, 99))
def test_shifting_and_scaling_y(shift: float, scale: float, seed: int) -> None:
    x, y, _ = calibrations(1, seed=seed)
    one, other = fit(x, y, "line"), fit(x, scale * y + shift, "line")
    np.testing.assert_allclose(other.coefficients[1], scale * one.coefficients[1], rtol=1e-9)
    np.testing.assert_allclose(other.coefficients[0], scale * one.coefficients[0] + shift, atol=1e-9)
    np.testing.assert_allclose(other.residual_sd, scale * one.residual_sd, rtol=1e-7)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.001, 1000), st.sampled_from(MODELS), st.integers(0, 99))
def test_a_common_factor_of_all_weights_changes_neither_b_nor_v(factor: float, model: Model, seed: int) -> None:
    x, y, w = calibrations(1, seed=seed)
    one, other = (fit(x, y, model, "given", weights=one) for one in (w, w * factor))
    np.testing.assert_allclose(other.coefficients, one.coefficients, rtol=1e-9)
    np.testing.assert_allclose(other.covariance, one.covariance, rtol=1e-8)


def test_line_through_zero_has_the_uncentred_r_squared() -> None:
    """NIST NoInt1 certifies it so."""
    x, y = column([60.0, 61, 62, 63, 64]), column([130.0, 131, 132, 133, 134])
    found = fit(x, y, "line_through_zero")
    expected = 1 - float(np.sum(found.residuals**2) / np.sum(y**2))
    assert abs(float(found.r_squared[0]) - expected) < 1e-14


@pytest.mark.parametrize(
    ("x", "y", "model", "how", "fault"),
    [
        pytest.param([1, 2], [1, 2], "line", {}, "too_few_points", id="as many points as coefficients"),
        pytest.param([], [], "line", {}, "too_few_points", id="no points"),
        pytest.param([1, 2, float("nan")], [1, 2, 3], "line", {}, "not_finite", id="x is not a number"),
        pytest.param([1, 2, 3], [1, float("inf"), 3], "line", {}, "not_finite", id="y is infinite"),
        pytest.param([2, 2, 2], [1, 2, 3], "line", {}, "x_not_spread", id="all x equal"),
        pytest.param([1, 1, 2, 2], [1, 2, 3, 4], "quadratic", {}, "x_not_spread", id="two levels for a quadratic"),
        pytest.param([0, 0], [1, 2], "line_through_zero", {}, "x_not_spread", id="only zero for a line through it"),
        pytest.param([0, 1, 2], [1, 2, 3], "line", {"weighting": "1/x"}, "weight_at_zero", id="1/x at zero"),
        pytest.param([-1, 1, 2], [1, 2, 3], "line", {"weighting": "1/x2"}, "x_negative", id="1/x2 below zero"),
        pytest.param(
            [1, 2, 3],
            [1, 2, 3],
            "line",
            {"weighting": "given", "weights": [1, 0, 1]},
            "weight_not_positive",
            id="weight zero",
        ),
        pytest.param(
            [1, 1 + 1e-17, 1 + 2e-17, 1 + 4e-17], [1, 2, 3, 4], "quadratic", {}, "x_not_spread", id="x equal as floats"
        ),
        pytest.param(
            [1, 1 + 3e-16, 1 + 6e-16, 1 + 9e-16],
            [1, 2, 3, 4],
            "quadratic",
            {},
            "undetermined",
            id="x equal but for rounding",
        ),
        pytest.param(
            [1e-300, 2e-300, 4e-300],
            [1e300, 2e300, 3e300],
            "line",
            {},
            "undetermined",
            id="slope beyond the range of floats",
        ),
    ],
)
def test_faults(x: list[float], y: list[float], model: Model, how: dict[str, Any], fault: str) -> None:
    weights = column(how["weights"]) if "weights" in how else None
    weighting = cast("Weighting", how.get("weighting", "none"))
    found = fit(column(x), column(y), model, weighting, weights=weights)
    assert found.faults == (fault,)
    assert np.all(np.isnan(found.coefficients))


def test_a_bad_run_leaves_its_neighbours_alone() -> None:
    x, y, _ = calibrations(3)
    alone = fit(x[:, 2:], y[:, 2:], "quadratic")
    y[4, 1] = np.nan
    together = fit(x, y, "quadratic")
    assert together.faults == (None, "not_finite", None)
    assert bits(together, 2) == bits(alone, 0)


def test_any_number_of_terms_is_solved_alike() -> None:
    x, y, w = calibrations(4)
    for powers in POWERS.values():
        whole = solve(x, y, w, powers)
        for run in range(4):
            one = slice(run, run + 1)
            alone = solve(x[:, one], y[:, one], w[:, one], powers)
            assert alone.coefficients[:, 0].tolist() == whole.coefficients[:, run].tolist()


@pytest.mark.parametrize("weighting", ["none", "1/x", "1/x2"])
@pytest.mark.parametrize("value", [0.1, 0.3, 1e-3, 7.7, 1.0])
def test_equal_readings_have_no_r_squared_whatever_rounding_leaves_of_their_mean(
    weighting: Weighting, value: float
) -> None:
    x = column([0.1, 0.3, 0.7, 1.1, 1.3])
    for found in (
        fit(x, np.full_like(x, value), "line", weighting),
        fit(x, np.full_like(x, value), "quadratic", weighting),
    ):
        assert np.isnan(found.r_squared[0])
    through = fit(x, np.zeros_like(x), "line_through_zero", weighting)
    assert np.isnan(through.r_squared[0])
