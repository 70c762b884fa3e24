"""Judging a calibration, statistics of replicates, outliers."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations, groupby
from statistics import mean, stdev
from typing import cast

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from benchseal.compute.arrays import column
from benchseal.compute.fit import fit
from benchseal.compute.judge_curve import (
    back_calculated_percent_error,
    free_intercept,
    homogeneity,
    lack_of_fit,
    levels_of,
    mandel,
    order_objections,
    rse_percent,
)
from benchseal.compute.outliers import OutlierTest, Sides, dixon, grubbs, grubbs_critical
from benchseal.compute.sign_runs import sign_runs
from benchseal.compute.statistics import (
    lag1_autocorrelation,
    pooled_sd,
    rsd_percent,
    sd_of_duplicates,
    statistics,
)

X = column([0.0, 0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 3.0, 4.0, 4.0, 5.0, 5.0])
WOBBLE = column([0.001, -0.001, 0.002, -0.001, 0.0, 0.001, -0.002, 0.001, 0.001, 0.0, -0.001, 0.001])


def test_back_calculated_errors_of_a_line_by_hand() -> None:
    found = fit(column([1.0, 2.0, 3.0]), column([1.0, 2.5, 3.0]), "line")  # y = 1/6 + x
    errors = back_calculated_percent_error(found)[:, 0]
    np.testing.assert_allclose(errors, [-100 / 6, 100 / 6, -100 / 18], rtol=1e-12)
    expected = np.sqrt((100 / 6) ** 2 * 2 + (100 / 18) ** 2)
    np.testing.assert_allclose(rse_percent(found), expected, rtol=1e-12)


def test_the_blank_level_counts_neither_in_the_sum_nor_in_n() -> None:
    found = fit(X, 0.2 * X + WOBBLE, "line")
    errors = back_calculated_percent_error(found)[:, 0]
    assert np.isnan(errors[:2]).all()
    np.testing.assert_allclose(rse_percent(found), np.sqrt(np.sum(errors[2:] ** 2) / (10 - 2)), rtol=1e-12)


def test_mandel_is_the_f_test_of_the_added_term() -> None:
    """The partial F test by residual sums of squares from numpy's polynomial fit."""
    y = 0.2 * X - 0.001 * X * X + WOBBLE
    ss = [np.polyfit(X[:, 0], y[:, 0], degree, full=True)[1][0] for degree in (1, 2)]
    expected = (ss[0] - ss[1]) / (ss[1] / (12 - 3))
    tests = [mandel(fit(X, y, "line")), mandel(fit(X, y, "quadratic"))]
    for test in tests:
        np.testing.assert_allclose(test.statistic, expected, rtol=1e-9)
    assert tests[0].critical == pytest.approx(stats.f.ppf(0.99, 1, 9), rel=1e-12)


def test_mandel_says_nothing_about_points_without_scatter() -> None:
    exact = mandel(fit(X, 0.1 + 0.2 * X, "line"))
    assert np.isnan(exact.statistic[0])
    assert not exact.exceeded[0]


def test_lack_of_fit_against_sums_by_hand() -> None:
    y = 0.2 * X + WOBBLE
    found = fit(X, y, "line")
    test = lack_of_fit(found, levels_of(X[:, 0].tolist()))
    assert test is not None
    means = y.reshape(6, 2).mean(axis=1)
    pure = float(np.sum((y.reshape(6, 2) - means[:, None]) ** 2))
    total = float(np.sum(found.residuals**2))
    np.testing.assert_allclose(test.statistic, ((total - pure) / 4) / (pure / 6), rtol=1e-9)
    assert (test.df1, test.df2) == (4, 6)


@pytest.mark.parametrize(
    ("x", "reason"), [([1.0, 2, 3, 4], "no replicates"), ([1.0, 1, 2, 2], "as many levels as coefficients")]
)
def test_lack_of_fit_needs_replicates_and_levels(x: list[float], reason: str) -> None:
    assert lack_of_fit(fit(column(x), column([1.0, 2.1, 3.0, 4.2]), "line"), levels_of(x)) is None, reason


