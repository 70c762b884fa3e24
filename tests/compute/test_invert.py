"""Inversion: identity with prediction, uncertainty parts, roots, domain, Fieller's interval."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchseal.compute.arrays import Array, column
from benchseal.compute.fit import Fit, Model, curve, fit
from benchseal.compute.interval import interval
from benchseal.compute.invert import Status, curve_covariance, invert, quadratic_form, rises, root_at, terms_at
from benchseal.compute.quantiles import two_sided_t

LEVELS = column([0.0, 0.0, 0.5, 0.5, 1.0, 1.0, 2.0, 2.0, 4.0, 4.0])
NOISE = column([1.0, -1.0, -1.0, 1.0, 0.5, -0.5, -1.0, 1.0, 0.5, -0.5])


def bent(b2: float = -0.01, noise: float = 1e-3, model: Model = "quadratic") -> Fit:
    return fit(LEVELS, 0.01 + 0.2 * LEVELS + b2 * LEVELS * LEVELS + noise * NOISE, model)


def one(value: float) -> Array:
    return column([value])


@settings(deadline=None, max_examples=100)
@given(st.floats(0.0, 4.0), st.floats(-0.02, 0.05), st.sampled_from(["line", "line_through_zero", "quadratic"]))
def test_inversion_undoes_prediction(x: float, b2: float, model: Model) -> None:
    found = bent(b2, model=model)
    y = curve(found.coefficients, found.powers, one(x))
    back = invert(found, y, one(1.0))
    assert abs(float(back.x[0, 0]) - x) < 1e-11
    assert Status(int(back.status[0, 0])) is Status.IN_RANGE


@settings(deadline=None, max_examples=60)
@given(st.floats(-0.02, 0.05), st.integers(2, 5))
def test_every_standard_lies_in_range_of_its_own_curve(b2: float, digits: int) -> None:
    """The ends of the range are in it, whatever rounding does to them."""
    found = bent(round(b2, digits))
    ends = np.stack([found.x_low, found.x_high])
    back = invert(found, curve(found.coefficients, found.powers, ends), np.ones_like(ends))
    assert bool(np.all(back.status == Status.IN_RANGE))


@pytest.mark.parametrize("model", ["line", "line_through_zero", "quadratic"])
def test_parts_add_up_and_the_curve_part_is_the_delta_method(model: Model) -> None:
    """Derivatives by the coefficients taken numerically, the full covariance by numpy."""
    found = bent(model=model)
    back = invert(found, one(0.35), one(3.0))
    gradient = []
    for place in range(len(found.powers)):
        step = 1e-6
        moved = found.coefficients.copy()
        moved[place] += step
        other = root_at(_with(found, moved), one(0.35))[0]
        gradient.append((float(back.x[0, 0]) - float(other[0, 0])) / step)
    expected = float(np.sqrt(np.array(gradient) @ found.covariance[:, :, 0] @ np.array(gradient)))
    assert abs(float(back.u_curve[0, 0]) / expected - 1) < 1e-4
    reading = float(found.residual_sd[0]) / np.sqrt(3.0) / float(back.slope[0, 0])
    assert abs(float(back.u_reading[0, 0]) / reading - 1) < 1e-12
    total = np.hypot(back.u_reading, back.u_curve)
    np.testing.assert_allclose(back.u, total, rtol=1e-14)


def _with(found: Fit, coefficients: Array) -> Fit:
    from dataclasses import replace  # noqa: PLC0415  only here

    return replace(found, coefficients=coefficients)


def test_uncertainty_of_the_closed_form_for_a_line() -> None:
    """Eurachem QUAM E.4 (from memory): (s/b1) sqrt(1/p + 1/n + (y0 - ybar)^2/(b1^2 Sxx))."""
    found = bent(0.0, model="line")
    s, b1 = float(found.residual_sd[0]), float(found.coefficients[1, 0])
    sxx = float(np.sum((LEVELS - LEVELS.mean()) ** 2))
    expected = s / b1 * np.sqrt(1 / 4 + 1 / 10 + (0.5 - float(found.y.mean())) ** 2 / (b1**2 * sxx))
    assert abs(float(invert(found, one(0.5), one(4.0)).u[0, 0]) / expected - 1) < 1e-12


def test_the_curve_part_does_not_shrink_with_readings() -> None:
    found = bent()
    few, many = (invert(found, one(0.35), one(n)) for n in (1.0, 1e6))
    assert float(few.u_curve[0, 0]) == float(many.u_curve[0, 0])
    assert float(many.u[0, 0]) > 0.99 * float(many.u_curve[0, 0])


def test_samples_of_one_curve_share_its_part() -> None:
    found = bent()
    back = invert(found, column([0.2, 0.35, 0.35]), np.ones((3, 1)))
    shared = curve_covariance(found, back, 0)
    np.testing.assert_allclose(np.sqrt(np.diag(shared)), back.u_curve[:, 0], rtol=1e-12)
    np.testing.assert_allclose(shared[1, 2], shared[1, 1], rtol=1e-12)  # the same reading: wholly correlated
    np.testing.assert_allclose(shared, shared.T, rtol=1e-12)
    gradient = back.gradient[:, :, 0]
    np.testing.assert_allclose(shared, gradient.T @ found.covariance[:, :, 0] @ gradient, rtol=1e-9)


def test_weights_at_the_sample() -> None:
    x = LEVELS[2:]
    y = 0.2 * x * (1 + 0.01 * NOISE[2:])
    found = fit(x, y, "line", "1/x2")
    back = invert(found, one(0.3), one(1.0))
    assert abs(float(back.weight[0, 0]) * float(back.x[0, 0]) ** 2 - 1) < 1e-12
    below = invert(found, one(0.01), one(1.0), below_lowest_kept=True)
    assert abs(float(below.weight[0, 0]) - 4.0) < 1e-12  # that of the lowest standard, 0.5
    own = invert(found, one(0.3), one(1.0), weight=one(2.0))
    assert abs(float(own.u_reading[0, 0]) * float(own.slope[0, 0]) - float(found.residual_sd[0]) / 2**0.5) < 1e-12


def test_a_better_known_reading_replaces_the_scatter() -> None:
    found = bent()
    back = invert(found, column([0.3, 0.3]), np.ones((2, 1)), u_y0=column([0.0005, np.nan]))
    assert abs(float(back.u_reading[0, 0]) * float(back.slope[0, 0]) - 0.0005) < 1e-15
    assert abs(float(back.u_reading[1, 0]) * float(back.slope[1, 0]) - float(found.residual_sd[0])) < 1e-15


@pytest.mark.parametrize(
    ("y", "status"),
    [
        pytest.param(0.9, Status.OVER_RANGE, id="above the highest standard"),
        pytest.param(0.0, Status.BELOW_LOWEST, id="below the lowest standard"),
        pytest.param(5.0, Status.NO_ROOT, id="above the curve's maximum"),
        pytest.param(float("nan"), Status.NO_READING, id="no reading"),
    ],
)
def test_outside_the_standards(y: float, status: Status) -> None:
    found = bent(-0.01)
    back = invert(found, one(y), one(1.0))
    assert Status(int(back.status[0, 0])) is status
    assert not bool(back.usable[0, 0])


def test_below_the_lowest_standard_is_kept_only_when_asked() -> None:
    found = bent()
    refused, kept = (invert(found, one(0.005), one(3.0), below_lowest_kept=flag) for flag in (False, True))
    assert refused.status.tolist() == kept.status.tolist() == [[Status.BELOW_LOWEST]]
    assert (bool(refused.usable[0, 0]), bool(kept.usable[0, 0])) == (False, True)
    assert -0.05 < float(kept.x[0, 0]) < 0
    assert float(kept.u[0, 0]) > 0


def test_given_weights_have_no_rule_for_a_sample() -> None:
    found = fit(LEVELS, 0.2 * LEVELS + 0.001 * NOISE, "line", "given", weights=np.ones_like(LEVELS))
    back = invert(found, column([0.3, 0.3]), np.ones((2, 1)), weight=column([np.nan, 1.0]))
    assert [Status(int(status)) for status in back.status[:, 0]] == [Status.NO_WEIGHT, Status.IN_RANGE]


@pytest.mark.parametrize(
    "y",
    [
        pytest.param(1.0 - 0.2 * LEVELS, id="falling line"),
        pytest.param(np.full_like(LEVELS, 0.3), id="all readings equal"),
        pytest.param(0.4 * LEVELS - 0.08 * LEVELS * LEVELS, id="vertex inside the standards"),
    ],
)
def test_a_curve_that_does_not_rise_gives_nothing(y: Array) -> None:
    for model in ("line", "quadratic") if y[0, 0] > 0 else ("quadratic",):
        found = fit(LEVELS, y + 0.0, "line" if model == "line" else "quadratic")
        assert not bool(rises(found)[0])
        assert invert(found, one(0.3), one(1.0)).status.tolist() == [[Status.NOT_RISING]]


def test_a_slope_lost_in_noise_gives_nothing() -> None:
    found = fit(LEVELS, 0.0005 * LEVELS + 0.01 * NOISE, "line")
    back = invert(found, one(0.001), one(1.0))
    assert back.status.tolist() == [[Status.SLOPE_NOT_SIGNIFICANT]]


def test_the_rising_branch_when_the_curve_falls_before_the_standards() -> None:
    x = column([3.0, 4.0, 5.0, 6.0, 7.0])
    found = fit(x, 1.0 - 0.4 * x + 0.1 * x * x, "quadratic")
    y = curve(found.coefficients, found.powers, one(5.5))
    assert abs(float(invert(found, y, one(1.0)).x[0, 0]) - 5.5) < 1e-10
    at_b0 = invert(found, one(1.0), one(1.0))  # the textbook form of this root is 0/0 here
    assert abs(float(at_b0.x[0, 0]) - 4.0) < 1e-9


@settings(deadline=None, max_examples=50)
@given(st.floats(1e-14, 1e-6))
def test_a_vanishing_bend_meets_the_line(b2: float) -> None:
    noise_free = fit(LEVELS, 0.01 + 0.2 * LEVELS - b2 * LEVELS * LEVELS, "quadratic")
    assert abs(float(invert(noise_free, one(0.41), one(1.0)).x[0, 0]) - 2.0) < 1e-4


@pytest.mark.parametrize(
    ("model", "noise"), [("line", 0.15), ("line", 0.3), ("line_through_zero", 0.3), ("quadratic", 0.1)]
)
def test_fieller_ends_lie_t_uncertainties_from_the_reading(model: Model, noise: float) -> None:
    """The definition of the interval, checked at its ends."""
    found = bent(0.004, noise=noise, model=model)
    back = invert(found, one(0.41), one(1.0))
    between = interval(found, back)
    assert 0.05 <= float(back.g[0, 0]) < 1
    assert bool(between.by_fieller[0, 0])
    assert bool(between.found[0, 0])
    low, x, high = (float(one[0, 0]) for one in (between.low, back.x, between.high))
    assert low < x < high
    t = two_sided_t(0.95, found.df)
    for end in (low, high):
        terms = terms_at(found, one(end))
        variance = float(found.residual_sd[0]) ** 2 + float(quadratic_form(found.covariance, terms, terms)[0, 0])
        apart = abs(0.41 - float(curve(found.coefficients, found.powers, one(end))[0, 0]))
        assert abs(apart / (t * variance**0.5) - 1) < 1e-9


@pytest.mark.parametrize("model", ["line", "line_through_zero", "quadratic"])
def test_a_well_known_slope_gives_the_plain_interval(model: Model) -> None:
    found = bent(0.004, model=model)
    back = invert(found, one(0.41), one(1.0))
    between = interval(found, back)
    assert not bool(between.by_fieller[0, 0])
    half = two_sided_t(0.95, found.df) * float(back.u[0, 0])
    assert abs(float(between.high[0, 0]) - float(back.x[0, 0]) - half) < 1e-12


def test_no_interval_where_the_curve_bends_away_before_its_end() -> None:
    found = bent(0.004, noise=0.15)
    between = interval(found, invert(found, one(0.41), one(1.0)))
    assert bool(between.by_fieller[0, 0])
    assert not bool(between.found[0, 0])


def test_fluorescein_fieller_figures() -> None:
    """Recomputed elsewhere for Miller and Miller's fluorescein line; forced here by the closed form at g 0.003."""
    x, y = column([0.0, 2, 4, 6, 8, 10, 12]), column([2.1, 5.0, 9.0, 12.6, 17.3, 21.0, 24.7])
    found = fit(x, y, "line")
    back = invert(found, one(13.5), one(1.0))
    from benchseal.compute import interval as module  # noqa: PLC0415  its closed form, below its threshold

    low, high = module._closed(module._one(found, back, two_sided_t(0.95, 5), 0, 0))  # noqa: SLF001
    assert abs(low - 5.590607742865669) < 1e-12
    assert abs(high - 6.8250563941083975) < 1e-12


