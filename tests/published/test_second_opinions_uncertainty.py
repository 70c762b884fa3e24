"""Propagated uncertainties, quantiles and critical values against uncertainties, GTC, scipy.stats and closed forms.

Inputs here are invented and seeded; the source of each formula stands with its test.
"""

from __future__ import annotations

from math import atan, cos, inf, pi, sin, sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from GTC import dof, ureal
from GTC import uncertainty as gtc_uncertainty
from scipy import stats
from uncertainties import ufloat

from benchseal.compute.outliers import grubbs_critical
from benchseal.compute.quantiles import f_quantile, f_tail, t_quantile

from .published import calc, digits, figures

if TYPE_CHECKING:
    from uncertainties.core import AffineScalarFunc

SEEDS = range(20)
DFS = (1, 2, 3, 4, 5, 6, 9, 13, 18, 34, 71, 200)
PROBABILITIES = (0.9, 0.95, 0.975, 0.99, 0.995, 0.9995)
NAMES = ("solution", "blank", "dilution", "volume", "mass", "moisture")


def portion(seed: int) -> dict[str, float]:
    """A portion and its standard uncertainties as somebody would type them."""
    rng = np.random.default_rng(seed)
    drawn: dict[str, tuple[float, float]] = {
        "solution": (rng.uniform(0.05, 2.0), rng.uniform(0.001, 0.03)),
        "blank": (rng.uniform(0.0, 0.05), rng.uniform(0.0005, 0.005)),
        "dilution": (float(rng.choice([1, 5, 10, 25])), rng.uniform(0.001, 0.05)),
        "volume": (float(rng.choice([25, 50, 100])), rng.uniform(0.02, 0.1)),
        "mass": (rng.uniform(0.1, 1.0), rng.uniform(0.0001, 0.001)),
        "moisture": (rng.uniform(0.01, 0.3), rng.uniform(0.001, 0.01)),
    }
    keys = dict(
        zip(
            NAMES,
            ("solution_mg_per_l", "blank_mg_per_l", "dilution", "volume_ml", "mass_g", "moisture_fraction"),
            strict=True,
        )
    )
    found = {keys[name]: round(float(number), 6) for name, (number, _) in drawn.items()}
    return found | {f"u_{name}": round(float(u), 6) for name, (_, u) in drawn.items()}


def propagated(asked: dict[str, float], blank_was: str) -> tuple[AffineScalarFunc, dict[str, Any]]:
    """The measurement model written down again, in numbers that carry their uncertainty."""
    c, blank, dilution, volume, mass, moisture = (
        ufloat(asked[key], asked[f"u_{name}"]) for key, name in zip(list(asked)[:6], NAMES, strict=True)
    )
    net = c * dilution - blank if blank_was == "undiluted" else (c - blank) * dilution
    inputs = dict(zip(NAMES, (c, blank, dilution, volume, mass, moisture), strict=True))
    return net * volume / mass / (1 - moisture), inputs


@pytest.mark.parametrize("blank_was", ["undiluted", "same_dilution"])
@pytest.mark.parametrize("seed", SEEDS)
def test_uncertainties_propagates_a_content_to_the_same_value(seed: int, blank_was: str) -> None:
    """w = net volume/(mass (1 - moisture)); JCGM 100, 5.1.2. The two ways to take off a blank differ."""
    asked = portion(seed)
    found = calc(kind="content", blank_was=blank_was, **asked)
    theirs, inputs = propagated(asked, blank_was)
    assert digits(found["mg_per_kg"], theirs.nominal_value) >= 13
    assert digits(found["u"], theirs.std_dev) >= 12
    parts = theirs.error_components()
    for name, variable in inputs.items():
        assert digits(found["shares_percent"][name], 100 * (parts[variable] / theirs.std_dev) ** 2) >= 11