def test_homogeneity_divides_the_greater_variance_by_the_smaller() -> None:
    low, high = [1.0, 1.1, 0.9], [10.0, 12.0, 8.0, 10.0]
    for one, other in ((low, high), (high, low)):
        test = homogeneity(column(one), column(other))
        np.testing.assert_allclose(test.statistic, stdev(high) ** 2 / stdev(low) ** 2)
        assert (test.df1, test.df2) == (3, 2)
    assert np.isnan(homogeneity(column([1.0, 1.0]), column([1.0, 2.0])).statistic[0])


def test_a_quadratic_needs_every_reason() -> None:
    y = 0.2 * X - 0.01 * X * X + WOBBLE
    line, quadratic = fit(X, y, "line"), fit(X, y, "quadratic")
    assert order_objections(quadratic, line, [6]) == ((),)
    assert order_objections(quadratic, line, [5]) == (("there are fewer than 6 levels",),)
    straight = 0.2 * X + WOBBLE
    (found,) = order_objections(fit(X, straight, "quadratic"), fit(X, straight, "line"), [6])
    assert "it does not fit significantly better" in found
    falling = 0.2 * X - 0.03 * X * X + WOBBLE
    (found,) = order_objections(fit(X, falling, "quadratic"), fit(X, falling, "line"), [6])
    assert found == ("it does not rise over the whole range", "the back-calculated errors do not get smaller")


def test_a_quadratic_that_fits_better_and_gives_worse_errors_is_refused() -> None:
    """The bend is bought with the lowest level, which weighs little in y and most in percent."""
    x = column([0.1, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0])
    y = column([0.042, 0.2085, 0.412, 0.6045, 0.796, 0.9865, 1.168, 1.3475])
    line, quadratic = fit(x, y, "line"), fit(x, y, "quadratic")
    assert bool(mandel(line).exceeded[0])
    assert order_objections(quadratic, line, [8]) == (("the back-calculated errors do not get smaller",),)


def test_each_run_gets_its_own_objections() -> None:
    y = np.hstack([0.2 * X + WOBBLE, 0.2 * X - 0.01 * X * X + WOBBLE])
    x = np.hstack([X, X])
    found = order_objections(fit(x, y, "quadratic"), fit(x, y, "line"), [6, 6])
    alone = [order_objections(fit(X, y[:, [run]], "quadratic"), fit(X, y[:, [run]], "line"), [6])[0] for run in (0, 1)]
    assert list(found) == alone
    assert found[0] != found[1] == ()


def test_the_intercept_left_out_by_a_line_through_zero_is_the_free_lines() -> None:
    """b0 and its standard error by numpy's polynomial fit, t by scipy."""
    for y in (0.2 * X + WOBBLE, 0.01 + 0.2 * X + WOBBLE):
        (_, b0), covariance = np.polyfit(X[:, 0], y[:, 0], 1, cov=True)
        found = free_intercept(fit(X, y, "line_through_zero"))
        assert float(found.b0[0]) == pytest.approx(b0, rel=1e-9)
        expected = float(stats.t.ppf(0.975, 10)) * covariance[1, 1] ** 0.5
        assert float(found.half_width[0]) == pytest.approx(expected, rel=1e-9)
        assert bool(found.contains_zero[0]) == (abs(b0) <= expected)


def test_rounding_alone_makes_no_intercept() -> None:
    x = column([0.1, 0.3, 0.7, 1.1])
    found = free_intercept(fit(x, 3.3 * x, "line_through_zero"))
    assert bool(found.contains_zero[0])


@pytest.mark.parametrize(("x", "fault"), [([1.0, 1.0, 1.0], "x_not_spread"), ([0.0, 1.0], "too_few_points")])
def test_no_free_line_no_intercept(x: list[float], fault: str) -> None:
    found = free_intercept(fit(column(x), column([0.5 * one + 0.01 for one in x]), "line_through_zero"))
    assert found.faults == (fault,)
    assert not bool(found.contains_zero[0])
    assert np.isnan(found.half_width[0])


def test_runs_of_signs_against_every_order_there_is() -> None:
    for above, below in ((1, 3), (3, 4), (4, 5), (5, 5)):
        every = [[1.0 if place in up else -1.0 for place in range(above + below)] for up in _ups(above, below)]
        found = [sign_runs(order) for order in every]
        for one in found:
            fewer = sum(other.runs <= one.runs for other in found)
            more = sum(other.runs >= one.runs for other in found)
            assert one.probability == min(Fraction(1), Fraction(2 * min(fewer, more), len(every)))
            assert one.exceeded == (one.probability <= Fraction(1, 20))


