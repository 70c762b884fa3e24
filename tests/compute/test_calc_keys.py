"""Every key of every answer of ``calc`` is one that the manual names, and a refusal stands for each it promises."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from scipy import stats
from tests.compute import test_calc_more_refusals as more_refusals
from tests.compute import test_calc_refusals as refusals

from .asking import GOOD, X, Y, ask

if TYPE_CHECKING:
    from collections.abc import Iterator

MANUAL = (Path(__file__).parents[2] / "docs" / "manual" / "calc.md").read_text(encoding="utf-8")
EVERYWHERE = {"schema_version", "kind", "caution", "defaults_taken", "refused", "code", "what", "remedy"}
LEVELS = {"weighting": "1/s2", "x": [0, 0, 1, 1, 2, 2], "y": [0.01, 0.02, 0.2, 0.22, 0.41, 0.4]}


def figures(kind: str, **request: object) -> dict[str, Any]:
    """An answer without what stands in every one."""
    found = ask(kind, **request)
    return {key: one for key, one in found.items() if key not in {"schema_version", "kind", "defaults_taken"}}


def named(kind: str) -> set[str]:
    """Words of the manual about this kind, and about every answer."""
    section = f"\n{MANUAL}".split(f"\n## {kind}\n")[1].split("\n## ")[0]
    return set(re.findall(r"[a-z_0-9]+", section)) | EVERYWHERE


def keys(answer: object) -> Iterator[str]:
    """Of an answer and all in it; under ``shares_percent`` stand names of the request."""
    if isinstance(answer, dict):
        for key, one in answer.items():
            yield key
            yield from keys(one) if key != "shares_percent" or "refused" in one else ()
    elif isinstance(answer, list):
        for one in answer:
            yield from keys(one)


def _asked() -> Iterator[Any]:
    for kind, (request, _) in GOOD.items():
        yield pytest.param(kind, request, id=f"{kind}, good")
    for module in (refusals, more_refusals):
        (cases,) = (mark.args[1] for mark in module.test_refusals_stand_in_place.pytestmark)
        for case in cases:
            yield pytest.param(case.values[0], case.values[1], id=f"{case.values[0]}, {case.id}")
    yield pytest.param("calibration", {"model": "line", **LEVELS}, id="calibration, levels")
    yield pytest.param(
        "calibration", {**LEVELS, "model": "line", "weighting": "none", "predict_at": [1, 9]}, id="calibration, repeats"
    )


@pytest.mark.parametrize(("kind", "request_"), [*_asked()])
def test_every_key_of_an_answer_stands_in_the_manual(kind: str, request_: dict[str, Any]) -> None:
    assert set(keys(ask(kind, **request_))) <= named(kind)


FITTED = {
    "n",
    "df",
    "coefficients",
    "standard_errors",
    "covariance",
    "residual_sd",
    "r_squared",
    "residuals",
    "back_calculated_percent_error",
    "rse_percent",
}


def test_a_level_tells_its_own_four_figures() -> None:
    """0 and 0: x; means by hand; s of two values is their distance over the root of 2."""
    first, second, third = ask("calibration", model="line", **LEVELS)["levels"]
    assert first == {"x": 0, "mean": pytest.approx(0.015), "s": pytest.approx(0.01 / 2**0.5), "readings": 2}
    assert second == {"x": 1, "mean": pytest.approx(0.21), "s": pytest.approx(0.02 / 2**0.5), "readings": 2}
    assert third == {"x": 2, "mean": pytest.approx(0.405), "s": pytest.approx(0.01 / 2**0.5), "readings": 2}


def test_a_curve_that_cannot_be_fitted_has_a_refusal_for_each_figure_of_one_that_can() -> None:
    whole = ask("calibration", model="line", x=X, y=Y)
    assert whole.keys() >= FITTED
    lost = ask("calibration", model="line", x=[1, 1, 1], y=[1, 2, 3])
    assert {key for key, one in lost.items() if isinstance(one, dict) and "refused" in one} >= FITTED - {"n", "df"}


def test_each_judgement_of_a_curve_has_its_figures() -> None:
    found = ask("calibration", **{**LEVELS, "model": "line", "weighting": "none"})
    assert found["lack_of_fit"].keys() == {"statistic", "df", "critical_95", "p_value", "significant"}
    assert found["homogeneity"].keys() == {"statistic", "df", "critical_99", "significant"}
    assert found["mandel"].keys() == {"statistic", "critical_99", "quadratic_better"}
    zero = ask("calibration", **{**LEVELS, "model": "line_through_zero", "weighting": "none"})
    assert zero["free_intercept"].keys() == {"b0", "half_width", "contains_zero"}
    assert ask("calibration", model="line", x=X, y=Y, samples=[{"y": 0.3}])["samples"][0].keys() == {
        *("x", "u", "u_reading", "u_curve", "half_width", "interval", "interval_by"),
    }


COMBINED = {"u", "df_effective", "df_before_truncation", "k", "expanded", "shares_percent"}


@pytest.mark.parametrize(
    ("terms", "code", "what"),
    [
        ([], "calc.too-few", "there are too few values: found 0, needed 1 term"),
        ([{"name": "a", "u": 0}], "calc.zero-u", None),
    ],
)
def test_a_budget_of_nothing_has_a_refusal_for_each_figure(terms: list[object], code: str, what: str | None) -> None:
    found = figures("uncertainty", terms=terms)
    refusal = found.pop("refused")
    assert found.keys() == COMBINED
    assert {one["refused"]["code"] for one in found.values()} == {refusal["code"]} == {code}
    assert what is None or refusal["what"] == what


def test_degrees_of_freedom_without_end_are_a_word_twice_and_those_below_one_leave_no_interval() -> None:
    endless = figures("uncertainty", terms=[{"name": "a", "u": 1}])
    assert (endless["df_effective"], endless["df_before_truncation"]) == ("infinite", "infinite")
    assert endless.keys() == COMBINED
    few = ask("uncertainty", terms=[{"name": "a", "u": 1, "df": "0.5"}, {"name": "b", "u": "0.1"}])
    assert few["k"]["refused"]["code"] == few["expanded"]["refused"]["code"] == "calc.df-below-one"
    assert few["df_effective"] == 0


def test_a_content_without_any_uncertainty_says_nothing_of_shares() -> None:
    plain = {"solution_mg_per_l": 1, "blank_mg_per_l": 0, "blank_was": "undiluted", "dilution": 1, "volume_ml": 50}
    found = figures("content", **plain, mass_g=2)
    assert found == {"mg_per_kg": 25, "basis": "as received"}
    known = ask("content", **plain, mass_g=2, u_mass=0)
    assert known["u"] == 0
    assert known["shares_percent"]["refused"]["code"] == "calc.zero-u"
    assert figures("content", **plain, mass_g=2, moisture_fraction="0.5") == {"mg_per_kg": 50, "basis": "dry"}


def test_a_standard_that_gives_no_factor_has_a_refusal_for_each_figure_and_sample() -> None:
    found = ask(
        "one_standard", coefficients=[0, 1], range_low=0, range_high=2, standard={"x": 1, "y": 0}, blank_y=0,
        samples=[{"y": 1}, {"y": 2}],
    )  # fmt: skip
    for key in ("nominal", "net", "factor", "within_window"):
        assert "refused" in found[key]
    assert [list(one) for one in found["samples"]] == [["refused"], ["refused"]]


def test_additions_that_meet_zero_between_zero_and_one_carry_no_caution() -> None:
    """x = 0.5: y = 1 + 2x, a little off."""
    assert figures("standard_addition", added=[0, 1, 2, 3], y=[1.01, 2.99, 4.99, 7.01]).keys() == {
        *("x", "u", "df", "half_width", "coefficients", "residual_sd"),
    }


def test_a_quadratic_that_bends_away_below_the_interval_has_no_ends_to_give() -> None:
    """The reading lies a little below the vertex of the curve: the interval would reach over it."""
    sample = {"y": 0.46}
    (found,) = ask("calibration", model="quadratic", x=X, y=[0, 0.2, 0.33, 0.44, 0.47], samples=[sample])["samples"]
    assert found["half_width"] == found["interval"]
    assert found["half_width"]["refused"]["code"] == "calc.no-interval"
    assert (found["interval_by"], found["x"] > 3.4, found["u"] > 0.2) == ("fieller", True, True)
    (straight,) = ask("calibration", model="line", x=X, y=Y, samples=[sample])["samples"]
    low, high = straight["interval"]
    assert straight["half_width"] == (high - low) / 2
    assert low < straight["x"] < high


def test_an_error_read_back_is_refused_where_there_is_none_and_a_number_elsewhere() -> None:
    """A line of slope 2 through the middle of three points; by hand 100 (x' - x)/x for the one at 1."""
    first, second, *_ = ask("calibration", model="line", x=[0, 1, 2], y=[0, 2.1, 4])["back_calculated_percent_error"]
    slope, middle = 2.0, (0 + 2.1 + 4) / 3
    assert first["refused"]["code"] == "calc.zero-x"
    assert second == pytest.approx(100 * (2.1 - middle) / slope, rel=1e-12)
    bent = ask("calibration", model="quadratic", x=[1, 2, 3, 4, 5], y=[0, 0.3, 0.51, 0.47, 0.52])
    codes = {one["refused"]["code"] for one in bent["back_calculated_percent_error"] if isinstance(one, dict)}
    assert codes == {"calc.not-rising"}
    assert bent["rse_percent"]["refused"]["code"] == "calc.not-rising"


def test_an_error_of_the_whole_curve_wants_one_point_more_than_it_has_coefficients() -> None:
    found = ask("calibration", model="line", x=[0, 1, 2, 0], y=[0, 2.1, 4, 0.1])["rse_percent"]["refused"]
    assert found["code"] == "calc.too-few-points"
    assert found["what"].endswith(": found 2, needed 3 points not at zero")


def test_two_values_give_every_statistic_by_hand() -> None:
    """1 and 3: mean 2, s the root of 2; the relative one in percent of the size of the mean."""
    found = figures("statistics", values=[1, 3])
    assert found == {
        "n": 2,
        "mean": 2,
        "sd": pytest.approx(2**0.5, rel=1e-15),
        "rsd_percent": pytest.approx(50 * 2**0.5, rel=1e-15),
        "lag1_autocorrelation": pytest.approx(-0.5, rel=1e-15),
    }
    assert figures("statistics", values=[-1, -3])["rsd_percent"] == pytest.approx(50 * 2**0.5, rel=1e-15)


def test_groups_of_two_may_be_pooled() -> None:
    """(0.1 + 2 x 0.2)/3 with 1 and 2 degrees of freedom; t of 3 from scipy."""
    found = ask("detection_limit", rule="mdl_pooled", variances=["0.1", "0.2"], n=[2, 3])
    s = (0.5 / 3) ** 0.5
    assert (found["s_pooled"], found["df"]) == (pytest.approx(s, rel=1e-14), 3)
    assert found["mdl"] == pytest.approx(stats.t.ppf(0.99, 3) * s, rel=1e-12)


def test_three_points_are_enough_for_the_intercept_left_out() -> None:
    """One degree of freedom: b0 and half its interval with numpy and scipy, t 12.7."""
    x, y = np.array([1.0, 2, 3]), np.array([0.21, 0.4, 0.62])
    found = ask("calibration", model="line_through_zero", x=x.tolist(), y=y.tolist())["free_intercept"]
    b1, b0 = np.polyfit(x, y, 1)
    s = np.sqrt(((y - b0 - b1 * x) ** 2).sum())
    half = stats.t.ppf(0.975, 1) * s * np.sqrt(1 / 3 + 4 / 2)
    assert found == {
        "b0": pytest.approx(float(b0), rel=1e-9),
        "half_width": pytest.approx(float(half), rel=1e-9),
        "contains_zero": True,
    }


def test_a_lower_limit_has_its_acceptance_limit_and_an_upper_one_has_none() -> None:
    found = figures("conformity", rule="guarded", value=1, u="0.1", lower="0.5")
    assert found == {"rule": "guarded", "verdict": "pass", "acceptance_lower": 0.7, "probability": found["probability"]}
    both = figures("conformity", rule="guarded", value=1, u="0.1", lower="0.5", upper=2)
    assert (both["acceptance_lower"], both["acceptance_upper"]) == (0.7, 1.8)


def test_the_median_of_four_lies_between_the_middle_two() -> None:
    """0.0044 c/A of an absorbance of 0.21 at 2 mg/L; what is usual is 0.035, whatever the order."""
    found = figures(
        "characteristic", concentration_mg_per_l=2, absorbance="0.21", history=["0.05", "0.02", "0.04", "0.03"]
    )
    assert found["history_median"] == 0.035
    assert found["characteristic_concentration_mg_per_l"] == pytest.approx(0.0088 / 0.21, rel=1e-14)
    assert found["expected_absorbance"] == pytest.approx(0.0088 / 0.035, rel=1e-14)
    assert found["percent_of_expected"] == pytest.approx(100 * 0.21 / (0.0088 / 0.035), rel=1e-14)
