"""Kinds of ``calc`` beside runs against published figures, and against figures worked out another way."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from statistics import mean, stdev
from typing import Any

import numpy as np
import pytest
from scipy.stats import chi2

from benchseal.compute.control_chart import Limits, breaks

from .published import calc, case, digits, figures, table


def drawn_sum(shape: str, us: list[float]) -> dict[str, Any]:
    """The sum of inputs with mean 0, by a million draws."""
    terms = [{"name": f"X{n}", "value": 0, "u": u, "distribution": shape} for n, u in enumerate(us, 1)]
    return calc(kind="monte_carlo", measurement="sum", seed=20261125, draws=1_000_000, terms=terms)


@pytest.mark.parametrize("data", figures("calc_kinds")["jcgm_101_additive"]["cases"], ids=lambda data: data["clause"])
def test_additive_model_of_jcgm_101(data: dict[str, Any]) -> None:
    """JCGM 101:2008, 9.2 (from memory): +-3.92, +-3.88, +-17.0 by Monte Carlo; +-3.92, +-3.92, +-19.9 by the GUM."""
    found, end = drawn_sum(data["shape"], data["u"]), float(data["printed_end"])
    decimals = len(data["printed_end"].partition(".")[2])
    low, high = found["interval_symmetric"]
    rounded = 0.5 * 10**-decimals  # how far the printed end may be from the true one
    assert abs(low + end) < rounded + 3 * found["standard_error_ends"][0]
    assert abs(high - end) < rounded + 3 * found["standard_error_ends"][1]
    assert f"{found['gum']['interval'][1]:.{decimals}f}" == data["printed_gum_end"]
    assert abs(found["mean"]) < 4 * found["standard_error_mean"]
    assert found["sd"] == pytest.approx(sqrt(sum(u * u for u in data["u"])), rel=3e-3)
    assert (found["gum"]["df_effective"], found["validated"]) == ("infinite", data["validated"])


def test_ends_of_the_sum_of_four_rectangles_in_closed_form() -> None:
    """The upper tail of four equal rectangles is t^4/24 in units of a width: 3.8794 at 2.5 %. Worked out here."""
    exact = (2 - (24 * 0.025) ** 0.25) * 2 * sqrt(3)
    found = drawn_sum("rectangular", [1, 1, 1, 1])
    assert round(exact, 2) == 3.88
    for end, error in zip(found["interval_symmetric"], found["standard_error_ends"], strict=True):
        assert abs(abs(end) - exact) < 4 * error


def test_scatter_of_cadmium_by_aas() -> None:
    """Rocke and Lorenzato, Technometrics 37 (1995) 176, table 1: levels as recomputed, the function fits their scatter.

    Each (n - 1) s^2/fitted^2 is chi-square with 3 degrees of freedom: none of six lies beyond its 0.1 % ends. Near
    zero s0 is close to the blanks' own s; k is about a fortieth of the slope, 2.5 % of the signal.
    """
    data = case("rocke_lorenzato_cd_aas")
    found = calc(kind="variance_function", x=data["x"], y=data["y"])
    sds = data["recomputed"]["replicate_sd"]
    assert [digits(level["s"], sd) >= 12 for level, sd in zip(found["levels"], sds.values(), strict=True)] == [True] * 6
    ratios = [3 * (level["s"] / level["s_fitted"]) ** 2 for level in found["levels"]]
    assert all(0.001 < chi2.cdf(one, 3) < 0.999 for one in ratios)
    assert found["df"] == 18
    assert 0.25 < found["s0"] < 0.4
    assert found["k"] / data["recomputed"]["b1"] == pytest.approx(1 / 40, rel=0.15)


def test_scatter_of_cadmium_agrees_with_weights_iterated_to_rest() -> None:
    """The likeliest s0 and k solve sum df (s^2 - v)/v^2 (1, x^2) = 0, as weighted least squares of s^2 on x^2 does.

    Solved here by iterated weights, another way to the same equations.
    """
    data = case("rocke_lorenzato_cd_aas")
    x = np.array([float(one) for one in data["recomputed"]["replicate_sd"]])
    s2 = np.array(list(data["recomputed"]["replicate_sd"].values())) ** 2
    v, (constant, proportional) = np.full(6, s2.mean()), (0.0, 0.0)
    for _ in range(500):
        design = np.stack([np.ones(6), x * x], axis=1) / v[:, None]
        constant, proportional = np.linalg.lstsq(design, s2 / v, rcond=None)[0]
        v = constant + proportional * x * x
    found = calc(kind="variance_function", x=data["x"], y=data["y"])
    assert digits(found["s0"], float(sqrt(constant))) >= 9
    assert digits(found["k"], float(sqrt(proportional))) >= 9


def test_single_addition_of_epa_7000b() -> None:
    """EPA 7000B, 9.10.1: the formula (text read) on numbers invented for it."""
    data = figures("standard_addition_example")["single_addition_check"]
    found = calc(
        kind="single_addition", signal_with=data["S_A"], signal_without=data["S_B"], added_volume_ml=data["V_S_mL"],
        added_concentration=data["C_S_mg_L"], sample_volume_ml=data["V_x_mL"],
    )  # fmt: skip
    assert digits(found["concentration"], data["C_x"]) >= 14


def test_two_additions_are_a_single_one() -> None:
    """With only two different additions the line is the formula of EPA 7000B, 9.10.1, for equal volumes."""
    line = calc(kind="standard_addition", added=[0, 0, 1, 1], y=[0.198, 0.198, 0.412, 0.412])
    single = calc(
        kind="single_addition", signal_with=0.412, signal_without=0.198, added_volume_ml=1, added_concentration=1,
        sample_volume_ml=1,
    )  # fmt: skip
    assert digits(line["x"], single["concentration"]) >= 14


def test_correlation_of_silver_additions() -> None:
    """Miller and Miller, silver by standard additions (data from memory): r from statistics of its own."""
    data = figures("standard_addition_example")
    found = calc(kind="standard_addition", added=data["x_added"], y=data["y"], least_r=0.995, external_slope="0.0186")
    r = float(np.corrcoef(data["x_added"], data["y"])[0, 1])
    assert digits(found["r"], r) >= 12
    assert digits(found["r_squared"], r * r) >= 12
    assert (found["r_reached"], found["external_unsafe"]) == (True, False)


EDITION = {
    ("Cd", "inhalation"), ("Ni", "inhalation"), ("Ag", "parenteral"),
    ("Au", "oral"), ("Au", "parenteral"), ("Au", "inhalation"),
}  # fmt: skip


@pytest.mark.parametrize("row", table("limits/usp_232"), ids=lambda row: row["element"])
def test_limits_of_usp_232_are_those_of_q3d_for_10_g(row: dict[str, str]) -> None:
    """USP <232> table 3 is PDE/10 g, rounded down, but for elements whose PDE a later edition of ICH Q3D changed."""
    exposures = next(one for one in table("limits/ich_q3d_r2") if one["element"] == row["element"])
    for route in ("oral", "parenteral", "inhalation"):
        if (row["element"], route) not in EDITION:
            found = calc(
                kind="pde_limit", pde_ug_per_day=exposures[f"{route}_ug_per_day"], dose_g_per_day=10, route=route,
                decimals=1,
            )  # fmt: skip
            assert Fraction(found["limit_text"]) == Fraction(row[f"{route}_ug_per_g"]), route


def test_false_alarms_of_the_western_electric_rules() -> None:
    """Champ and Woodall, Technometrics 29 (1987) 393 (from memory): with all four rules once in 91.75 values.

    Normal values, mean and s known; 800 charts until their first break, within 4 standard errors.
    """
    rng, standard = np.random.default_rng(1987), Limits(Fraction(0), Fraction(1000), 0)
    lengths = []
    for _ in range(800):
        values: list[Fraction] = []
        while not breaks(values[-38:], standard, ["western_electric"]):  # no rule looks back more than 8 values
            values += [Fraction(int(one)) for one in np.rint(1000 * rng.standard_normal(30))]
        start, low, high = max(0, len(values) - 38), len(values) - 30, len(values)
        while high - low > 1:  # the shortest beginning that breaks a rule
            middle = (low + high) // 2
            broken = breaks(values[start:middle], standard, ["western_electric"])
            low, high = (low, middle) if broken else (middle, high)
        lengths.append(high)
    printed = figures("calc_kinds")["run_rules"]["mean_run_length"]
    assert abs(mean(lengths) - printed) < 4 * stdev(lengths) / sqrt(len(lengths))


def test_certified_cadmium_scores_by_hand() -> None:
    """E_n and zeta as ISO 13528 defines them (from memory), on QUAM's printed cadmium release 0.015 +- 0.0014."""
    found = calc(kind="score", value="0.015", u="0.0014", reference="0.018", u_reference="0.001")
    assert round(found["zeta"]["value"], 3) == -1.744
    assert round(found["e_n"]["value"], 3) == -0.872
    assert found["zeta"]["standing"] == found["e_n"]["standing"] == "acceptable"
