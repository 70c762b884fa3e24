"""Critical values without scipy, held against scipy and closed forms."""

from __future__ import annotations

from math import inf, pi, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from benchseal.compute.critical import f_critical, t_critical

DFS = (*range(1, 41), 60, 97, 1000, 9998)


@pytest.mark.parametrize("alpha", [0.05, 0.01])
@pytest.mark.parametrize("df1", [1, 2, 3, 4, 5, 7, 9, 17, 40, 997])
def test_f_agrees_with_scipy(alpha: float, df1: int) -> None:
    for df2 in DFS:
        assert f_critical(alpha, df1, df2) == pytest.approx(float(stats.f.isf(alpha, df1, df2)), rel=2e-12)


def test_t_agrees_with_scipy() -> None:
    for df in DFS:
        assert t_critical(0.05, float(df)) == pytest.approx(float(stats.t.isf(0.025, df)), rel=1e-12)
    assert t_critical(0.05, inf) == pytest.approx(float(stats.norm.isf(0.025)), rel=1e-14)


def test_t_with_one_degree_of_freedom_is_a_tangent() -> None:
    assert t_critical(0.05, 1.0) == pytest.approx(tan(pi / 2 * 0.95), rel=1e-13)


@settings(deadline=None, max_examples=60)
@given(st.floats(0.001, 0.5), st.integers(1, 200))
def test_f_with_two_degrees_of_freedom_is_a_power(alpha: float, df2: int) -> None:
    """The tail of F(2, n) is (1 + 2 F/n)^(-n/2)."""
    assert f_critical(alpha, 2, df2) == pytest.approx(df2 / 2 * (alpha ** (-2 / df2) - 1), rel=1e-11)


@settings(deadline=None, max_examples=60)
@given(st.floats(0.001, 0.5), st.integers(1, 60), st.integers(1, 60))
def test_turning_the_ratio_over_turns_the_tail_over(alpha: float, df1: int, df2: int) -> None:
    assert f_critical(alpha, df1, df2) * f_critical(1 - alpha, df2, df1) == pytest.approx(1, rel=1e-9)


@pytest.mark.parametrize(("alpha", "df1", "df2"), [(0.0, 1, 1), (1.0, 1, 1), (0.05, 0, 1), (0.05, 1, 0)])
def test_what_has_no_critical_value_is_a_fault_of_the_caller(alpha: float, df1: int, df2: int) -> None:
    with pytest.raises(AssertionError):
        f_critical(alpha, df1, df2)