def test_bits_of_a_sample_do_not_depend_on_company() -> None:
    rng = np.random.default_rng(3)
    x = np.tile(LEVELS, (1, 9))
    y = 0.2 * x - 0.01 * x * x + rng.normal(0, 0.002, x.shape)
    y0 = rng.uniform(0.05, 0.6, (20, 9))
    whole = invert(fit(x, y, "quadratic"), y0, np.full_like(y0, 3.0))
    for run in range(9):
        alone = fit(x[:, run : run + 1], y[:, run : run + 1], "quadratic")
        for sample in range(20):
            back = invert(alone, y0[sample : sample + 1, run : run + 1], one(3.0))
            assert float(back.x[0, 0]).hex() == float(whole.x[sample, run]).hex()
            assert float(back.u[0, 0]).hex() == float(whole.u[sample, run]).hex()


def test_the_room_at_the_edges_is_that_of_the_largest_standard_of_either_sign() -> None:
    """From -1000 to 1: rounding moves the lowest standard's own reading by more than a part of 1."""
    levels = column([-1000.0, -700.3, -400.7, -100.1, 1.0])
    found = fit(levels, 0.1 + 0.37 * levels, "line")
    edge = curve(found.coefficients, found.powers, one(-1000.0))
    for moved, status in ((5e-10, Status.IN_RANGE), (5e-9, Status.BELOW_LOWEST)):
        back = invert(found, edge - 0.37 * moved, one(1.0))
        assert Status(int(back.status[0, 0])) is status, moved


@pytest.mark.parametrize("scale", [1e-3, 1.0, 1e3, 1e6])
@pytest.mark.parametrize(("model", "noise"), [("quadratic", 0.1), ("line", 0.3)])
def test_ends_by_fieller_move_with_the_unit_of_concentration(scale: float, model: Model, noise: float) -> None:
    """In another unit of x the same ends in that unit, however far the search goes."""
    usual = bent(0.004, noise=noise, model=model)
    other = fit(LEVELS * scale, usual.y, model)
    one_way, other_way = (interval(found, invert(found, one(0.41), one(1.0))) for found in (usual, other))
    assert bool(other_way.by_fieller[0, 0])
    assert float(other_way.low[0, 0]) / scale == pytest.approx(float(one_way.low[0, 0]), rel=1e-9)
    assert float(other_way.high[0, 0]) / scale == pytest.approx(float(one_way.high[0, 0]), rel=1e-9)
