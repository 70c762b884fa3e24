"""``calc``: a request that cannot be read gives every Problem, each with its place."""

from __future__ import annotations

from typing import Any

import pytest

from benchseal.compute.calc import answer

from .asking import problems


@pytest.mark.parametrize(
    ("request_", "code", "where"),
    [
        pytest.param([], "calc.not-an-object", "$", id="an array"),
        pytest.param(None, "calc.not-an-object", "$", id="null"),
        pytest.param({}, "calc.kind-unknown", "$.kind", id="no kind"),
        pytest.param({"kind": "magic"}, "calc.kind-unknown", "$.kind", id="an unknown kind"),
        pytest.param({"kind": ["rpd"]}, "calc.kind-unknown", "$.kind", id="a kind in an array"),
        pytest.param({"kind": "rpd", "a": float("inf"), "b": 1}, "calc.number-out-of-bounds", "$.a", id="1e999"),
        pytest.param({"kind": "rpd", "a": "1e999", "b": 1}, "calc.number-out-of-bounds", "$.a", id="1e999 as text"),
        pytest.param({"kind": "rpd", "a": float("nan"), "b": 1}, "calc.number-out-of-bounds", "$.a", id="NaN"),
        pytest.param({"kind": "rpd", "a": "NaN", "b": 1}, "calc.number-out-of-bounds", "$.a", id="NaN as text"),
        pytest.param({"kind": "rpd", "a": 10**5000, "b": 1}, "calc.number-out-of-bounds", "$.a", id="5000 figures"),
        pytest.param(
            {"kind": "rpd", "a": "1" * 5000, "b": 1}, "calc.number-out-of-bounds", "$.a", id="5000 figures as text"
        ),
        pytest.param({"kind": "rpd", "a": "1,5", "b": 1}, "calc.number-out-of-bounds", "$.a", id="decimal comma"),
        pytest.param({"kind": "rpd", "a": "1.5\n", "b": 1}, "calc.number-out-of-bounds", "$.a", id="line end"),
        pytest.param({"kind": "rpd", "a": "٣", "b": 1}, "calc.number-out-of-bounds", "$.a", id="other digits"),
        pytest.param({"kind": "rpd", "a": "", "b": 1}, "calc.number-out-of-bounds", "$.a", id="empty text"),
        pytest.param({"kind": "rpd", "a": True, "b": 1}, "calc.type-wrong", "$.a", id="a boolean is no number"),
        pytest.param({"kind": "rpd", "a": None, "b": 1}, "calc.type-wrong", "$.a", id="null is no number"),
        pytest.param({"kind": "rpd", "a": {1: 2}, "b": 1}, "calc.not-json", "$.a", id="a key that is no text"),
        pytest.param({"kind": "rpd", "a": (1, 2), "b": 1}, "calc.not-json", "$.a", id="not a JSON value"),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1, 2], "y": [1]},
            "calc.lengths-differ",
            "$.y",
            id="unequal lengths",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "weights": [1]},
            "calc.keys-do-not-fit",
            "$",
            id="weights without given",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "weighting": "given"},
            "calc.key-missing",
            "$.weights",
            id="given without weights",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "s0": 1},
            "calc.keys-do-not-fit",
            "$",
            id="s0 without a variance function",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "weighting": "variance_function", "s0": 1},
            "calc.key-missing",
            "$.k",
            id="a variance function without k",
        ),
        pytest.param(
            {
                "kind": "calibration",
                "model": "line",
                "x": [1],
                "y": [1],
                "weighting": "variance_function",
                "s0": -1,
                "k": 1,
            },
            "calc.number-out-of-bounds",
            "$.s0",
            id="s0 below zero",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "weighting": "1/s2", "variance": "known"},
            "calc.keys-do-not-fit",
            "$",
            id="1/s2 as if s were known",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "weighting": "none", "variance": "known"},
            "calc.keys-do-not-fit",
            "$",
            id="known variance without a weight",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "variance": "known"},
            "calc.keys-do-not-fit",
            "$",
            id="known variance, weighting left out",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "weighting": "1/x", "variance": "known"},
            "calc.keys-do-not-fit",
            "$",
            id="1/x as if it were 1/u2",
        ),
        pytest.param(
            {"kind": "outlier", "test": "grubbs", "values": [1], "end": "low", "sides": 2},
            "calc.keys-do-not-fit",
            "$",
            id="an end and both sides",
        ),
        pytest.param(
            {"kind": "outlier", "test": "dixon", "values": [1], "end": "low"},
            "calc.keys-do-not-fit",
            "$",
            id="an end, sides left out",
        ),
        pytest.param(
            {"kind": "outlier", "test": "dixon", "values": [1], "end": "left", "sides": 1},
            "calc.word-unknown",
            "$.end",
            id="an unknown end",
        ),
        pytest.param(
            {"kind": "calibration", "model": "cubic", "x": [1], "y": [1]},
            "calc.word-unknown",
            "$.model",
            id="an unknown model",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "samples": [{"y": 1, "readings": 0}]},
            "calc.number-out-of-bounds",
            "$.samples[0].readings",
            id="no readings",
        ),
        pytest.param(
            {"kind": "calibration", "model": "line", "x": [1], "y": [1], "confidence": 1},
            "calc.number-out-of-bounds",
            "$.confidence",
            id="certainty",
        ),
        pytest.param(
            {"kind": "detection_limit", "rule": "mdl", "spiked": [1], "k": 3},
            "calc.key-unknown",
            "$.k",
            id="a key of another rule",
        ),
        pytest.param(
            {"kind": "detection_limit", "rule": "mdl_pooled", "variances": [1]},
            "calc.key-missing",
            "$.n",
            id="a key of the rule missing",
        ),
        pytest.param(
            {"kind": "detection_limit", "rule": "mdl", "spiked": [1], "blanks": ["nd"]},
            "calc.number-out-of-bounds",
            "$.blanks[0]",
            id="a word that is not ND",
        ),
        pytest.param({"kind": "conformity", "rule": "simple", "value": 1}, "calc.keys-do-not-fit", "$", id="no limit"),
        pytest.param(
            {"kind": "conformity", "rule": "simple", "value": 1, "upper": 1, "lower": 2},
            "calc.limits-crossed",
            "$.lower",
            id="limits crossed",
        ),
        pytest.param(
            {
                "kind": "conformity",
                "rule": "simple",
                "value": 1,
                "upper": "1.0000000000000000000000000000000000000000e-30",
            },
            "calc.number-out-of-bounds",
            "$.upper",
            id="a limit that cannot be printed",
        ),
        pytest.param({"kind": "rounding", "value": 1}, "calc.keys-do-not-fit", "$", id="nothing to round to"),
        pytest.param(
            {"kind": "rounding", "value": 1, "decimals": 1, "significant": 1},
            "calc.keys-do-not-fit",
            "$",
            id="two ways to round",
        ),
        pytest.param(
            {"kind": "rounding", "value": 1, "decimals": 10**9},
            "calc.number-out-of-bounds",
            "$.decimals",
            id="a billion places",
        ),
        pytest.param(
            {"kind": "uncertainty", "terms": [{"name": "a", "u": 1}, {"name": "a", "u": 1}]},
            "calc.name-twice",
            "$.terms[1].name",
            id="a name twice",
        ),
        pytest.param(
            {"kind": "uncertainty", "terms": [{"name": "a", "u": -1}]},
            "calc.number-out-of-bounds",
            "$.terms[0].u",
            id="a negative u",
        ),
        pytest.param(
            {"kind": "content", "solution_mg_per_l": 1, "volume_ml": 1, "mass_g": 0},
            "calc.number-out-of-bounds",
            "$.mass_g",
            id="no mass",
        ),
        pytest.param(
            {"kind": "content", "solution_mg_per_l": 1, "volume_ml": 1, "mass_g": 1, "moisture_fraction": 1},
            "calc.number-out-of-bounds",
            "$.moisture_fraction",
            id="all water",
        ),
        pytest.param(
            {"kind": "content", "solution_mg_per_l": 1, "volume_ml": 1, "mass_g": 1, "blank_mg_per_l": 1},
            "calc.keys-do-not-fit",
            "$",
            id="a blank of unknown dilution is not guessed",
        ),
        pytest.param(
            {"kind": "drift", "check_blank": [[0, 1]], "check_standard": [], "samples": []},
            "calc.number-out-of-bounds",
            "$.check_blank",
            id="one check",
        ),
    ],
)
def test_problems(request_: object, code: str, where: str) -> None:
    assert (code, where) in problems(request_)


