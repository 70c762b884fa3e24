"""``calc``, kinds beside runs: values by hand, boundaries in exact arithmetic, and what only some requests are told."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import log10, sqrt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from benchseal.compute.single_addition import Spiked, single_addition

from .asking import GOOD, X, Y, ask

BLANKS = ["0.001", "0.003", "0.002", "0.000", "0.004", "0.002", "0.001", "0.003", "0.002", "0.002"]
CURVE: dict[str, Any] = {"coefficients": [0.0, 0.2], "range_low": 0, "range_high": 2, "samples": [{"y": 0.15}]}


# ------------------------------------------------------------------ detection_limit


@pytest.mark.parametrize(("rule", "factor"), [("iupac", 3), ("ich", 3.3)])
def test_limits_from_blanks_are_factors_of_s_over_the_slope(rule: str, factor: float) -> None:
    found = ask("detection_limit", rule=rule, blank_signals=BLANKS, slope="0.2")
    s = sqrt(sum((float(one) - 0.002) ** 2 for one in BLANKS) / 9)
    assert found["s"] == pytest.approx(s, rel=1e-14)
    assert found["detection_limit"] == pytest.approx(factor * s / 0.2, rel=1e-14)
    assert found["quantification_limit"] == pytest.approx(10 * s / 0.2, rel=1e-14)
    assert found["detection_signal"] == pytest.approx(0.002 + factor * s, rel=1e-14)
    stated = ask("detection_limit", rule=rule, s=found["s"], slope="0.2")
    assert stated["detection_limit"] == found["detection_limit"]
    assert "detection_signal" not in stated


def test_limits_are_carried_to_the_sample_as_results_are() -> None:
    """10 times diluted, 50 mL from 0.5 g: a thousand times the limit of the solution."""
    found = ask("detection_limit", rule="iupac", s="0.001", slope=1, dilution=10, volume_ml=50, mass_g="0.5")
    assert found["sample_detection_limit"] == pytest.approx(1000 * found["detection_limit"], rel=1e-14)
    assert found["sample_quantification_limit"] == pytest.approx(10, rel=1e-14)
    alone = ask("detection_limit", rule="iupac", s="0.001", slope=1, dilution=10)
    assert alone["sample_detection_limit"] == pytest.approx(0.03, rel=1e-14)


# ------------------------------------------------------------------ standard_addition


def test_an_addition_without_the_new_keys_answers_as_before() -> None:
    request, keys = GOOD["standard_addition"]
    assert set(ask("standard_addition", **request)) == keys | {"kind", "schema_version", "defaults_taken"}


@pytest.mark.parametrize(
    ("external", "unsafe"), [("1", False), ("1.1111", False), ("1.1112", True), ("0.9090", True), ("0.9091", False)]
)
def test_a_slope_more_than_ten_percent_away_is_unsafe(external: str, unsafe: bool) -> None:
    found = ask("standard_addition", added=[0, 1, 2, 3], y=[1, 2, 3, 4], external_slope=external)
    assert found["external_unsafe"] is unsafe
    assert ("not safe" in found["caution"]) is unsafe
    assert found["slope_ratio"] == pytest.approx(1 / float(external), rel=1e-12)
    assert found["r"] == pytest.approx(1, abs=1e-15)


def test_a_slope_exactly_ten_percent_away_is_not_beyond_it() -> None:
    for y, external in (([0, 1.1, 2.2, 3.3], 1), ([0, 0.9, 1.8, 2.7], 1)):
        found = ask("standard_addition", added=[0, 1, 2, 3], y=y, external_slope=external)
        assert not found["external_unsafe"]


def test_r_is_held_against_its_limit_and_has_the_sign_of_the_slope() -> None:
    falling = ask("standard_addition", added=[0, 1, 2, 3], y=[4.1, 2.9, 2, 1], least_r=0.9)
    assert falling["r"] < -0.99
    assert falling["r_reached"] is False
    rising = ask("standard_addition", added=X, y=Y, least_r="0.995")
    assert rising["r_reached"] is True
    assert rising["r"] == pytest.approx(sqrt(rising["r_squared"]), rel=1e-15)
    assert rising["r_squared"] == ask("calibration", model="line", x=X, y=Y)["r_squared"]
    assert ask("standard_addition", added=X, y=Y, least_r="0.99999")["r_reached"] is False


# ------------------------------------------------------------------ single_addition


def test_u_of_a_single_addition_is_that_of_linear_propagation() -> None:
    """Against the package uncertainties, which differentiates by itself."""
    of, u = (0.412, 0.198, 0.1, 100, 10), (0.003, 0.002, 0.001, 0.4, 0.02)
    a, b, v, c, x = (ufloat(*pair) for pair in zip(of, u, strict=True))
    expected = b * v * c / ((a - b) * x)
    found = single_addition(Spiked(*of), Spiked(*u))
    assert not isinstance(found, str)
    assert found[0] == pytest.approx(expected.nominal_value, rel=1e-14)
    assert found[1] == pytest.approx(expected.std_dev, rel=1e-12)


def test_a_signal_below_the_blank_keeps_its_sign() -> None:
    request = {key: one for key, one in GOOD["single_addition"][0].items() if not key.startswith("u_")}
    found = ask("single_addition", **{**request, "signal_without": -0.01})
    assert found["concentration"] < 0
    assert "u" not in found


# ------------------------------------------------------------------ bracketing


def test_a_sample_twenty_percent_from_both_standards_is_just_inside() -> None:
    """0.8 and 1.2 around 1.0, in decimals: the boundary passes, a hair beyond it does not."""
    low, high = {"x": "0.8", "y": "0.08"}, {"x": "1.2", "y": "0.12"}
    found = ask("bracketing", low=low, high=high, samples=[{"y": "0.1"}, {"y": "0.1000001"}, {"y": "0.0999999"}])
    assert found["samples"][0]["x"] == 1.0
    assert [set(one) for one in found["samples"][1:]] == [{"refused"}, {"refused"}]
    wide = ask("bracketing", low=low, high=high, samples=[{"y": "0.08"}, {"y": "0.12"}], window_percent=50)
    assert [one["x"] for one in wide["samples"]] == [0.8, 1.2]


def test_u_between_standards_is_that_of_linear_propagation_and_needs_all_three() -> None:
    low, high, y = ufloat(0.181, 0.001), ufloat(0.219, 0.002), ufloat(0.2051, 0.0015)
    expected = 0.9 + 0.2 * (y - low) / (high - low)
    rows = [{"x": 0.9, "y": 0.181, "u_y": 0.001}, {"x": "1.1", "y": 0.219, "u_y": 0.002}]
    found = ask("bracketing", low=rows[0], high=rows[1], samples=[{"y": 0.2051, "u_y": 0.0015}, {"y": 0.2051}])
    assert found["samples"][0]["x"] == pytest.approx(expected.nominal_value, rel=1e-14)
    assert found["samples"][0]["u"] == pytest.approx(expected.std_dev, rel=1e-12)
    assert set(found["samples"][1]) == {"x"}


# ------------------------------------------------------------------ one_standard


def test_a_sensitivity_that_fell_is_put_back() -> None:
    """Everything reads 0.9 of what it did: the factor is 1/0.9, and samples come out as on the day of the curve."""
    found = ask(
        "one_standard", **{**CURVE, "samples": [{"y": "0.092"}]}, standard={"x": 1, "y": "0.182"}, blank_y=0.002
    )
    assert found["factor"] == pytest.approx(1 / 0.9, rel=1e-15)
    assert found["samples"][0]["x"] == pytest.approx(0.5, rel=1e-14)
    assert "caution" not in found


@pytest.mark.parametrize(("y", "within"), [("0.25", True), ("0.2499", False), ("0.375", True), ("0.3751", True)])
def test_a_factor_on_the_edge_of_the_window_is_within(y: str, within: bool) -> None:
    """0.3 over 0.25 is 1.2 exactly, over 0.375 it is 0.8."""
    found = ask("one_standard", **CURVE, standard={"x": "1.5", "y": y})
    assert found["within_window"] is (within and y != "0.3751")
    assert ("refused" in found["samples"][0]) is not found["within_window"]


def test_a_quadratic_is_scaled_in_the_signal() -> None:
    """A corrected reading of the standard itself gives the standard's concentration back."""
    curve = {"coefficients": [0.001, "0.2", "-0.01"], "range_low": 0, "range_high": 2}
    found = ask("one_standard", **curve, standard={"x": 1.7, "y": 0.29}, samples=[{"y": 0.29}])
    assert found["samples"][0]["x"] == pytest.approx(1.7, rel=1e-14)


