"""Weights by a variance function and by the scatter of levels: rules, fits, samples, company, coverage."""

from __future__ import annotations

import math
from statistics import stdev

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchseal.compute.arrays import Array, column
from benchseal.compute.critical import t_critical
from benchseal.compute.fit import Fit, Model, Weighting, fit
from benchseal.compute.invert import Status, invert
from benchseal.compute.weights import LevelScatter, VarianceFunction, WeightRule, level_scatter, scatter_rule, weight_at

LEVELS = (0.0, 0.5, 1.0, 2.0, 4.0)


def function(s0: float, k: float, runs: int = 1) -> VarianceFunction:
    return VarianceFunction(np.full(runs, s0), np.full(runs, k))


def scattered(s: tuple[float, ...], x: tuple[float, ...] = LEVELS) -> LevelScatter:
    return scatter_rule([dict(zip(x, s, strict=True))], np.ones((len(x), 1)))


def test_a_variance_function_by_hand() -> None:
    found = weight_at("variance_function", function(0.3, 0.2), column([0.0, 2.0, -2.0]))[:, 0]
    np.testing.assert_allclose(found, [1 / 0.09, 1 / 0.25, 1 / 0.25], rtol=1e-15)


def test_scatter_between_levels_lies_on_a_straight_line_and_ends_at_the_ends() -> None:
    rule = scattered((0.1, 0.2, 0.1, 0.4, 0.8))
    asked = {-1.0: 0.1, 0.0: 0.1, 0.25: 0.15, 0.5: 0.2, 0.75: 0.15, 1.0: 0.1, 1.5: 0.25, 3.0: 0.6, 4.0: 0.8, 9.0: 0.8}
    np.testing.assert_allclose(rule.at(column(list(asked)))[:, 0], list(asked.values()), rtol=1e-14)


@settings(deadline=None, max_examples=100)
@given(st.lists(st.floats(0.01, 5), min_size=1, max_size=6), st.data())
def test_scatter_never_leaves_that_of_its_neighbours(s: list[float], data: st.DataObject) -> None:
    x = sorted(data.draw(st.sets(st.integers(0, 99), min_size=len(s), max_size=len(s))))
    rule = scattered(tuple(s), tuple(float(one) for one in x))
    at = data.draw(st.floats(-5, 120))
    found = float(rule.at(column([at]))[0, 0])
    assert min(s) * (1 - 1e-12) <= found <= max(s) * (1 + 1e-12)
    for level, own in zip(x, s, strict=True):
        assert float(rule.at(column([float(level)]))[0, 0]) == own


def test_level_scatter_is_the_standard_deviation_of_each_level() -> None:
    found = level_scatter([(2.0, 1.0), (1.0, 3.0), (2.0, 4.0), (1.0, 3.5), (1.0, 5.0), (3.0, 7.0)])
    assert list(found) == [1.0, 2.0, 3.0]
    assert found[1.0] == pytest.approx(stdev([3.0, 3.5, 5.0]), rel=1e-14)
    assert found[2.0] == pytest.approx(stdev([1.0, 4.0]), rel=1e-14)
    assert math.isnan(found[3.0])


def points(runs: int, seed: int = 4) -> tuple[Array, Array]:
    rng = np.random.default_rng(seed)
    x = np.repeat(np.array(LEVELS).reshape(-1, 1), runs, axis=1)
    return x, 0.01 + 0.2 * x + rng.normal(0.0, 0.002, x.shape)


def rules(runs: int, seed: int = 5) -> dict[Weighting, WeightRule]:
    """Another rule for each run; the levels' scatter of different lengths, as runs have them."""
    rng = np.random.default_rng(seed)
    s = rng.uniform(0.001, 0.01, (len(LEVELS), runs))
    own = [dict(zip(LEVELS, s[:, run].tolist(), strict=True)) for run in range(runs)]
    return {
        "variance_function": VarianceFunction(rng.uniform(0.001, 0.01, runs), rng.uniform(0.001, 0.01, runs)),
        "1/s2": scatter_rule(own, np.full(s.shape, 3.0)),
    }


def alone_rule(rule: WeightRule, run: int) -> WeightRule:
    one = slice(run, run + 1)
    if isinstance(rule, VarianceFunction):
        return VarianceFunction(rule.s0[one], rule.k[one])
    return LevelScatter(rule.x[:, one], rule.s[:, one], rule.readings[:, one])


