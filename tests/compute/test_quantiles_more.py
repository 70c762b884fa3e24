"""Noncentrality against an independent distribution; the normal as the limit of Student's."""

from __future__ import annotations

from math import inf

import pytest
from scipy import integrate, stats

from benchseal.compute.quantiles import normal_quantile, t_noncentrality, t_quantile


def noncentral_below(statistic: float, df: float, shift: float) -> float:
    """P(T <= t) = E over the chi of P(Z <= t chi/sqrt(df) - shift): the definition, by quadrature."""

    def part(chi: float) -> float:
        below = stats.norm.cdf(statistic * chi / df**0.5 - shift)
        return float(below * stats.chi.pdf(chi, df))

    return float(integrate.quad(part, 0.0, inf)[0])


@pytest.mark.parametrize(
    ("statistic", "df", "probability"),
    [
        pytest.param(0.5, 5, 0.9, id="below zero for a small statistic"),
        pytest.param(2.0, 3, 0.999, id="far below the statistic"),
        pytest.param(0.2, 6, 0.999, id="the lower end of the search moves"),
        pytest.param(3.0, 4, 0.05, id="above the statistic"),
        pytest.param(3.0, 4, 0.001, id="far above the statistic"),
        pytest.param(-0.5, 5, 0.1, id="a statistic below zero"),
        pytest.param(-3.0, 4, 0.95, id="far below zero"),
        pytest.param(0.0, 7, 0.5, id="nothing"),
        pytest.param(0.0, 7, 0.01, id="from zero upwards"),
    ],
)
def test_noncentrality_gives_its_probability_back(statistic: float, df: float, probability: float) -> None:
    found = t_noncentrality(statistic, df, probability)
    assert noncentral_below(statistic, df, found) == pytest.approx(probability, rel=1e-7, abs=1e-9)


@pytest.mark.parametrize("probability", [0.001, 0.05, 0.5, 0.975, 0.999])
def test_student_with_endless_degrees_of_freedom_is_the_normal(probability: float) -> None:
    assert t_quantile(probability, inf) == normal_quantile(probability)
