"""``calc``: which keys stand in an answer, what stands for a figure that does not exist, and both sides of edges."""

from __future__ import annotations

import json
from math import inf, nan
from typing import Any

import pytest

from benchseal.compute.calc import answer
from benchseal.compute.calc_answer import clean
from benchseal.problems import Problem

from .asking import X, Y, ask

CHART = [0.99, 1.01, 1, 1.02, 0.98, 1.01, 0.99, 1, 1.01, 0.99]


def code(value: Any) -> str | None:  # noqa: ANN401  any part of an answer
    return value["refused"]["code"] if isinstance(value, dict) and "refused" in value else None


# ------------------------------------------------------------------ every kind


@pytest.mark.parametrize("bad", [nan, inf, -inf])
def test_a_figure_that_is_no_number_is_refused_wherever_it_lies(bad: float) -> None:
    found = clean({"a": bad, "b": [1.5, bad, {"c": [bad]}], "d": "text", "e": True, "f": 3})
    json.dumps(found, allow_nan=False)
    assert isinstance(found, dict)
    assert isinstance(found["b"], list)
    deep = found["b"][2]
    assert isinstance(deep, dict)
    assert isinstance(deep["c"], list)
    assert [code(one) for one in (found["a"], found["b"][1], deep["c"][0])] == ["calc.no-finite-value"] * 3
    assert (found["b"][0], found["d"], found["e"], found["f"]) == (1.5, "text", True, 3)


def test_zero_has_no_sign() -> None:
    assert json.dumps(clean({"a": -0.0, "b": [-0.0, {"c": -0.0}]})) == '{"a": 0.0, "b": [0.0, {"c": 0.0}]}'
    assert "-0.0" not in json.dumps(ask("calibration", model="line", x=X, y=Y, predict_at=["-0.0"])["predictions"])


def test_unknown_keys_are_told_in_the_order_of_their_names() -> None:
    more = dict.fromkeys("hgfedcba", 1)
    found = answer({"kind": "recovery", "found": 1, "added": 1, **more})
    assert isinstance(found, tuple)
    assert [one.where for one in found] == [f"$.{name}" for name in "abcdefgh"]


# ------------------------------------------------------------------ calibration


def test_replicates_that_agree_to_the_last_digit_say_nothing_of_the_fit() -> None:
    found = ask("calibration", model="line", x=[0, 0, 1, 1, 2, 2], y=[0, 0, 1, 1, "2.1", "2.1"])
    assert code(found["lack_of_fit"]) == "calc.no-scatter"
    assert code(found["homogeneity"]) == "calc.no-scatter"


def test_readings_on_a_line_leave_mandel_nothing_to_compare() -> None:
    """Three levels carry a quadratic, and without scatter nothing is better; two levels carry none."""
    assert code(ask("calibration", model="line", x=[0, 1, 2, 3], y=[0, 1, 2, 3])["mandel"]) == "calc.no-scatter"
    two = ask("calibration", model="line", x=[0, 0, 1, 1], y=[0, "0.1", 1, "1.1"])
    assert code(two["mandel"]) == "calc.x-not-spread"


def test_homogeneity_needs_two_readings_at_both_ends() -> None:
    for x in ([0, 1, 2, 2], [0, 0, 1, 2]):
        assert "homogeneity" not in ask("calibration", model="line", x=x, y=[0, "0.1", 1, 2])
    both = ask("calibration", model="line", x=[0, 0, 1, 2, 2], y=[0, "0.1", 1, 2, "2.3"])["homogeneity"]
    assert both["statistic"] == pytest.approx(9, rel=1e-12)  # differences of 0.3 and 0.1: variances as 9 to 1
    assert both["df"] == [1, 1]
    assert both["critical_99"] == pytest.approx(4052.18, abs=0.01)  # F(0.99; 1, 1), any table
    assert both["significant"] is False


def test_one_level_alone_has_no_other_end() -> None:
    found = ask("calibration", model="line_through_zero", x=[2, 2, 2], y=[1, "1.1", "0.9"])
    assert "homogeneity" not in found
    assert found["coefficients"] == pytest.approx([0.5], rel=1e-14)
    assert code(found["free_intercept"]) == "calc.x-not-spread"


def test_errors_are_refused_at_zero_and_where_the_curve_does_not_rise() -> None:
    """A zero level has no percent; a falling curve has no rising branch to read anything on."""
    found = ask("calibration", model="line", x=X, y=Y)
    assert code(found["back_calculated_percent_error"][0]) == "calc.zero-x"
    assert all(isinstance(one, float) for one in found["back_calculated_percent_error"][1:])
    falling = ask("calibration", model="line", x=X, y=Y[::-1])
    assert [code(one) for one in falling["back_calculated_percent_error"]] == ["calc.zero-x"] + ["calc.not-rising"] * 4
    assert code(falling["rse_percent"]) == "calc.not-rising"