def test_a_content_near_zero_keeps_the_uncertainty_of_its_difference() -> None:
    """Relative uncertainties added in quadrature would give nothing where sample and blank are alike."""
    asked = portion(1) | {"solution_mg_per_l": 0.02, "blank_mg_per_l": 0.02, "dilution": 1.0}
    theirs, _ = propagated(asked, "undiluted")
    found = calc(kind="content", blank_was="undiluted", **asked)
    assert found["mg_per_kg"] == 0
    assert found["u"] > 0.1
    assert digits(found["u"], theirs.std_dev) >= 12


@pytest.mark.parametrize("seed", SEEDS)
def test_a_sum_of_independent_terms(seed: int) -> None:
    """uncertainties for the sum of squares, GTC for the effective degrees of freedom (JCGM 100, G.4)."""
    rng = np.random.default_rng([seed, 4])
    us = [round(float(u), 6) for u in rng.uniform(0.001, 0.05, int(rng.integers(2, 7)))]
    dfs = [inf if rng.random() < 0.3 else int(rng.integers(3, 40)) for _ in us]
    dfs[0] = 5
    terms = [
        {"name": f"t{place}", "u": u} | ({} if df == inf else {"df": df})
        for place, (u, df) in enumerate(zip(us, dfs, strict=True))
    ]
    found = calc(kind="uncertainty", terms=terms)
    total = sum(ufloat(0.0, u) for u in us)
    theirs = sum(ureal(0.0, u, df) for u, df in zip(us, dfs, strict=True))
    assert digits(found["u"], total.std_dev) >= 13
    assert digits(found["u"], gtc_uncertainty(theirs)) >= 13
    assert digits(found["df_before_truncation"], dof(theirs)) >= 11
    assert found["df_effective"] == int(dof(theirs) * (1 + 1e-9))
    assert digits(found["k"], float(stats.t.ppf(0.975, found["df_effective"]))) >= 11
    assert digits(found["expanded"], found["k"] * found["u"]) >= 15


def test_effective_degrees_of_freedom_of_the_end_gauge() -> None:
    """JCGM 100, H.1, from unrounded intermediate figures: GTC gives 31.67 nm with 16.75."""
    data = figures("gum_effective_df")["h1"]
    d = sum(ureal(0.0, float(u), df) for u, df in zip(data["comparison"]["u"], data["comparison"]["df"], strict=True))
    terms = [(25.0, 18.0), (gtc_uncertainty(d), dof(d)), (2.9, 50.0), (16.6, 2.0)]
    found = calc(kind="uncertainty", terms=[{"name": f"t{i}", "u": u, "df": df} for i, (u, df) in enumerate(terms)])
    length = d + ureal(0.0, 25.0, 18) + ureal(0.0, 2.9, 50) + ureal(0.0, 16.6, 2)
    assert digits(found["u"], gtc_uncertainty(length)) >= 13
    assert digits(found["df_before_truncation"], dof(length)) >= 12
    assert (round(found["u"], 2), round(found["df_before_truncation"], 2)) == (31.67, 16.75)


def t_below(t: float, df: int) -> float:
    """Student t's distribution at t > 0 as a finite series (Abramowitz and Stegun, 26.7.3 and 26.7.4, from memory)."""
    angle = atan(t / sqrt(df))
    power, total = (cos(angle), cos(angle)) if df % 2 else (1.0, 1.0)
    for j in range(3 if df % 2 else 2, df - 1, 2):
        power *= cos(angle) ** 2 * (j - 1) / j
        total += power
    series = sin(angle) * total if df > 1 else 0.0
    return (1 + (2 / pi * (angle + series) if df % 2 else series)) / 2


@pytest.mark.parametrize("df", DFS)
def test_student_t_solves_its_closed_form(df: int) -> None:
    """For whole degrees of freedom the distribution is a finite series; scipy.stats agrees too."""
    for probability in PROBABILITIES:
        found = t_quantile(probability, df)
        assert digits(1 - t_below(found, df), 1 - probability) >= 9
        assert digits(found, float(stats.t.ppf(probability, df))) >= 11


