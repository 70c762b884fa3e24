"""The variance function: against another optimiser, in simulation, and where it is at its bounds."""

from __future__ import annotations

from math import exp, log, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from benchseal.compute.variance_fit import VarianceFunction, variance_function

from .asking import ask

if TYPE_CHECKING:
    from collections.abc import Sequence

LEVELS = [0.0, 2.8, 9.7, 23.0, 32.0, 43.0]


def fitted(x: Sequence[float], y: Sequence[float]) -> VarianceFunction:
    found = variance_function(x, y)
    assert isinstance(found, VarianceFunction)
    return found


def cost(found: VarianceFunction, s0: float, k: float) -> float:
    """Minus twice the logarithm of the likelihood of the level variances, written out again."""
    parts = [(one.n - 1, one.s, s0 * s0 + (k * one.x) ** 2) for one in found.levels]
    return sum(df * (log(v) + s * s / v) for df, s, v in parts if s is not None)


def simulated(readings: int, s0: float, k: float, seed: int) -> tuple[list[float], list[float]]:
    rng = np.random.default_rng(seed)
    x = np.repeat(LEVELS, readings)
    return x.tolist(), (2.3 * x + np.sqrt(s0**2 + (k * x) ** 2) * rng.standard_normal(len(x))).tolist()


@pytest.mark.parametrize("seed", range(8))
def test_no_other_optimiser_finds_a_likelier_pair(seed: int) -> None:
    """Nelder and Mead as scipy has it, from three starts, on the logarithms of s0 and k; levels of 2 to 7 readings."""
    x, y = simulated(7, 0.31, 0.057, seed)
    kept = [place for place in range(len(x)) if place % 7 < 2 + place // 7]
    found = fitted([x[place] for place in kept], [y[place] for place in kept])
    assert [one.n for one in found.levels] == [2, 3, 4, 5, 6, 7]

    def of(at: Any, *_: Any, **__: Any) -> float:  # noqa: ANN401  the shape the optimiser calls with
        return cost(found, exp(at[0]), exp(at[1]))

    starts = ([-1.0, -3.0], [-3.0, -1.0], [1.0, -7.0])
    best = min(minimize(of, start, method="Nelder-Mead", tol=1e-10).fun for start in starts)
    assert cost(found, found.s0, found.k) <= best + 1e-9


def test_many_simulated_data_sets_give_the_true_variances_back() -> None:
    """400 sets of 6 levels of 4 readings: the mean of s0^2 and of k^2 within 4 standard errors of the truth."""
    found = [fitted(*simulated(4, 0.31, 0.057, seed)) for seed in range(400)]
    for values, true in (([one.s0 for one in found], 0.31), ([one.k for one in found], 0.057)):
        ratio = np.square(values) / true**2
        assert abs(ratio.mean() - 1) < 4 * ratio.std() / sqrt(len(ratio))


def test_where_the_proportional_part_hardly_shows_it_is_often_zero_and_never_negative() -> None:
    """k x reaches s0 only at the top: in a part of the sets k is zero, and the mean of s0^2 then misses by a tenth."""
    found = [fitted(*simulated(4, 0.5, 0.01, seed)) for seed in range(200)]
    assert 0.05 < sum(one.k == 0 for one in found) / len(found) < 0.5
    assert min(one.k for one in found) == 0
    assert abs(np.mean([one.s0**2 for one in found]) / 0.25 - 1) < 0.15


def test_with_many_readings_the_truth_comes_out() -> None:
    found = fitted(*simulated(4000, 0.31, 0.057, 1))
    assert abs(found.s0 / 0.31 - 1) < 0.02
    assert abs(found.k / 0.057 - 1) < 0.02


def test_equal_scatter_has_no_proportional_part() -> None:
    """Levels that all scatter alike, and a top that scatters less: k is zero, s0 the pooled standard deviation."""
    x, y = [0, 0, 0, 1, 1, 1, 2, 2, 2], [-1, 0, 1, 9, 10, 11, 20.5, 20, 19.5]
    found = fitted(x, y)
    assert found.k == 0
    assert abs(found.s0 - sqrt((1 + 1 + 0.25) / 3)) < 1e-15


def test_purely_proportional_scatter_has_no_constant_part() -> None:
    x = [1, 1, 1, 10, 10, 10, 100, 100, 100]
    found = fitted(x, [value + value * step for value, step in zip(x, [-0.1, 0, 0.1] * 3, strict=True)])
    assert found.s0 == pytest.approx(0, abs=1e-4)
    assert found.k == pytest.approx(0.1, rel=1e-6)


def test_a_level_of_one_reading_is_listed_and_counts_nothing() -> None:
    x, y = simulated(4, 0.31, 0.057, 2)
    found, more = fitted(x, y), fitted([*x, 60], [*y, 1e6])
    assert more.levels[-1].s is None
    assert more.s0 == pytest.approx(found.s0, rel=1e-6)
    assert more.df == found.df
    assert more.levels[-1].fitted == pytest.approx(sqrt(found.s0**2 + (found.k * 60) ** 2), rel=1e-6)


@settings(deadline=None)
@given(st.lists(st.integers(-50, 50), min_size=16, max_size=16), st.permutations(range(16)), st.integers(-30, 30))
def test_order_and_scale_of_the_readings_do_not_matter(noise: list[int], order: list[int], exponent: int) -> None:
    """Readings times a power of two scale s0 and k; another order of readings changes them by rounding at most."""
    x = [float(level) for level in (1, 2, 4, 8) for _ in range(4)]
    assume(len({*noise[:4]}) > 1)
    found = variance_function(x, [float(one) for one in noise])
    assume(isinstance(found, VarianceFunction))
    assert isinstance(found, VarianceFunction)
    scaled = fitted(x, [one * 2.0**exponent for one in noise])
    assert (scaled.s0, scaled.k) == pytest.approx((found.s0 * 2.0**exponent, found.k * 2.0**exponent), rel=1e-9)
    turned = fitted([x[place] for place in order], [float(noise[place]) for place in order])
    assert turned.s0 == pytest.approx(found.s0, rel=1e-7, abs=1e-7)
    assert turned.k == pytest.approx(found.k, rel=1e-7, abs=1e-7)


def test_the_fitted_scatter_is_what_a_method_weighs_by() -> None:
    """s0 and k of the answer, put into s0^2 + (k x)^2, give the fitted scatter of each level."""
    x, y = simulated(5, 0.31, 0.057, 4)
    found = ask("variance_function", x=x, y=y)
    for level in found["levels"]:
        assert level["s_fitted"] == pytest.approx(sqrt(found["s0"] ** 2 + (found["k"] * level["x"]) ** 2), rel=1e-12)