@pytest.mark.parametrize("weighting", ["variance_function", "1/s2"])
@pytest.mark.parametrize("model", ["line", "line_through_zero", "quadratic"])
def test_a_rule_is_its_weights(weighting: Weighting, model: Model) -> None:
    """The same fit as with the rule's weights given one by one, by the formulas written out here."""
    x, y = points(3)
    rule = rules(3)[weighting]
    weights = 1 / (rule.s0**2 + (rule.k * x) ** 2) if isinstance(rule, VarianceFunction) else 3 / rule.s**2
    one, other = fit(x, y, model, weighting, rule=rule), fit(x, y, model, "given", weights=weights)
    np.testing.assert_allclose(one.coefficients, other.coefficients, rtol=1e-11, atol=1e-15)
    np.testing.assert_allclose(one.covariance, other.covariance, rtol=1e-10)


@pytest.mark.parametrize("weighting", ["variance_function", "1/s2"])
def test_bits_do_not_depend_on_company(weighting: Weighting) -> None:
    x, y = points(9)
    rule = rules(9)[weighting]
    y0 = np.random.default_rng(6).uniform(-0.01, 0.8, (7, 9))
    together = fit(x, y, "line", weighting, rule=rule)
    back = invert(together, y0, np.full_like(y0, 3.0), below_lowest_kept=True)
    for run in range(9):
        one = slice(run, run + 1)
        alone = fit(x[:, one], y[:, one], "line", weighting, rule=alone_rule(rule, run))
        again = invert(alone, y0[:, one], np.full((7, 1), 3.0), below_lowest_kept=True)
        for left, right in ((alone.coefficients, together.coefficients), (again.x, back.x), (again.u, back.u)):
            assert left[:, 0].tobytes() == right[:, run].tobytes()


def test_runs_of_fewer_levels_stay_as_they_are_beside_longer_ones() -> None:
    short, long = {1.0: 0.1, 2.0: 0.3}, {0.0: 0.2, 1.0: 0.4, 2.0: 0.6, 5.0: 0.8}
    rule = scatter_rule([short, long, short], np.ones((4, 3)))
    alone = scatter_rule([short], np.ones((4, 1)))
    at = np.repeat(column([0.0, 1.0, 1.7, 2.0, 3.0, 9.0]), 3, axis=1)
    assert rule.at(at)[:, 0].tobytes() == rule.at(at)[:, 2].tobytes() == alone.at(at[:, :1])[:, 0].tobytes()


@pytest.mark.parametrize(
    ("rule", "weighting", "fault"),
    [
        pytest.param(function(0.0, 0.1), "variance_function", "weight_at_zero", id="no constant part at zero"),
        pytest.param(function(0.1, 0.0), "variance_function", None, id="no growth is no weighting"),
        pytest.param(scattered((0.1, 0.1, 0.0, 0.1, 0.1)), "1/s2", "level_without_scatter", id="equal readings"),
        pytest.param(scattered((0.1, math.nan, 0.1, 0.1, 0.0)), "1/s2", "level_readings_few", id="one reading"),
        pytest.param(scattered((0.1, 0.1, 1e-200, 0.1, 0.1)), "1/s2", "weight_not_positive", id="infinite weight"),
    ],
)
def test_faults_of_rules(rule: WeightRule, weighting: Weighting, fault: str | None) -> None:
    x, y = points(1)
    found = fit(x, y, "line", weighting, rule=rule)
    assert found.faults == (fault,)
    assert bool(np.all(np.isfinite(found.coefficients))) == (fault is None)


@pytest.mark.parametrize("weighting", ["none", "1/x", "1/s2", "variance_function"])
def test_a_rule_goes_with_its_own_weighting_only(weighting: Weighting) -> None:
    x, y = points(1)
    wrong: WeightRule | None = {"1/s2": function(1, 1), "variance_function": None}.get(weighting, scattered((1.0,) * 5))
    with pytest.raises(AssertionError):
        fit(x, y, "line", weighting, rule=wrong)


def with_rule(weighting: Weighting) -> Fit:
    x, y = points(1)
    return fit(x[1:], y[1:], "line", weighting, rule=rule_above_zero(weighting))


def rule_above_zero(weighting: Weighting) -> WeightRule:
    if weighting == "1/s2":
        return scattered((0.002, 0.003, 0.003, 0.005), LEVELS[1:])
    return function(0.002, 0.001)


