"""``calc``: a refusal stands in the place of the value it concerns."""

from __future__ import annotations

from typing import Any

import pytest

from .asking import X, Y, ask

CURVED = [0.0, 0.19, 0.36, 0.51, 0.64]  # vertex beyond the standards


@pytest.mark.parametrize(
    ("kind", "more", "path", "code"),
    [
        pytest.param(
            "calibration", {"model": "line", "x": [], "y": []}, ("coefficients",), "too-few-points", id="no points"
        ),
        pytest.param(
            "calibration",
            {"model": "quadratic", "x": [1, 2, 3], "y": [1, 2, 3]},
            ("residual_sd",),
            "too-few-points",
            id="n = p",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": [2, 2, 2], "y": [1, 2, 3]},
            ("refused",),
            "x-not-spread",
            id="all x equal",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": [2, 2, 2], "y": [1, 2, 3], "samples": [{"y": 1}]},
            ("samples", 0),
            "not-fitted",
            id="samples of no fit",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "weighting": "1/x", "x": X, "y": Y},
            ("covariance",),
            "weight-at-zero",
            id="1/x at zero",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "weighting": "variance_function", "s0": 0, "k": "0.02", "x": X, "y": Y},
            ("covariance",),
            "weight-at-zero",
            id="a variance function without a constant part at zero",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "weighting": "variance_function", "s0": 0, "k": 0, "x": [1, 2, 3], "y": [1, 2, 4]},
            ("coefficients",),
            "weight-not-positive",
            id="a variance function of nothing",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "weighting": "1/s2", "x": [0, 0, 1, 1, 2], "y": [0, 1, 2, 3, 4]},
            ("coefficients",),
            "level-readings-few",
            id="a level read once under 1/s2",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "weighting": "1/s2", "x": [0, 0, 1, 1, 2, 2], "y": [0, 0, 2, 3, 4, 5]},
            ("refused",),
            "level-without-scatter",
            id="a level of equal readings under 1/s2",
        ),
        pytest.param(
            "calibration",
            {"model": "line_through_zero", "x": [2, 2, 2], "y": [1, 2, 3]},
            ("free_intercept",),
            "x-not-spread",
            id="no free line beside the one through zero",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": [0, 0, 1, 2, 3, 3], "y": [0, 0, 1, 2, 3, 4]},
            ("homogeneity",),
            "no-scatter",
            id="equal readings of the lowest level",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": X, "y": [1, 1, 1, 1, 1]},
            ("r_squared",),
            "all-equal",
            id="all y equal",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": X, "y": [0.3] * 5, "samples": [{"y": 0.3}]},
            ("samples", 0),
            "not-rising",
            id="a flat line",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": X, "y": Y},
            ("back_calculated_percent_error", 0),
            "zero-x",
            id="percent of zero",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": X, "y": [0, 1, 2, 3, 4]},
            ("mandel",),
            "no-scatter",
            id="a perfect line",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": [1, 1, 2, 2], "y": [1, 1.1, 2, 2.1]},
            ("mandel",),
            "x-not-spread",
            id="two levels",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": [1, 2, 4], "y": [1, 1.1, 2]},
            ("mandel",),
            "too-few-points",
            id="three points",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": X, "y": Y, "samples": [{"y": 0.9}]},
            ("samples", 0),
            "over-range",
            id="above the standards",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": X[1:], "y": Y[1:], "samples": [{"y": 0.1}]},
            ("samples", 0),
            "below-lowest",
            id="below the standards",
        ),
        pytest.param(
            "calibration",
            {"model": "quadratic", "x": X, "y": CURVED, "samples": [{"y": 1.5}]},
            ("samples", 0),
            "no-root",
            id="above the maximum",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "weighting": "given", "weights": [1] * 5, "x": X, "y": Y, "samples": [{"y": 0.3}]},
            ("samples", 0),
            "no-weight",
            id="a sample without weight",
        ),
        pytest.param(
            "calibration",
            {"model": "line", "x": X, "y": [1, 9, 2, 8, 3], "samples": [{"y": 4.5}]},
            ("samples", 0),
            "slope-not-significant",
            id="a slope in noise",
        ),
        pytest.param("standard_addition", {"added": [0, 1], "y": [1, 2]}, ("x",), "too-few-points", id="two additions"),
        pytest.param(
            "standard_addition", {"added": [0, 1, 2], "y": [3, 2, 1.1]}, ("x",), "not-rising", id="falling additions"
        ),
        pytest.param(
            "detection_limit", {"rule": "mdl", "spiked": [1, 2, 3]}, ("mdl",), "too-few", id="three spiked samples"
        ),
        pytest.param(
            "detection_limit",
            {"rule": "mdl", "spiked": [1] * 7},
            ("mdl",),
            "no-spread",
            id="no spread of spiked samples",
        ),
        pytest.param(
            "detection_limit",
            {"rule": "mdl", "spiked": [1, 2, 3, 4, 5, 6, 7], "blanks": ["ND"]},
            ("mdl_blank",),
            "no-blank-number",
            id="all blanks ND",
        ),
        pytest.param(
            "detection_limit",
            {"rule": "mdl", "spiked": [1, 2, 3, 4, 5, 6, 7], "blanks": ["0.1"]},
            ("mdl",),
            "too-few",
            id="a single blank",
        ),
        pytest.param(
            "detection_limit",
            {"rule": "mdl", "spiked": [1, 2, 3, 4, 5, 6], "blanks": [0.1, 0.2]},
            ("mdl_spiked",),
            "too-few",
            id="six spiked samples",
        ),
        pytest.param(
            "detection_limit",
            {"rule": "calibration_line", "x": X * 4, "y": [x + e for e in (0.6, -0.6, 0.5, -0.5) for x in X]},
            ("quantification_limit",),
            "limit-above-standards",
            id="a limit above the standards",
        ),
        pytest.param(
            "detection_limit", {"rule": "mdl_pooled", "variances": [], "n": []}, ("mdl",), "too-few", id="no groups"
        ),
        pytest.param(
            "detection_limit",
            {"rule": "calibration_line", "x": [1, 2], "y": [1, 2]},
            ("decision_limit",),
            "too-few-points",
            id="two points",
        ),
        pytest.param(
            "detection_limit",
            {"rule": "calibration_line", "x": X, "y": [1, 3, 2.5, 6, 7.5], "k": 20},
            ("quantification_limit",),
            "no-quantification",
            id="too much noise",
        ),
        pytest.param("outlier", {"test": "grubbs", "values": [1, 2]}, ("statistic",), "too-few", id="two values"),
        pytest.param("outlier", {"test": "grubbs", "values": [1, 1, 1]}, ("flagged",), "no-spread", id="equal values"),
        pytest.param(
            "outlier",
            {"test": "dixon", "values": [1, 2, 4], "alpha": 0.2},
            ("critical",),
            "alpha-not-tabled",
            id="alpha not in the table",
        ),
        pytest.param("statistics", {"values": []}, ("mean",), "too-few", id="no values"),
        pytest.param("statistics", {"values": [1]}, ("sd",), "too-few", id="one value"),
        pytest.param(
            "statistics",
            {"values": [0.1, 0.1]},
            ("lag1_autocorrelation",),
            "no-spread",
            id="equal values have no correlation",
        ),
        pytest.param("statistics", {"values": [-1, 1]}, ("rsd_percent",), "zero-mean", id="mean zero"),
        pytest.param(
            "conformity", {"rule": "guarded", "value": 1, "upper": 2}, ("verdict",), "u-missing", id="a guard without u"
        ),
        pytest.param(
            "conformity",
            {"rule": "guarded", "value": 1, "upper": 2, "lower": 0, "u": 6},
            ("verdict",),
            "unusable-specification",
            id="guards meet",
        ),
        pytest.param(
            "conformity",
            {"rule": "simple", "value": 1, "upper": 2},
            ("probability",),
            "u-missing",
            id="no u, no probability",
        ),
        pytest.param(
            "conformity", {"rule": "simple", "value": 1, "upper": 2, "u": 0}, ("probability",), "u-zero", id="u zero"
        ),
        pytest.param(
            "conformity",
            {"rule": "simple", "value": "< 3", "upper": 2},
            ("verdict",),
            "limit-above-upper",
            id="below 3 says nothing of 2",
        ),
        pytest.param(
            "conformity",
            {"rule": "pharma", "value": "1" * 30, "upper": f"2.{'0' * 30}"},
            ("verdict",),
            "too-many-digits",
            id="sixty figures",
        ),
        pytest.param(
            "rounding", {"value": "1" * 30, "decimals": 30}, ("text",), "too-many-digits", id="sixty figures of text"
        ),
        pytest.param(
            "rounding", {"value": 1, "u": 0}, ("expanded_text",), "expanded-not-positive", id="u zero names no place"
        ),
        pytest.param("uncertainty", {"terms": []}, ("u",), "too-few", id="no terms"),
        pytest.param("uncertainty", {"terms": [{"name": "a", "u": 0}]}, ("shares_percent",), "zero-u", id="all zero"),
        pytest.param(
            "uncertainty", {"terms": [{"name": "a", "u": 1, "df": 0.5}]}, ("k",), "df-below-one", id="half a degree"
        ),
        pytest.param(
            "drift",
            {"check_blank": [[1, 0], [0, 0]], "check_standard": [[0, 1], [1, 1]], "samples": [[0, 1]]},
            ("samples", 0),
            "positions-equal",
            id="checks out of order",
        ),
        pytest.param(
            "drift",
            {"check_blank": [[0, 0], [1, 0]], "check_standard": [[0, 0], [1, 1]], "samples": []},
            ("drift_percent",),
            "no-sensitivity",
            id="a dead standard",
        ),
        pytest.param(
            "drift",
            {"check_blank": [[0, 0], [1, 0]], "check_standard": [[0, 1], [1, 1]], "samples": [[2, 1]]},
            ("samples", 0),
            "not-bracketed",
            id="after the last check",
        ),
        pytest.param(
            "drift",
            {"check_blank": [[2, 0], [9, 0.07]], "check_standard": [[0, 0.3], [20, 0.3]], "samples": [[19, 0.1]]},
            ("samples", 0),
            "not-bracketed",
            id="after the last blank, before the last standard",
        ),
        pytest.param(
            "detection_limit",
            {"rule": "calibration_line", "x": [1, 2, 3, 4], "y": [1, 3, 1.5, 2.6]},
            ("detection_limit",),
            "slope-not-significant",
            id="a slope that could be none",
        ),
        pytest.param("recovery", {"found": 1, "added": 0}, ("percent",), "added-zero", id="nothing added"),
        pytest.param("rpd", {"a": 1, "b": -1}, ("percent",), "mean-not-positive", id="mean zero pair"),
    ],
)
def test_refusals_stand_in_place(kind: str, more: dict[str, Any], path: tuple[str | int, ...], code: str) -> None:
    value: Any = ask(kind, **more)
    for step in path:
        value = value[step]
    inner = value if path == ("refused",) else value["refused"]
    assert inner["code"] == f"calc.{code}"
    assert inner["what"]
    assert inner["remedy"]
