"""Detection limits: the rules for blanks, closed forms against their definitions, refusals."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from benchseal.compute.arrays import column
from benchseal.compute.fit import fit
from benchseal.compute.limits import (
    LineLimits,
    MethodDetectionLimit,
    blank_limits,
    line_limits,
    method_detection_limit,
    pooled_detection_limit,
    scaled_limit,
)
from benchseal.compute.outliers import grubbs_critical
from benchseal.compute.quantiles import t_noncentrality, t_quantile

SPIKED = [1.0, 1.1, 0.9, 1.05, 0.95, 1.0, 1.02]


def mdl(blanks: list[float | None]) -> MethodDetectionLimit:
    found = method_detection_limit(SPIKED, blanks)
    assert isinstance(found, MethodDetectionLimit)
    return found


def test_t_follows_the_number_of_results() -> None:
    more = method_detection_limit([*SPIKED, 1.01])
    assert isinstance(more, MethodDetectionLimit)
    assert (round(mdl([]).t, 3), round(more.t, 3)) == (3.143, 2.998)


@pytest.mark.parametrize(
    ("blanks", "limit"),
    [
        pytest.param([0.1, 0.2, 0.3], 0.2 + t_quantile(0.99, 2) * 0.1, id="all give numbers"),
        pytest.param([-0.3, -0.2, -0.1], t_quantile(0.99, 2) * 0.1, id="a negative mean counts as zero"),
        pytest.param([0.1, None, 0.7], 0.7, id="some give none: the highest"),
        pytest.param([None, None], None, id="none gives a number: no limit from blanks"),
        pytest.param([], None, id="no blanks"),
    ],
)
def test_blanks(blanks: list[float | None], limit: float | None) -> None:
    found = mdl(blanks)
    assert found.mdl_blank == (None if limit is None else pytest.approx(limit, rel=1e-12))
    assert not isinstance(found.mdl_blank, str)
    assert found.mdl == max(found.mdl_spiked, found.mdl_blank or 0.0)


def test_many_blanks_take_the_99th_percentile_by_rank() -> None:
    """164 blanks: 162.36 rounds to the 162nd (40 CFR 136 appendix B, from memory)."""
    numbers: list[float | None] = [1.5, 1.7, 1.9, 5.0, 10.0]
    none: list[float | None] = [None]
    assert mdl(none * 159 + numbers).mdl_blank == 1.9
    assert mdl([*none * 199, 5.0]).mdl_blank is None  # the 198th of 200 gave no number


@pytest.mark.parametrize(
    ("spiked", "blanks", "why"),
    [
        pytest.param(SPIKED[:6], [], "too_few", id="six spiked samples"),
        pytest.param([1.0] * 7, [], "no_spread", id="a limit of zero is not claimed"),
    ],
)
def test_mdl_refuses(spiked: list[float], blanks: list[float | None], why: str) -> None:
    assert method_detection_limit(spiked, blanks) == why


def test_a_single_blank_leaves_the_limit_of_the_spiked_samples() -> None:
    found = mdl([0.1])
    assert (found.mdl, found.mdl_blank) == ("too_few", "too_few")
    assert found.mdl_spiked == mdl([]).mdl_spiked > 0


def test_pooled_refuses() -> None:
    assert pooled_detection_limit([0.1], [1]) == "too_few"
    assert pooled_detection_limit([], []) == "too_few"
    assert pooled_detection_limit([0.0, 0.0], [7, 7]) == "no_spread"


X = column([0.05, 0.10, 0.15, 0.20, 0.25, 0.30])
Y = 2.0 + 30.0 * X + column([0.1, -0.1, 0.05, 0.0, -0.1, 0.05])


@pytest.mark.parametrize(("m", "k", "alpha", "beta"), [(1, 3.0, 0.01, 0.01), (3, 2.0, 0.05, 0.10)])
def test_line_limits_meet_their_definitions(m: int, k: float, alpha: float, beta: float) -> None:
    line = fit(X, Y, "line")
    found = line_limits(line, alpha, beta, m, k)
    assert isinstance(found, LineLimits)
    s, b1 = float(line.residual_sd[0]), float(line.coefficients[1, 0])
    sxx = float(np.sum((X - X.mean()) ** 2))
    root = np.sqrt(1 / m + 1 / 6 + float(X.mean()) ** 2 / sxx)
    assert found.decision == pytest.approx(s / b1 * stats.t.ppf(1 - alpha, 4) * root, rel=1e-10)
    assert found.detection - found.decision == pytest.approx(s / b1 * stats.t.ppf(1 - beta, 4) * root, rel=1e-10)
    x = found.quantification
    assert isinstance(x, float)
    again = k * s / b1 * stats.t.ppf(1 - alpha / 2, 4) * np.sqrt(1 / m + 1 / 6 + (x - float(X.mean())) ** 2 / sxx)
    assert x == pytest.approx(again, rel=1e-10)


def test_noncentrality_undoes_the_distribution() -> None:
    for df, probability in ((4, 0.01), (8, 0.05), (20, 0.5), (30, 0.9)):
        delta = t_noncentrality(2.5, df, probability)
        assert stats.nct.cdf(2.5, df, delta) == pytest.approx(probability, rel=1e-8)


def test_line_limits_refuse() -> None:
    noisy, noisier = column([1.0, 3.0, 2.5, 6.0, 4.0, 7.5]), column([1.0, 9.0, 2.0, 8.0, 3.0, 9.5])
    assert line_limits(fit(X, -Y, "line"), 0.01, 0.01) == "not_rising"
    assert line_limits(fit(X, 1 + 3 * X, "line"), 0.01, 0.01) == "no_spread"
    assert line_limits(fit(X[:2], Y[:2], "line"), 0.01, 0.01) == "not_fitted"
    assert line_limits(fit(X, noisier, "line"), 0.01, 0.01) == "slope_not_significant"
    found = line_limits(fit(X, noisy, "line"), 0.01, 0.01)
    assert isinstance(found, LineLimits)
    assert found.quantification == "no_quantification"


def test_limits_from_blanks_and_their_scaling() -> None:
    assert blank_limits(0.001, 0.2) == pytest.approx(0.015)
    assert blank_limits(0.001, 0.2, 10) == pytest.approx(0.05)
    assert blank_limits(0.0, 0.2) == "no_spread"
    assert blank_limits(0.001, 0.0) == "not_rising"
    assert scaled_limit(0.01, 10, 50, 0.5) == pytest.approx(10.0)


def test_a_tail_too_small_for_one_minus_it_has_its_critical_value() -> None:
    """Student t by scipy, asked from its upper end."""
    n, alpha = 9732, 1e-12
    t = float(stats.t.isf(alpha / (2 * n), n - 2))
    due = (n - 1) / n**0.5 * (t * t / (n - 2 + t * t)) ** 0.5
    assert grubbs_critical(n, alpha, 2) == pytest.approx(due, rel=1e-6)


@pytest.mark.parametrize(("numbers", "blanks", "found"), [(5, 100, 5.0), (5, 101, 4.0), (3, 150, 2.0), (1, 150, None)])
def test_up_to_a_hundred_blanks_the_highest_counts_and_beyond_the_99th_percentile(
    numbers: int, blanks: int, found: float | None
) -> None:
    """40 CFR 136 appendix B, revision 2 (secondary): ranks 0.99 x 101 = 100 and 0.99 x 150 = 149 to the nearest.

    Blanks without a number rank lowest: of 101 with 5 numbers the 100th is the fourth of them.
    """
    given = [*(float(one) for one in range(1, numbers + 1)), *([None] * (blanks - numbers))]
    limit = method_detection_limit([1.0, 1.1, 0.9, 1.05, 0.95, 1.0, 1.02], given)
    assert isinstance(limit, MethodDetectionLimit)
    assert limit.mdl_blank == found


@pytest.mark.parametrize(
    ("model", "weighting"), [("quadratic", "none"), ("line", "1/x"), ("line_through_zero", "none")]
)
def test_limits_of_a_line_belong_to_an_unweighted_line(model: Any, weighting: Any) -> None:  # noqa: ANN401  words
    """To ask for others is a fault of the program."""
    with pytest.raises(AssertionError, match="unweighted line with intercept"):
        line_limits(fit(X + 1, Y + 1, model, weighting), 0.01, 0.01)