def test_every_problem_is_said_at_once() -> None:
    found = problems({"kind": "calibration", "model": 3, "x": [1e999], "y": "a", "q": 1, "samples": [{"weight": -1}]})
    assert {where for _, where in found} == {"$.model", "$.x[0]", "$.y", "$.q", "$.samples[0].y", "$.samples[0].weight"}


@pytest.mark.parametrize("depth", [9, 100, 100_000])
def test_deep_nesting_is_one_problem(depth: int) -> None:
    value: Any = 1
    for _ in range(depth):
        value = [value]
    assert [code for code, _ in problems({"kind": "rpd", "a": value, "b": 1})] == ["calc.too-deep"]


def test_size_is_bounded() -> None:
    assert problems({"kind": "statistics", "values": [1] * 60_000}) == [("calc.too-many-values", "$")]


def test_every_problem_has_a_remedy_and_no_word_of_the_schema_language() -> None:
    """A list too short, and keys that do not go together."""
    asked: tuple[dict[str, object], ...] = (
        {"kind": "rounding", "value": 1},
        {"kind": "drift", "check_blank": [[0, 1]], "check_standard": [[0, 1], [1, 1]], "samples": []},
    )
    for request in asked:
        found = answer(request)
        assert isinstance(found, tuple), request
        assert all(problem.remedy for problem in found)
        assert not any("Items" in problem.what for problem in found)