def _ups(above: int, below: int) -> list[tuple[int, ...]]:
    return list(combinations(range(above + below), above))


def test_runs_of_signs_by_hand() -> None:
    found = sign_runs([0.1, 0.2, 0.0, 0.3, 0.1, -0.1, -0.2, -0.1, -0.3, -0.1])
    assert (found.above, found.below, found.runs, found.few, found.many) == (4, 5, 2, 2, 9)
    assert found.exceeded
    assert found.probability == Fraction(4, 126)
    assert not sign_runs([1.0, -1.0, 1.0, 1.0, -1.0, -1.0, 1.0, -1.0, -1.0]).exceeded
    assert sign_runs([1.0, -1.0] * 5).exceeded, "too many are as far from chance as too few"


@pytest.mark.parametrize("residuals", [[], [0.0, 0.0], [1.0, 2.0, 3.0], [1.0, -1.0] * 4])
def test_few_signs_are_never_beyond_chance(residuals: list[float]) -> None:
    found = sign_runs(residuals)
    assert (found.few, found.many, found.exceeded) == (None, None, False)


sensible = st.lists(st.floats(-1e6, 1e6).map(lambda value: round(value, 4)), min_size=2, max_size=30)


@settings(deadline=None, max_examples=100)
@given(sensible)
def test_mean_and_sd_against_exact_rationals(values: list[float]) -> None:
    """Python's statistics module works in exact fractions."""
    found = statistics(column(values))
    scale = max(abs(value) for value in values) or 1.0
    assert abs(float(found.mean[0]) - mean(values)) <= 1e-14 * scale
    assert abs(float(found.sd[0]) - stdev(values)) <= 1e-12 * scale


@settings(deadline=None, max_examples=50)
@given(sensible)
def test_statistics_of_a_column_do_not_depend_on_company(values: list[float]) -> None:
    alone, company = statistics(column(values)), statistics(np.repeat(column(values), 5, axis=1))
    assert {value.hex() for value in company.sd.tolist()} == {float(alone.sd[0]).hex()}
    assert {value.hex() for value in company.mean.tolist()} == {float(alone.mean[0]).hex()}


def test_equal_values_have_no_spread_to_the_last_bit() -> None:
    found = statistics(column([0.1, 0.1, 0.1]))
    assert (float(found.mean[0]), float(found.sd[0])) == (0.1, 0.0)
    assert np.isnan(lag1_autocorrelation(column([0.1, 0.1, 0.1]))[0])


def test_undefined_figures_are_not_numbers() -> None:
    assert np.isnan(statistics(column([3.0])).sd[0])
    assert np.isnan(rsd_percent(statistics(column([-1.0, 1.0])))[0])
    assert float(rsd_percent(statistics(column([-1.0, -3.0])))[0]) == pytest.approx(100 * 2**0.5 / 2)


def test_pooled_and_duplicate_sd() -> None:
    s, df = pooled_sd(column([1.0, 2.0]), column([3.0, 5.0]))
    assert float(s[0]) == pytest.approx(3**0.5)
    assert float(df[0]) == 6.0
    pairs = sd_of_duplicates(column([1.0, 5.0]), column([2.0, 5.0]))
    assert float(pairs[0]) == pytest.approx(0.5)


def test_grubbs_against_the_t_of_the_suspect() -> None:
    """Deleting the suspect and testing it against the rest is the same test, at alpha/2n."""
    values = [10.0, 10.2, 9.9, 10.1, 10.0, 11.3]
    found = grubbs(values)
    assert isinstance(found, OutlierTest)
    rest = values[:-1]
    t = (11.3 - mean(rest)) / (stdev(rest) * (1 + 1 / 5) ** 0.5)
    assert found.flagged == (t > stats.t.ppf(1 - 0.05 / 12, 4))
    assert (found.flagged, found.index) == (True, 5)


@pytest.mark.parametrize(
    ("values", "index"),
    [
        pytest.param([1.0, 2.0, 3.0, 9.0], 3, id="high"),
        pytest.param([-9.0, 1.0, 2.0, 3.0], 0, id="low"),
        pytest.param([3.0, 1.0, 2.0], 0, id="a tie goes to the first place"),
        pytest.param([1.0, 3.0, 2.0], 0, id="a tie goes to the first place, low"),
    ],
)
def test_the_suspect(values: list[float], index: int) -> None:
    for test in (grubbs, dixon):
        found = test(values)
        assert isinstance(found, OutlierTest)
        assert found.index == index


