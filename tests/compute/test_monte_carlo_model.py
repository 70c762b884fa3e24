"""A measurement on one curve, draw by draw: the same numbers of the same generator put into its formulas by hand."""

from __future__ import annotations

from math import inf, sqrt
from typing import TYPE_CHECKING, cast

import numpy as np
import pytest
from numpy.random import PCG64, Generator
from scipy import stats

from benchseal.compute.arrays import column
from benchseal.compute.fit import fit
from benchseal.compute.monte_carlo import Uncertain
from benchseal.compute.monte_carlo_model import Measured, Reading, Sample, Total, lower_root, measured

if TYPE_CHECKING:
    from benchseal.compute.content import BlankWas

X = [0.0, 1, 2, 3, 4, 5]
LINE, BENT = [0.001, 0.19, 0.41, 0.60, 0.79, 1.01], [0.001, 0.21, 0.39, 0.55, 0.68, 0.79]
N = 300


def source() -> Generator:
    return Generator(PCG64(9))


@pytest.mark.parametrize("blank_was", ["undiluted", "same_dilution"])
def test_a_content_on_a_line(blank_was: str) -> None:
    """Chi-square first, then both coefficients, the reading, and each input in its order."""
    line = fit(column(X), column(LINE), "line")
    given = Sample(
        cast("BlankWas", blank_was), Uncertain(0.1, 0.01), Uncertain(10.0, 0.2, "triangular"),
        Uncertain(50.0, 0.5, "rectangular"), Uncertain(0.5, 0.004), Uncertain(0.1, 0.01),
        Uncertain(0.9, 0.03, "student", 5.0), Uncertain(1.0, 0.01),
    )  # fmt: skip
    found = measured(line, Reading(0.5, 3, float("nan")), given)
    assert isinstance(found, Measured)
    by = source()
    slope, intercept = np.polyfit(X, LINE, 1)
    s = sqrt(((np.array(LINE) - intercept - slope * np.array(X)) ** 2).sum() / 4)
    design = np.stack([np.ones(6), X])
    root = np.linalg.cholesky(np.linalg.inv(design @ design.T) * s * s)
    t = np.sqrt(4 / by.chisquare(4, N))
    moved = root @ np.array([by.standard_normal(N), by.standard_normal(N)])
    b0, b1 = intercept + t * moved[0], slope + t * moved[1]
    c = (0.5 + t * s / sqrt(3) * by.standard_normal(N) - b0) / b1
    blank = 0.1 + 0.01 * by.standard_normal(N)
    dilution = 10 + 0.2 * sqrt(6) * (by.random(N) + by.random(N) - 1)
    volume = 50 + 0.5 * sqrt(3) * (2 * by.random(N) - 1)
    mass = 0.5 + 0.004 * by.standard_normal(N)
    moisture = 0.1 + 0.01 * by.standard_normal(N)
    recovery = 0.9 + 0.03 * by.standard_t(5, N)
    standards = 1 + 0.01 * by.standard_normal(N)
    net = c * dilution - blank if blank_was == "undiluted" else (c - blank) * dilution
    due = net * volume / (mass * (1 - moisture) * recovery) * standards
    np.testing.assert_allclose(found.values(N, source()), due, rtol=1e-10)


def test_a_reading_on_a_quadratic_and_on_a_line_through_zero() -> None:
    for model, y, powers in (("quadratic", BENT, (0, 1, 2)), ("line_through_zero", LINE, (1,))):
        curve = fit(column(X), column(y), model)  # type: ignore[arg-type]
        found = measured(curve, Reading(0.5, 2, float("nan")), Sample())
        assert isinstance(found, Measured)
        by, df = source(), 6 - len(powers)
        design = np.stack([np.array(X) ** power for power in powers])
        b = np.linalg.solve(design @ design.T, design @ np.array(y))
        s = sqrt(((np.array(y) - b @ design) ** 2).sum() / df)
        root = np.linalg.cholesky(np.linalg.inv(design @ design.T) * s * s)
        t = np.sqrt(df / by.chisquare(df, N))
        moved = b[:, None] + t * (root @ np.array([by.standard_normal(N) for _ in powers]))
        signal = 0.5 + t * s / sqrt(2) * by.standard_normal(N)
        if model == "quadratic":
            b0, b1, b2 = moved
            due = (-b1 + np.sqrt(b1 * b1 - 4 * b2 * (b0 - signal))) / (2 * b2)
        else:
            due = signal / moved[0]
        np.testing.assert_allclose(found.values(N, source()), due, rtol=1e-8)