def test_known_uncertainties_show_their_chi_squared() -> None:
    """Sum of squared residuals over u^2 by hand: residuals of 0, 1.2, 1.8 on 0, 1, 2 are 0.1, -0.2, 0.1 with u 0.1."""
    points = {"model": "line", "x": [0, 1, 2], "y": [0, "1.2", "1.8"], "weighting": "given", "weights": [100] * 3}
    found = ask("calibration", **points, variance="known")
    assert found["chi_squared"] == pytest.approx(6, rel=1e-12)
    assert "chi_squared" not in ask("calibration", **points)


def test_equal_readings_have_no_r_squared() -> None:
    assert code(ask("calibration", model="line", x=[0, 1, 2], y=[1, 1, 1])["r_squared"]) == "calc.all-equal"


def test_each_sample_outside_says_about_where_and_against_what() -> None:
    found = ask(
        "calibration", model="line", x=[1, 2, 3, 4], y=[1, "2.001", "2.999", 4], samples=[{"y": 5}, {"y": "0.5"}]
    )
    over, below = (one["refused"] for one in found["samples"])
    assert (over["code"], below["code"]) == ("calc.over-range", "calc.below-lowest")
    assert "about 5.00" in over["what"]
    assert over["what"].endswith("against 4")
    assert "about 0.49" in below["what"]
    assert below["what"].endswith("against 1")


def test_samples_and_predictions_are_there_only_when_asked() -> None:
    plain = ask("calibration", model="line", x=X, y=Y)
    assert not {"samples", "predictions"} & set(plain)
    asked = ask("calibration", model="line", x=X, y=Y, samples=[], predict_at=[])
    assert (asked["samples"], asked["predictions"]) == ([], [])
    without = ask("calibration", model="line", x=[1], y=[1], samples=[{"y": 1}, {"y": 2}], predict_at=[3])
    assert [code(one) for one in (*without["samples"], *without["predictions"])] == ["calc.not-fitted"] * 3
    assert not {"samples", "predictions"} & set(ask("calibration", model="line", x=[1], y=[1]))


# ------------------------------------------------------------------ control_chart


def test_a_chart_names_its_lot_only_where_lots_were_given() -> None:
    (alone,) = ask("control_chart", values=CHART, base_first=10)["charts"]
    assert "lot" not in alone
    charts = ask("control_chart", values=CHART * 2, lots=["b"] * 10 + ["a"] * 10, base_first=10)["charts"]
    assert [(one["lot"], one["n"]) for one in charts] == [("b", 10), ("a", 10)]


def test_a_chart_of_nothing_says_what_its_base_lacks() -> None:
    (chart,) = ask("control_chart", values=[], base_first=10)["charts"]
    assert (chart["n"], code(chart["mean"])) == (0, "calc.base-too-long")


def test_a_break_is_in_the_base_when_it_starts_there() -> None:
    """Places count from 0: with a base of 10 the last of it is 9, and 10 is the first after it."""
    after = ask("control_chart", values=[*CHART, 1.2], base_first=10)["charts"][0]
    assert {one["in_base"] for one in after["breaks"] if one["first_index"] == 10} == {False}
    wild = ask("control_chart", values=[1, 1.01] * 9 + [1, 1.2], base_first=20)["charts"][0]
    assert {one["in_base"] for one in wild["breaks"]} == {True}
    assert 19 in {one["first_index"] for one in wild["breaks"]}


def test_a_short_base_is_said_and_a_long_one_is_not() -> None:
    short, long = (ask("control_chart", values=[3, 5] * 10, base_first=base)["charts"][0] for base in (19, 20))
    assert short["caution"] == "the base period has 19 values; 20 or more are recommended"
    assert "caution" not in long
    stated = ask("control_chart", values=[3, 5], mean=4, sd=1)["charts"][0]
    assert "caution" not in stated
    assert (stated["base_n"], stated["warning"], stated["control"]) == (0, [2, 6], [1, 7])


# ------------------------------------------------------------------ score


def test_scores_stand_only_for_what_was_given() -> None:
    """By hand: difference 1; z = 1/0.5; z' = 1/sqrt(0.25 + 0.04); zeta = 1/sqrt(0.09 + 0.04); E_n with k = 2 half."""
    base = {"value": 11, "reference": 10}
    alone = ask("score", **base, sigma_pt="0.5")
    assert (alone["difference"], alone["z"]["value"]) == (1, 2)
    assert not {"z_prime", "reference_negligible", "zeta", "e_n"} & set(alone)
    found = ask("score", **base, sigma_pt="0.5", u_reference="0.2", u="0.3")
    assert found["z"]["value"] == 2
    assert found["z_prime"]["value"] == pytest.approx(1 / 0.29**0.5, rel=1e-14)
    assert found["zeta"]["value"] == pytest.approx(1 / 0.13**0.5, rel=1e-14)
    assert found["e_n"]["value"] == pytest.approx(1 / 0.13**0.5 / 2, rel=1e-14)
    wide = ask("score", **base, u_reference="0.2", u="0.3", k=3)
    assert wide["e_n"]["value"] == pytest.approx(1 / 0.13**0.5 / 3, rel=1e-14)
    assert not {"z", "z_prime", "reference_negligible"} & set(wide)