def test_a_standard_in_the_lower_half_gets_a_caution() -> None:
    found = ask("one_standard", **CURVE, standard={"x": "0.9", "y": "0.18"})
    assert "upper half" in found["caution"]


@given(st.integers(1, 2000), st.integers(-80, 200), st.integers(0, 400))
def test_the_root_of_a_stored_curve_lies_on_it(per_mille: int, bend: int, y: int) -> None:
    """Every x answered gives the corrected reading back; bends up, down and not at all."""
    b1, b2 = Fraction(per_mille, 1000), Fraction(bend * per_mille, 10**6)
    request: dict[str, Any] = {
        "coefficients": ["0.001", str(float(b1)), f"{float(b2):.9f}"],
        "range_low": 0,
        "range_high": 2,
    }
    found = ask("one_standard", **request, standard={"x": 1, "y": 1}, samples=[{"y": y / 1000}], window_percent=10**9)
    sample = found["samples"][0]
    if "x" in sample:
        at = Fraction(float(sample["x"]))
        coefficients = [Fraction(str(one)) for one in request["coefficients"]]
        there = coefficients[0] + coefficients[1] * at + coefficients[2] * at * at
        assert float(there) == pytest.approx(sample["corrected"], rel=1e-12, abs=1e-13)


# ------------------------------------------------------------------ characteristic