def test_a_sum_adds_its_terms_from_first_to_last() -> None:
    total = Total((Uncertain(2.0, 0.1), Uncertain(-3.0, 0.2, "rectangular"), Uncertain(0.5)))
    by = source()
    due = 2 + 0.1 * by.standard_normal(N) - 3 + 0.2 * sqrt(3) * (2 * by.random(N) - 1) + 0.5
    np.testing.assert_allclose(total.values(N, source()), due, rtol=1e-12)
    found = total.estimate()
    assert found.value == -0.5
    assert found.u == pytest.approx(sqrt(0.05), rel=1e-14)
    assert found.interval is not None
    assert list(found.interval) == pytest.approx(
        [-0.5 - 1.959963984540054 * found.u, -0.5 + 1.959963984540054 * found.u]
    )


@pytest.mark.parametrize(("df", "k"), [(0.99, None), (1.0, stats.t.ppf(0.975, 1)), (2.5, stats.t.ppf(0.975, 2))])
def test_from_one_degree_of_freedom_on_there_is_an_interval(df: float, k: float | None) -> None:
    """Degrees of freedom are cut downwards: 2.5 has the factor of 2."""
    found = Total((Uncertain(1.0, 0.5, "student", df),)).estimate()
    assert (found.k is None, found.interval is None) == (k is None, k is None)
    if k is not None:
        assert found.k == pytest.approx(k, rel=1e-9)
        assert found.interval is not None
        assert list(found.interval) == pytest.approx([1 - k * 0.5, 1 + k * 0.5], rel=1e-9)
        assert found.df < inf


def test_recovery_and_standards_move_the_estimate_relative_to_themselves() -> None:
    """v = c standards/recovery on a line whose weights are known: u of each by hand, also of a value below zero."""
    known = fit(column(X), column(LINE), "line", "given", weights=column([1e12] * 6), variance="known")
    for blank in (0.0, 20.0):
        sample = Sample(blank=Uncertain(blank), recovery=Uncertain(0.8, 0.04), standards=Uncertain(2.0, 0.1))
        found = measured(known, Reading(0.5, 1, 1e12), sample)
        assert isinstance(found, Measured)
        told = found.estimate()
        net = float(found.found.x[0, 0]) - blank
        assert told.value == pytest.approx(net * 2 / 0.8, rel=1e-12)
        assert told.u == pytest.approx(abs(told.value) * sqrt(0.05**2 + 0.05**2), rel=1e-6)
        assert told.df == inf


def test_the_root_of_a_covariance_multiplies_back_to_it_whatever_its_scales() -> None:
    spread = np.array([[4e20, 1e10, 2e-3], [1e10, 1.0, 3e-13], [2e-3, 3e-13, 9e-25]])
    root = np.zeros((3, 3))
    for place, row in enumerate(lower_root(spread)):
        root[place, : len(row)] = row
    np.testing.assert_allclose(root @ root.T, spread, rtol=1e-12)
    assert [len(row) for row in lower_root(spread)] == [1, 2, 3]


def test_what_does_not_vary_has_no_part_in_the_root() -> None:
    """The first is exactly known; the last two vary as one."""
    spread = np.array([[0.0, 0.0, 0.0], [0.0, 4.0, 6.0], [0.0, 6.0, 9.0]])
    assert lower_root(spread) == [[0.0], [0.0, 2.0], [0.0, 3.0, 0.0]]
    same = np.array([[1.0, 1.0, 0.5], [1.0, 1.0, 0.5], [0.5, 0.5, 1.0]])
    assert lower_root(same) == [[1.0], [1.0, 0.0], [0.5, 0.0, pytest.approx(sqrt(0.75))]]