# ------------------------------------------------------------------ pde_limit, species


@pytest.mark.parametrize(("dose", "there"), [("9.9", True), (10, True), ("10.1", False)])
def test_the_limit_for_ten_grams_stands_beside_smaller_doses_only(dose: object, there: bool) -> None:
    """ICH Q3D option 1 supposes 10 g a day; for a larger dose its limit would be too high. PDE 5: 0.5 ug/g."""
    found = ask("pde_limit", pde_ug_per_day=5, dose_g_per_day=dose, route="oral", decimals=1)
    assert (found.get("limit_for_10_g_per_day_text") == "0.5") is there
    assert ("limit_for_10_g_per_day_text" in found) is there


def test_a_formula_without_a_factor_refuses_what_was_asked_and_no_more() -> None:
    without, asked = (ask("species", formula="CaCO3", element="Mg", **more) for more in ({}, {"value": 1}))
    for key in ("factor", "molar_mass_g_per_mol", "atomic_weight", "atoms"):
        assert code(without[key]) == code(asked[key]) == code(without) == "calc.formula-unfit"
    assert "result" not in without
    assert code(asked["result"]) == "calc.formula-unfit"


# ------------------------------------------------------------------ variance_function


def test_a_level_read_once_says_how_many_readings_a_spread_needs() -> None:
    x, y = [0, 0, 0, 1, 1, 1, 4, 4, 4, 6], [0.001, 0.003, 0.002, 0.2, 0.21, 0.205, 0.79, 0.82, 0.77, 1.2]
    last = ask("variance_function", x=x, y=y)["levels"][-1]
    assert (last["x"], last["n"]) == (6, 1)
    assert "found 1, needed 2 readings" in last["s"]["refused"]["what"]
    assert last["s_fitted"] > 0


def test_the_control_threshold_is_three_tenths_of_the_limit() -> None:
    """ICH Q3D: 30 % of the PDE."""
    found = ask("pde_limit", pde_ug_per_day=10, dose_g_per_day=2, route="oral", decimals=2)
    assert (found["limit_text"], found["control_threshold_text"], found["limit_ug_per_g"]) == ("5.00", "1.50", 5.0)
    assert found["limit_for_10_g_per_day_text"] == "1.00"


# ------------------------------------------------------------------ content, conformity, rounding, one_standard


def test_a_content_whose_inputs_are_all_exact_has_no_shares() -> None:
    found = ask("content", solution_mg_per_l=1, volume_ml=50, mass_g="0.5", u_solution=0)
    assert (found["mg_per_kg"], found["u"], code(found["shares_percent"])) == (100.0, 0.0, "calc.zero-u")
    known = ask("content", solution_mg_per_l=1, volume_ml=50, mass_g="0.5", u_solution="0.01", u_mass="0.005")
    assert known["u"] == pytest.approx(2**0.5, rel=1e-14)  # one percent each
    assert known["shares_percent"] == {"solution": pytest.approx(50), "mass": pytest.approx(50)}
    assert not {"u", "shares_percent"} & set(ask("content", solution_mg_per_l=1, volume_ml=50, mass_g="0.5"))


@pytest.mark.parametrize("side", ["upper", "lower"])
def test_a_limit_belongs_to_what_conforms_unless_said_otherwise(side: str) -> None:
    at = {"rule": "simple", "value": "0.5", side: "0.5"}
    assert ask("conformity", **at)["verdict"] == "pass"
    assert ask("conformity", **at, **{f"{side}_included": True})["verdict"] == "pass"
    assert ask("conformity", **at, **{f"{side}_included": False})["verdict"] == "fail"


@pytest.mark.parametrize(("mode", "text"), [({}, "3"), ({"mode": "half_up"}, "3"), ({"mode": "half_even"}, "2")])
def test_a_half_is_rounded_by_the_mode_asked_for(mode: dict[str, str], text: str) -> None:
    found = ask("rounding", value="2.5", decimals=0, **mode)
    assert (found["text"], found["mode"]) == (text, mode.get("mode", "half_up"))
    with_u = ask("rounding", value="2.5", u="0.5", decimals=0, **mode)
    assert (with_u["value_text"], with_u["expanded_text"]) == (text, "1")