def test_one_percent_absorption_is_taken_as_0_0044() -> None:
    """-log10(0.99) = 0.004365 (computed), taken as 0.0044 by IUPAC (from memory)."""
    assert round(-log10(0.99), 4) == 0.0044
    found = ask("characteristic", concentration_mg_per_l=4, absorbance="0.44")
    assert found["characteristic_concentration_mg_per_l"] == 0.04
    assert set(found) == {"kind", "schema_version", "characteristic_concentration_mg_per_l"}


def test_characteristic_mass_is_in_picograms() -> None:
    """20 uL of 10 ug/L are 200 pg; 0.2 A s from them: 0.0044/0.2 of 200 pg, 4.4 pg."""
    found = ask("characteristic", concentration_mg_per_l="0.010", absorbance="0.2", volume_ul=20)
    assert found["characteristic_mass_pg"] == 4.4


@pytest.mark.parametrize(
    ("history", "median", "within"),
    [
        (["0.08", "0.08", "0.08"], 0.08, True),
        (["0.05", "0.1", "0.1", "5"], 0.1, True),
        (["0.13"] * 3, 0.13, False),
        (["5", "0.05", "0.1"], 0.1, True),
    ],
)
def test_a_check_is_judged_by_the_median_of_its_history(history: list[str], median: float, within: bool) -> None:
    """Today 0.1 mg/L: against 0.08 the check reads 80 % of what is expected, which is just within 20 %."""
    found = ask("characteristic", concentration_mg_per_l="1", absorbance="0.044", history=history)
    assert found["history_median"] == median
    assert found["percent_of_expected"] == pytest.approx(100 * median / 0.1, rel=1e-14)
    assert found["expected_absorbance"] == pytest.approx(0.0044 / median, rel=1e-14)
    assert found["within_window"] is within


# ------------------------------------------------------------------ score


@pytest.mark.parametrize(
    ("value", "z"), [("2", "acceptable"), ("2.0000001", "warning signal"), ("-2.9999", "warning signal"),
                     ("3", "action signal"), ("-3", "action signal"), ("0", "acceptable")]
)  # fmt: skip
def test_bounds_of_z(value: str, z: str) -> None:
    found = ask("score", value=value, reference=0, sigma_pt=1)
    assert found["z"] == {"value": float(value), "standing": z}
    assert set(found) == {"kind", "schema_version", "difference", "z"}


def test_bounds_that_no_float_meets_exactly() -> None:
    """u 0.3 and 0.4 give 0.5; a difference of 0.5 at k = 1 is E_n 1 exactly, 1.0 at zeta 2."""
    found = ask("score", value="0.5", reference=0, u="0.3", u_reference="0.4", k=1)
    assert found["e_n"] == {"value": 1.0, "standing": "acceptable"}
    assert ask("score", value="1", reference=0, u="0.3", u_reference="0.4")["zeta"]["standing"] == "acceptable"
    beyond = ask("score", value="-0.50000001", reference=0, u="0.3", u_reference="0.4", k=1)
    assert beyond["e_n"]["standing"] == "action signal"
    assert beyond["e_n"]["value"] < -1


@pytest.mark.parametrize(("u_reference", "negligible"), [("0.3", True), ("0.300001", False)])
def test_a_reference_known_too_poorly_for_z(u_reference: str, negligible: bool) -> None:
    found = ask("score", value=1, reference=0, u_reference=u_reference, sigma_pt=1)
    assert found["reference_negligible"] is negligible
    assert found["z_prime"]["value"] == pytest.approx(1 / sqrt(1 + float(u_reference) ** 2), rel=1e-14)


# ------------------------------------------------------------------ pde_limit, species


@given(st.integers(1, 10**6), st.integers(1, 10**5), st.integers(0, 6))
def test_a_limit_is_rounded_down_and_by_less_than_one_unit(pde: int, dose: int, decimals: int) -> None:
    exact = Fraction(pde, dose)
    found = ask("pde_limit", pde_ug_per_day=pde, dose_g_per_day=dose, route="oral", decimals=decimals)["limit_text"]
    if isinstance(found, dict):
        assert exact < Fraction(1, 10**decimals)
    else:
        assert 0 <= exact - Fraction(found) < Fraction(1, 10**decimals)
        assert -int(Decimal(found).as_tuple().exponent) == decimals  # no place less than asked


def test_the_form_for_10_g_is_not_given_for_more() -> None:
    base = {"pde_ug_per_day": 5, "route": "oral", "decimals": 2}
    assert ask("pde_limit", **base, dose_g_per_day=10)["limit_for_10_g_per_day_text"] == "0.50"
    assert "limit_for_10_g_per_day_text" not in ask("pde_limit", **base, dose_g_per_day="10.1")


def test_a_factor_turns_either_way() -> None:
    """Calcium carbonate by hand: 40.078 + 12.011 + 3 x 15.999 = 100.086."""
    found = ask("species", formula="CaCO3", element="Ca", value=40.078)
    assert found["result"] == pytest.approx(100.086, rel=1e-14)
    back = ask("species", formula="CaCO3", element="Ca", value="100.086", value_is="substance")
    assert back["result"] == pytest.approx(40.078, rel=1e-14)
    assert ask("species", formula="As2O3", element="As")["atoms"] == 2
