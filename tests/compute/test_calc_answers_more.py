"""Answers of ``calc`` to the last key: what a request names is used, and a refusal keeps what is still known."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from benchseal.compute.calc import answer
from benchseal.compute.calc_defaults import DEFAULTS
from benchseal.compute.calc_request import KINDS
from benchseal.shipped import schema

from .asking import GOOD, X, Y, ask, problems

MANUAL = Path(__file__).parents[2] / "docs" / "manual" / "calc.md"
STRAIGHT = [1 + 2 * x for x in X]
OUT_HIGH, OUT_LOW = [9.9, 10, 10.1, 10.2, 12.5], [7.5, 9.9, 10, 10.1, 10.2]


def test_significant_digits_that_are_asked_for_are_kept() -> None:
    assert ask("rounding", value="0.0099951", significant=3)["text"] == "0.0100"


def test_a_line_whose_slope_is_noise_still_tells_its_degrees_of_freedom() -> None:
    found = ask("standard_addition", added=[0, 1, 2, 3, 4], y=[0.2, 0.9, 0.1, 0.8, 0.5])
    assert found["x"]["refused"]["code"] == "calc.slope-not-significant"
    assert found["df"] == 3


def test_a_chart_tells_its_standard_deviation() -> None:
    """Five times 3 and five times 5: mean 4, squares 10, s = sqrt(10/9)."""
    (chart,) = ask("control_chart", values=[3, 5] * 5, base_first=10)["charts"]
    assert chart["s"] == pytest.approx((10 / 9) ** 0.5, rel=1e-14)


def test_a_reading_a_bent_curve_never_reaches_names_no_estimate() -> None:
    """y = x - x^2/8 up to x = 3: the vertex is at 4, with y = 2."""
    found = ask(
        "one_standard",
        coefficients=[0, 1, "-0.125"],
        range_low=0,
        range_high=3,
        standard={"x": 2, "y": "1.5"},
        samples=[{"y": 5}],
    )
    (sample,) = found["samples"]
    assert sample["refused"]["code"] == "calc.no-root"
    assert "nan" not in str(sample).lower()
    assert "about" not in str(sample)


# ------------------------------------------------------------------ what was taken for keys left out


def section(kind: str) -> str:
    return f"\n{MANUAL.read_text(encoding='utf-8')}".split(f"\n## {kind}\n")[1].split("\n## ")[0]


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_and_every_default_stands_in_the_manual(kind: str) -> None:
    rows = {line.split("`")[1]: line for line in section(kind).splitlines() if line.startswith("| `")}
    properties = json.loads(schema(f"calc/{kind}"))["properties"]
    assert properties.keys() - rows.keys() == {"kind"}
    for one in DEFAULTS.get(kind, ()):
        said = str(one.value).lower() if isinstance(one.value, bool) else str(one.value)
        assert f"| `{one.key}` | `{said}` |" in rows[one.key], one.key
        assert one.key in properties
    for key in json.loads(schema(f"calc/{kind}"))["required"]:
        assert key == "kind" or "| needed |" in rows[key]


@pytest.mark.parametrize("kind", KINDS)
def test_an_answer_says_the_defaults_it_took_and_takes_them_when_told(kind: str) -> None:
    request, _ = GOOD[kind]
    found = ask(kind, **request)
    taken = found.pop("defaults_taken", {})
    assert not taken.keys() & request.keys()
    assert ask(kind, **request, **taken) == found


@pytest.mark.parametrize(
    ("kind", "request_", "taken"),
    [
        ("conformity", {"rule": "simple", "value": 1, "upper": 2}, {"upper_included"}),
        ("conformity", {"rule": "guarded", "value": 1, "u": 0.1, "lower": 0}, {"k", "lower_included"}),
        ("conformity", {"rule": "pharma", "value": 1, "lower": 0}, {"round_to", "lower_included"}),
        ("rounding", {"value": 1, "decimals": 2}, {"mode"}),
        ("rounding", {"value": 1, "u": 0.1}, {"mode", "k"}),
        ("calibration", {"model": "line", "x": X, "y": Y}, {"weighting", "variance"}),
        ("detection_limit", {"rule": "ich", "s": 1, "slope": 1}, set()),
        ("detection_limit", {"rule": "calibration_line", "x": X, "y": Y}, {"alpha", "beta", "m", "k"}),
        ("score", {"value": 1, "reference": 1, "sigma_pt": 1}, set()),
        ("species", {"formula": "CaO", "element": "Ca"}, set()),
    ],
)
def test_only_defaults_that_count_are_told(kind: str, request_: dict[str, object], taken: set[str]) -> None:
    assert set(ask(kind, **request_).get("defaults_taken", {})) == taken


# ------------------------------------------------------------------ cautions


def test_points_without_scatter_carry_a_caution() -> None:
    """y = 1 + 2x to the last bit: s is nothing, and with it every uncertainty."""
    found = ask("calibration", model="line", x=X, y=STRAIGHT, samples=[{"y": 4}])
    assert found["samples"][0]["u"] < 1e-14
    assert "without scatter" in found["caution"]
    assert "caution" not in ask("calibration", model="line", x=X, y=Y)
    known = {"weighting": "given", "weights": [4] * len(X), "variance": "known"}
    assert "caution" not in ask("calibration", model="line", x=X, y=STRAIGHT, **known)


def test_additions_without_scatter_carry_both_cautions() -> None:
    found = ask("standard_addition", added=X, y=STRAIGHT, external_slope=3)
    assert "external calibration is not safe" in found["caution"]
    assert "without scatter" in found["caution"]
    assert "without scatter" in ask("standard_addition", added=X, y=STRAIGHT)["caution"]


def test_blanks_fewer_than_seven_carry_a_caution_and_seven_none() -> None:
    spiked = [1, 1.1, 0.9, 1.05, 0.95, 1, 1.02]
    single = ask("detection_limit", rule="mdl", spiked=spiked, blanks=[0.1])
    alone = ask("detection_limit", rule="mdl", spiked=spiked)
    assert single["mdl_spiked"] == alone["mdl_spiked"] == alone["mdl"]
    assert "refused" not in single
    assert single["mdl"]["refused"]["code"] == single["mdl_blank"]["refused"]["code"] == "calc.too-few"
    assert single["caution"].startswith("1 method blank:")
    assert alone["caution"].startswith("0 method blanks:")
    assert "caution" not in ask("detection_limit", rule="mdl", spiked=spiked, blanks=[0.1, 0.2, 0.1, 0, 0.1, 0.2, 0])


def test_the_number_of_spiked_samples_is_told_where_it_is_too_small() -> None:
    found = ask("detection_limit", rule="mdl", spiked=[1, 2, 3, 4, 5, 6])
    assert "found 6, needed 7 spiked results" in found["refused"]["what"]


def test_a_pooled_group_of_fewer_than_seven_carries_a_caution() -> None:
    pooled = {"rule": "mdl_pooled", "variances": [0.1, 0.2]}
    assert "fewer than 7" in ask("detection_limit", **pooled, n=[7, 6])["caution"]
    assert "caution" not in ask("detection_limit", **pooled, n=[7, 7])


def test_limits_within_the_standards_stand_beside_one_above_them() -> None:
    """X goes to 4; s is large enough for the quantification limit to lie above it, and the others below."""
    found = ask(
        "detection_limit", rule="calibration_line", x=X * 4, y=[x + e for e in (0.6, -0.6, 0.5, -0.5) for x in X]
    )
    assert found["decision_limit"] < 4
    assert found["quantification_limit"]["refused"]["what"].endswith("against 4")
    assert "refused" not in found


# ------------------------------------------------------------------ which end an outlier test tests


@pytest.mark.parametrize("test", ["grubbs", "dixon"])
@pytest.mark.parametrize(("values", "end"), [(OUT_HIGH, "high"), (OUT_LOW, "low")])
def test_the_end_tested_is_told_and_may_be_fixed(test: str, values: list[float], end: str) -> None:
    found = ask("outlier", test=test, values=values)
    other = "low" if end == "high" else "high"
    assert found["end"] == end
    assert "caution" not in found
    chosen = ask("outlier", test=test, values=values, sides=1)
    assert "twice as likely" in chosen["caution"]
    fixed = ask("outlier", test=test, values=values, sides=1, end=end)
    assert (fixed["statistic"], fixed["index"]) == (found["statistic"], found["index"])
    assert fixed["critical"] == chosen["critical"] < found["critical"]
    assert "caution" not in fixed
    away = ask("outlier", test=test, values=values, sides=1, end=other)
    assert (away["end"], away["index"]) == (other, 4 if other == "high" else 0)
    assert away["statistic"] < fixed["statistic"]
    assert not away["flagged"]


def test_a_fixed_end_is_worked_by_hand() -> None:
    """1, 2, 3, 6: mean 3, s = sqrt(14/3); lowest (3 - 1)/s, highest (6 - 3)/s; gaps 1/5 and 3/5 of the range."""
    s = (14 / 3) ** 0.5
    for end, away, gap in (("low", 2, 0.2), ("high", 3, 0.6)):
        rest = {"values": [3, 1, 6, 2], "sides": 1, "end": end, "alpha": 0.025}
        assert ask("outlier", test="grubbs", **rest)["statistic"] == pytest.approx(away / s, rel=1e-14)
        assert ask("outlier", test="dixon", **rest)["statistic"] == pytest.approx(gap, rel=1e-14)


# ------------------------------------------------------------------ attacked key by key


@pytest.mark.parametrize("kind", KINDS)
def test_whatever_stands_for_a_key_is_answered_in_strict_json_or_named(kind: str) -> None:
    """``ask`` demands one of the two; everything else would be a fault."""
    request, _ = GOOD[kind]
    strange = (None, True, "", "1,5", "\uff11\uff12", "\u0663", "1e400", "-0", "1_000", " 1", "\u221e", "NaN", 1e300)
    more: tuple[object, ...] = (
        -1e300,
        10**200,
        float("nan"),
        float("inf"),
        "1" * 65,
        "<5",
        [],
        {},
        [[1]],
        {"a": [1]},
        0,
        -1,
        1e30,
        -1e30,
    )
    for key, value in request.items():
        for one in (*strange, *more):
            tried = [one, [one] * 3, *([[one, *value[1:]]] if isinstance(value, list) else [])]
            tried += [{**value, inner: one} for inner in value] if isinstance(value, dict) else []
            for instead in tried:
                found = answer({"kind": kind, **request, key: instead})
                if isinstance(found, tuple):
                    assert all(problem.what and problem.remedy for problem in found)
                else:
                    json.dumps(found, allow_nan=False)


def test_a_risk_of_a_half_or_more_is_no_risk() -> None:
    """At 0.5 the decision limit is zero, beyond it below zero."""
    line = {"rule": "calibration_line", "x": X, "y": Y}
    for key in ("alpha", "beta"):
        assert ("calc.number-out-of-bounds", f"$.{key}") in problems({"kind": "detection_limit", **line, key: 0.5})
        assert ask("detection_limit", **line, **{key: "0.4999"})["decision_limit"] > 0


def test_an_addition_below_zero_is_none() -> None:
    found = ask("recovery", found=1, added=-1)
    assert found["percent"]["refused"]["code"] == "calc.added-zero"
    assert found["percent"]["refused"]["what"].endswith("below zero")


def test_a_concentration_below_zero_carries_a_caution() -> None:
    found = ask("standard_addition", added=[0, 1, 2, 3], y=[-0.1, 0.1, 0.31, 0.5])
    assert found["x"] < 0
    assert "below zero" in found["caution"]
    spiked = {"signal_with": 0.4, "added_volume_ml": 1, "added_concentration": 10, "sample_volume_ml": 10}
    assert "below zero" in ask("single_addition", signal_without=-0.1, **spiked)["caution"]
    assert "caution" not in ask("single_addition", signal_without=0.1, **spiked)


def test_a_prediction_outside_the_standards_says_so() -> None:
    found = ask("calibration", model="line", x=X, y=Y, predict_at=[-0.1, 0, 4, 4.1])["predictions"]
    assert ["caution" in one for one in found] == [True, False, False, True]