@pytest.mark.parametrize(
    ("values", "alpha", "sides", "why"),
    [
        ([1.0, 2.0], 0.05, 2, "too_few"),
        ([float(n) for n in range(11)], 0.05, 2, "too_many"),
        ([1.0, 1.0, 1.0], 0.05, 2, "no_spread"),
        ([1.0, 2.0, 4.0], 0.02, 2, "alpha_not_tabled"),
        ([1.0, 2.0, 4.0], 0.01, 1, "alpha_not_tabled"),
    ],
)
def test_dixon_refuses(values: list[float], alpha: float, sides: int, why: str) -> None:
    assert dixon(values, alpha, cast("Sides", sides)) == why


def test_dixon_one_sided_reads_the_two_sided_column_of_twice_alpha() -> None:
    one, two = dixon([1.0, 2.0, 9.0], 0.05, 1), dixon([1.0, 2.0, 9.0], 0.10, 2)
    assert one == two
    assert isinstance(one, OutlierTest)
    assert one.critical == 0.941


@pytest.mark.parametrize("alpha", [0.05, 0.01, 1e-6, 1e-8, 1e-10, 1e-12])
@pytest.mark.parametrize("n", [3, 4, 7, 20])
@pytest.mark.parametrize("sides", [1, 2])
def test_critical_values_of_grubbs_hold_for_tails_of_any_size(alpha: float, n: int, sides: int) -> None:
    """(n-1)/sqrt(n) sqrt(t2/(n-2+t2)), t by the survival function of scipy, which keeps its digits in the tail."""
    t = float(stats.t.isf(alpha / (sides * n), n - 2))
    due = (n - 1) / n**0.5 * (t * t / (n - 2 + t * t)) ** 0.5
    assert grubbs_critical(n, alpha, cast("Sides", sides)) == pytest.approx(due, rel=1e-6)


@pytest.mark.parametrize(
    ("values", "index"),
    [
        pytest.param([5.0, 1.0, 2.0, 3.0, 4.0], 0, id="both gaps equal: the first place, which is the highest"),
        pytest.param([2.0, 1.0, 5.0, 3.0, 4.0], 1, id="both gaps equal: the first place, which is the lowest"),
        pytest.param([2.0, 9.0, 1.0, 3.0], 1, id="the higher gap"),
        pytest.param([7.0, 9.0, 1.0, 8.0], 2, id="the lower gap"),
    ],
)
def test_the_suspect_of_dixon_has_the_wider_gap(values: list[float], index: int) -> None:
    found = dixon(values)
    assert isinstance(found, OutlierTest)
    order = sorted(values)
    assert found.index == index
    gap = max(order[1] - order[0], order[-1] - order[-2])
    assert found.statistic == pytest.approx(gap / (order[-1] - order[0]), rel=1e-15)


@pytest.mark.parametrize(("n", "critical"), [(3, 0.970), (4, 0.829), (7, 0.568), (10, 0.466)])
def test_dixon_takes_the_critical_value_of_its_number_of_values(n: int, critical: float) -> None:
    """Rorabacher 1991, two-sided 5 %, as printed in Harvey, appendix 6."""
    found = dixon([float(place) for place in range(n - 1)] + [100.0])
    assert isinstance(found, OutlierTest)
    assert (found.critical, found.index) == (critical, n - 1)
    assert found.flagged is (found.statistic > critical)


def test_tails_of_runs_begin_where_counting_every_order_says() -> None:
    """Six signs of each kind: 924 orders. Too few, and too many, are at most 2.5 % of them from either end."""
    counts = Counter(len([*groupby(place in above for place in range(12))]) for above in combinations(range(12), 6))
    assert sum(counts.values()) == 924
    few = max(runs for runs in counts if sum(counts[one] for one in counts if one <= runs) <= 0.025 * 924)
    many = min(runs for runs in counts if sum(counts[one] for one in counts if one >= runs) <= 0.025 * 924)
    found = sign_runs([1.0, -1.0] * 6)
    assert (found.few, found.many, found.runs) == (few, many, 12)
    assert (few, many) == (3, 11)