@pytest.mark.parametrize("df2", DFS)
def test_f_with_one_or_two_degrees_of_freedom_is_known_in_closed_form(df2: int) -> None:
    """F(1, n) is the square of t; of F(2, n) the tail is (1 + 2 F/n)^(-n/2). Mandel's test uses the first."""
    for probability in PROBABILITIES:
        assert digits(f_quantile(probability, 1, df2), t_quantile((1 + probability) / 2, df2) ** 2) >= 9
        second = df2 / 2 * ((1 - probability) ** (-2 / df2) - 1)
        assert digits(f_quantile(probability, 2, df2), second) >= 9
        assert digits(f_tail(second, 2, df2), 1 - probability) >= 11
        for df1 in (3, 4, 18):
            assert digits(f_quantile(probability, df1, df2), float(stats.f.ppf(probability, df1, df2))) >= 9


@pytest.mark.parametrize("n", [3, 4, 5, 8, 10, 20, 40, 100])
@pytest.mark.parametrize("sides", [1, 2])
def test_grubbs_critical_value_from_scipy(n: int, sides: int) -> None:
    """NIST e-Handbook 1.3.5.17.1, with the upper tail of scipy.stats in place of a quantile; and through ``calc``."""
    for alpha in (0.05, 0.01):
        t = float(stats.t.isf(alpha / (sides * n), n - 2))
        expected = (n - 1) / sqrt(n) * sqrt(t * t / (n - 2 + t * t))
        assert digits(grubbs_critical(n, alpha, 1 if sides == 1 else 2), expected) >= 11
        values = [str(place * place % 17) for place in range(1, n + 1)]
        found = calc(kind="outlier", test="grubbs", values=values, alpha=alpha, sides=sides)
        assert digits(found["critical"], expected) >= 11


def test_grubbs_rejects_as_often_as_it_says() -> None:
    """40 000 samples of 8 normal values: at two-sided 5 % it rejects 5 %, within five standard errors (0.55 %)."""
    drawn = np.random.default_rng(20260307).normal(size=(40_000, 8))
    away = np.abs(drawn - drawn.mean(axis=1, keepdims=True)).max(axis=1) / drawn.std(axis=1, ddof=1)
    assert abs(float(np.mean(away > grubbs_critical(8, 0.05, 2))) - 0.05) < 5 * sqrt(0.05 * 0.95 / 40_000)


@pytest.mark.parametrize("beta", [0.01, 0.05])
@pytest.mark.parametrize("alpha", [0.01, 0.05])
def test_detection_limit_by_the_noncentral_t(alpha: float, beta: float) -> None:
    """ISO 11843-2 (from memory): at the detection limit a share beta of results stays below the decision limit.

    Share by the noncentral t of scipy.stats, on the DIN 32645 example.
    """
    data = figures("detection_limit_examples")["din32645"]
    found = calc(kind="detection_limit", rule="calibration_line", x=data["x"], y=data["y"], alpha=alpha, beta=beta)
    t = float(stats.t.ppf(1 - alpha, len(data["x"]) - 2))
    shift = t * found["detection_limit_noncentral"] / found["decision_limit"]
    assert digits(float(stats.nct.cdf(t, len(data["x"]) - 2, shift)), beta) >= 8


def test_quantification_limit_solves_its_equation() -> None:
    """DIN 32645: x_Q = k (s/b1) t sqrt(1/m + 1/n + (x_Q - mean)^2/Sxx), put in again; k = 2 and 3, m = 1 and 5."""
    data = figures("detection_limit_examples")["din32645"]
    x = data["x"]
    line = calc(kind="calibration", model="line", x=x, y=data["y"])
    middle = sum(x) / len(x)
    sxx = sum((one - middle) ** 2 for one in x)
    for k, m in ((2, 1), (3, 1), (3, 5)):
        found = calc(kind="detection_limit", rule="calibration_line", x=x, y=data["y"], k=k, m=m)
        limit = found["quantification_limit"]
        t = float(stats.t.ppf(0.995, len(x) - 2))
        width = sqrt(1 / m + 1 / len(x) + (limit - middle) ** 2 / sxx)
        assert digits(limit, k * line["residual_sd"] / line["coefficients"][1] * t * width) >= 11