@pytest.mark.parametrize("weighting", ["variance_function", "1/s2"])
def test_a_sample_takes_the_weight_of_its_place(weighting: Weighting) -> None:
    """u of the reading is s/sqrt(w m)/slope; below the lowest standard w is the lowest standard's."""
    found = with_rule(weighting)
    s_at_3 = 0.004 if weighting == "1/s2" else math.hypot(0.002, 0.003)
    b0, b1 = found.coefficients[:, 0].tolist()
    back = invert(found, column([b0 + 3.0 * b1, b0 + 0.1 * b1]), column([4.0, 4.0]), below_lowest_kept=True)
    assert [Status(int(one)) for one in back.status[:, 0]] == [Status.IN_RANGE, Status.BELOW_LOWEST]
    lowest = 0.002 if weighting == "1/s2" else math.hypot(0.002, 0.0005)
    for place, own in enumerate((s_at_3, lowest)):
        expected = float(found.residual_sd[0]) * own / 2.0 / b1
        assert float(back.u_reading[place, 0]) == pytest.approx(expected, rel=1e-11)


# Coverage by simulation, as in test_coverage_of_intervals.py: 4000 runs, standard deviation 0.34 %.
RUNS, SEED = 4000, 20_260_303
AT = (0.15, 2.5, 4.85)
SEVEN = (0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0)


def noise(x: Array) -> Array:
    return np.sqrt(0.002**2 + (0.002 * x) ** 2)


def held(found: Fit, readings: int, rng: np.random.Generator) -> list[float]:
    truth = np.repeat(column(list(AT)), RUNS, axis=1)
    means = 0.01 + 0.2 * truth + np.mean(noise(truth) * rng.normal(size=(readings, *truth.shape)), axis=0)
    back = invert(found, means, np.full_like(means, float(readings)))
    t = t_critical(0.05, found.t_df)
    return [float(one) for one in np.mean(np.abs(back.x - truth) <= t * back.u, axis=1)]


def read(readings: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Levels (levels, runs) and readings (levels, readings, runs)."""
    x = np.repeat(column(list(SEVEN)), RUNS, axis=1)
    shape = (len(SEVEN), readings, RUNS)
    return x, (0.01 + 0.2 * x + 0.0)[:, None] + noise(x)[:, None] * rng.normal(size=shape)


def test_intervals_by_the_true_variance_function_hold_the_truth_in_95_of_100_runs() -> None:
    rng = np.random.default_rng(SEED)
    x, y = read(3, rng)
    every_x, every_y = np.repeat(x, 3, axis=0), y.reshape(-1, RUNS)
    found = fit(every_x, every_y, "line", "variance_function", rule=function(0.004, 0.004, RUNS))  # twice the truth
    assert all(0.93 <= share <= 0.97 for share in (*held(found, 1, rng), *held(found, 3, rng)))
    plain = fit(every_x, every_y, "line")
    shares = held(plain, 3, rng)
    assert max(shares) > 0.98, "without weights too wide at the bottom"
    assert min(shares) < 0.9, "and too narrow at the top"


def by_scatter(readings: int, *, on_means: bool, rng: np.random.Generator) -> Fit:
    x, y = read(readings, rng)
    s = np.std(y, axis=1, ddof=1)
    if on_means:
        return fit(x, np.mean(y, axis=1), "line", "1/s2", rule=LevelScatter(x, s, np.full_like(x, float(readings))))
    every = np.repeat(x, readings, axis=0)
    return fit(every, y.reshape(-1, RUNS), "line", "1/s2", rule=LevelScatter(x, s, np.ones_like(every)))


def test_intervals_by_the_scatter_of_five_readings_hold_it_almost_as_often() -> None:
    """Why a method must read each level 5 times and fit on means: fewer, or on readings, and they are too short."""
    rng = np.random.default_rng(SEED)
    found = by_scatter(5, on_means=True, rng=rng)
    assert all(0.92 <= share <= 0.97 for share in (*held(found, 1, rng), *held(found, 5, rng)))
    of_three = by_scatter(3, on_means=True, rng=rng)
    assert min(held(of_three, 3, rng)) < 0.93
    on_readings = by_scatter(3, on_means=False, rng=rng)
    assert max(held(on_readings, 3, rng)) < 0.91