def test_samples_beyond_a_stored_curve_say_about_where_and_against_which_end() -> None:
    """Twice the signal of a line of slope 0.2 from 1 to 2; the standard reads as it should."""
    found = ask(
        "one_standard", coefficients=[0, "0.2"], range_low=1, range_high=2, standard={"x": "1.5", "y": "0.3"},
        samples=[{"y": "0.8"}, {"y": "0.1"}, {"y": "0.3"}],
    )  # fmt: skip
    over, below, inside = found["samples"]
    assert (code(over), code(below)) == ("calc.over-range", "calc.below-lowest")
    assert over["refused"]["what"].endswith(": about 4 against 2")
    assert below["refused"]["what"].endswith(": about 0.5 against 1")
    assert inside == {"net": 0.3, "corrected": 0.3, "x": pytest.approx(1.5, rel=1e-14)}


def test_a_formula_that_gives_no_factor_says_why_in_plain_words() -> None:
    what = ask("species", formula="CaCO3", element="Mg")["refused"]["what"]
    assert what.startswith("the formula gives no factor: ")
    assert what.endswith("Mg")
    assert '"' not in what


@pytest.mark.parametrize(("test", "values"), [("grubbs", [1, 2]), ("grubbs", [1, 1, 1]), ("dixon", [1] * 11)])
def test_an_outlier_that_cannot_be_tested_for_is_refused_figure_by_figure(test: str, values: list[int]) -> None:
    found = ask("outlier", test=test, values=values)
    for key in ("statistic", "critical", "flagged", "index"):
        assert code(found[key]) == code(found) is not None
    assert found["n"] == len(values)
    assert "value" not in found


def test_limits_of_a_sample_stand_only_beside_what_carries_them_there() -> None:
    plain = ask("detection_limit", rule="iupac", s="0.001", slope="0.2")
    assert not {"sample_detection_limit", "sample_quantification_limit"} & set(plain)
    for more, factor in (({"dilution": 2}, 2.0), ({"volume_ml": 3, "mass_g": 2}, 1.5)):
        carried = ask("detection_limit", rule="iupac", s="0.001", slope="0.2", **more)
        assert carried["sample_detection_limit"] == pytest.approx(plain["detection_limit"] * factor, rel=1e-14)


def test_a_reading_without_a_result_is_refused_without_numbers() -> None:
    request = {"measurement": "content", "seed": 3, "model": "line", "x": X, "y": Y, "reading": {"y": 9}}
    what = ask("monte_carlo", **request)["value"]["refused"]["what"]
    (sample,) = ask("calibration", model="line", x=X, y=Y, samples=[{"y": 9}])["samples"]
    assert what == sample["refused"]["what"].split(": about")[0]


def test_limits_of_a_line_are_carried_to_the_sample() -> None:
    """A limit of the solution read, times dilution and volume over mass, as its results are."""
    line: dict[str, Any] = {"rule": "calibration_line", "x": [0.05, 0.1, 0.15, 0.2, 0.25], "alpha": 0.05, "beta": 0.05}
    line["y"] = ["0.0512", "0.1008", "0.1493", "0.2011", "0.2489"]
    keys = ("decision_limit", "detection_limit", "detection_limit_noncentral", "quantification_limit")
    plain = ask("detection_limit", **line)
    assert not [key for key in plain if key.startswith("sample_")]
    carried = ask("detection_limit", **line, dilution=10, volume_ml=50, mass_g="0.5")
    for key in keys:
        assert carried[key] == plain[key]
        assert carried[f"sample_{key}"] == pytest.approx(1000 * plain[key], rel=1e-14)
    assert ask("detection_limit", **line, dilution=2)["sample_decision_limit"] == 2 * plain["decision_limit"]


def test_a_volume_without_a_mass_carries_no_limit_of_a_line() -> None:
    (problem,) = answer({"kind": "detection_limit", "rule": "calibration_line", "x": X, "y": Y, "volume_ml": 50})
    assert isinstance(problem, Problem)
    assert problem.code == "calc.keys-do-not-fit"
    assert "volume_ml and mass_g go together" in problem.what


def test_a_refused_limit_of_a_line_stays_refused_for_the_sample() -> None:
    scattered = {"x": [1, 2, 3, 4, 5], "y": [1, 3, 2, 5, 4], "k": 3, "dilution": 10}
    found = ask("detection_limit", rule="calibration_line", **scattered)
    assert found["quantification_limit"]["refused"]
    assert found["sample_quantification_limit"] == found["quantification_limit"]
    flat = ask("detection_limit", rule="calibration_line", x=[1, 2, 3], y=[1, 1, 1], dilution=10)
    assert flat["sample_decision_limit"]["refused"]["code"] == flat["decision_limit"]["refused"]["code"]
