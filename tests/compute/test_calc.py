"""``calc``: each kind answers, refuses in place, and names every Problem; nothing sent makes it fall over."""

from __future__ import annotations

import json
from typing import Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from benchseal.compute.calc import answer
from benchseal.compute.calc_answer import refused
from benchseal.compute.calc_request import KINDS
from benchseal.problems import Problem
from benchseal.shipped import schema

X, Y = [0, 1, 2, 3, 4], ["0.001", 0.21, 0.405, 0.61, 0.795]

# One good request of each kind, and the keys its answer promises.
GOOD: dict[str, tuple[dict[str, Any], set[str]]] = {
    "calibration": (
        {"model": "line", "x": X, "y": Y, "samples": [{"y": 0.3, "readings": 3}], "predict_at": [2.5]},
        {
            "n", "df", "coefficients", "standard_errors", "covariance", "residual_sd", "r_squared", "mandel",
            "back_calculated_percent_error", "rse_percent", "samples", "predictions",
        },
    ),
    "standard_addition": (
        {"added": X, "y": [0.2, 0.41, 0.6, 0.79, 1.0]},
        {"x", "u", "df", "half_width", "coefficients", "residual_sd"},
    ),
    "detection_limit": (
        {"rule": "mdl", "spiked": [1, 1.1, 0.9, 1.05, 0.95, 1, 1.02], "blanks": ["ND", "0.1"]},
        {"mdl", "mdl_spiked", "mdl_blank", "t", "df"},
    ),
    "outlier": ({"test": "dixon", "values": [1, 2, 9]}, {"statistic", "critical", "flagged", "index"}),
    "statistics": ({"values": [1, 2, "4.0"]}, {"n", "mean", "sd", "rsd_percent", "lag1_autocorrelation"}),
    "conformity": (
        {"rule": "guarded", "value": "0.27", "u": "0.01", "k": "2", "upper": "0.30"},
        {"verdict", "acceptance_upper", "probability"},
    ),
    "rounding": ({"value": "0.2602", "u": "0.0178"}, {"value_text", "expanded_text"}),
    "uncertainty": (
        {"terms": [{"name": "a", "u": 1, "df": 4}, {"name": "b", "u": 2}]},
        {"u", "df_effective", "k", "expanded", "shares_percent"},
    ),
    "content": (
        {"solution_mg_per_l": 0.5, "blank_mg_per_l": 0.01, "blank_was": "undiluted", "dilution": 10,
         "volume_ml": 50, "mass_g": "0.5", "u_solution": 0.01, "u_blank": 0.001},
        {"mg_per_kg", "u", "basis", "shares_percent"},
    ),
    "drift": (
        {"check_blank": [[0, 0.001], [9, 0.002]], "check_standard": [[0, 0.2], [9, 0.19]], "samples": [[4, 0.1]]},
        {"drift_percent", "samples"},
    ),
    "recovery": ({"found": 1.1, "added": 1, "native": "0.1"}, {"percent"}),
    "rpd": ({"a": 1, "b": 1.1}, {"percent"}),
}  # fmt: skip


def ask(kind: str, **more: Any) -> dict[str, Any]:
    """The answer to a request, checked to be strict JSON without null."""
    found = answer({"kind": kind, **more})
    assert isinstance(found, dict), [str(problem) for problem in found]
    _strict(found)
    return cast("dict[str, Any]", found)


def problems(request: Any) -> list[tuple[str, str]]:
    found = answer(request)
    assert isinstance(found, tuple), found
    assert all(isinstance(problem, Problem) and str(problem).isprintable() for problem in found)
    return [(problem.code, problem.where) for problem in found]


def _strict(value: Any) -> None:
    json.dumps(value, allow_nan=False)
    assert value is not None
    for one in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        _strict(one)


def test_every_kind_has_a_good_request() -> None:
    assert tuple(GOOD) == KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_answers_with_the_promised_keys(kind: str) -> None:
    request, keys = GOOD[kind]
    found = ask(kind, **request)
    assert (found["kind"], found["schema_version"]) == (kind, 1)
    assert keys <= set(found)
    assert "refused" not in json.dumps({key: found[key] for key in keys - {"back_calculated_percent_error"}})


@pytest.mark.parametrize("kind", KINDS)
def test_each_schema_is_a_described_schema(kind: str) -> None:
    text = json.loads(schema(f"calc/{kind}"))
    Draft202012Validator.check_schema(text)
    assert text["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert text["description"]
    assert all("description" in one for name, one in text["properties"].items() if name != "kind")


@pytest.mark.parametrize("kind", KINDS)
def test_each_missing_unknown_or_mistyped_key_is_named(kind: str) -> None:
    request, _ = GOOD[kind]
    required = json.loads(schema(f"calc/{kind}"))["required"]
    found = problems({"kind": kind, "colour": 1})
    assert ("calc.key-unknown", "$.colour") in found
    for key in required:
        if key != "kind":
            assert ("calc.key-missing", f"$.{key}") in found
            wrong = problems({"kind": kind, **request, key: True})
            assert any(where == f"$.{key}" for _, where in wrong), (key, wrong)


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
        pytest.param({"kind": "rpd", "a": "1" * 5000, "b": 1}, "calc.number-out-of-bounds", "$.a", id="5000 figures as text"),
        pytest.param({"kind": "rpd", "a": "1,5", "b": 1}, "calc.number-out-of-bounds", "$.a", id="decimal comma"),
        pytest.param({"kind": "rpd", "a": "1.5\n", "b": 1}, "calc.number-out-of-bounds", "$.a", id="line end"),
        pytest.param({"kind": "rpd", "a": "٣", "b": 1}, "calc.number-out-of-bounds", "$.a", id="other digits"),
        pytest.param({"kind": "rpd", "a": "", "b": 1}, "calc.number-out-of-bounds", "$.a", id="empty text"),
        pytest.param({"kind": "rpd", "a": True, "b": 1}, "calc.type-wrong", "$.a", id="a boolean is no number"),
        pytest.param({"kind": "rpd", "a": None, "b": 1}, "calc.type-wrong", "$.a", id="null is no number"),
        pytest.param({"kind": "rpd", "a": {1: 2}, "b": 1}, "calc.not-json", "$.a", id="a key that is no text"),
        pytest.param({"kind": "rpd", "a": (1, 2), "b": 1}, "calc.not-json", "$.a", id="not a JSON value"),
        pytest.param({"kind": "calibration", "model": "line", "x": [1, 2], "y": [1]}, "calc.lengths-differ", "$.y", id="unequal lengths"),
        pytest.param({"kind": "calibration", "model": "line", "x": [1], "y": [1], "weights": [1]}, "calc.keys-do-not-fit", "$", id="weights without given"),
        pytest.param({"kind": "calibration", "model": "line", "x": [1], "y": [1], "weighting": "given"}, "calc.key-missing", "$.weights", id="given without weights"),
        pytest.param({"kind": "calibration", "model": "cubic", "x": [1], "y": [1]}, "calc.word-unknown", "$.model", id="an unknown model"),
        pytest.param({"kind": "calibration", "model": "line", "x": [1], "y": [1], "samples": [{"y": 1, "readings": 0}]}, "calc.number-out-of-bounds", "$.samples[0].readings", id="no readings"),
        pytest.param({"kind": "calibration", "model": "line", "x": [1], "y": [1], "confidence": 1}, "calc.number-out-of-bounds", "$.confidence", id="certainty"),
        pytest.param({"kind": "detection_limit", "rule": "mdl", "spiked": [1], "k": 3}, "calc.key-unknown", "$.k", id="a key of another rule"),
        pytest.param({"kind": "detection_limit", "rule": "mdl_pooled", "variances": [1]}, "calc.key-missing", "$.n", id="a key of the rule missing"),
        pytest.param({"kind": "detection_limit", "rule": "mdl", "spiked": [1], "blanks": ["nd"]}, "calc.number-out-of-bounds", "$.blanks[0]", id="a word that is not ND"),
        pytest.param({"kind": "conformity", "rule": "simple", "value": 1}, "calc.keys-do-not-fit", "$", id="no limit"),
        pytest.param({"kind": "conformity", "rule": "simple", "value": 1, "upper": 1, "lower": 2}, "calc.limits-crossed", "$.lower", id="limits crossed"),
        pytest.param({"kind": "conformity", "rule": "simple", "value": 1, "upper": "1e-90"}, "calc.number-out-of-bounds", "$.upper", id="a limit that cannot be printed"),
        pytest.param({"kind": "rounding", "value": 1}, "calc.keys-do-not-fit", "$", id="nothing to round to"),
        pytest.param({"kind": "rounding", "value": 1, "decimals": 1, "significant": 1}, "calc.keys-do-not-fit", "$", id="two ways to round"),
        pytest.param({"kind": "rounding", "value": 1, "decimals": 10**9}, "calc.number-out-of-bounds", "$.decimals", id="a billion places"),
        pytest.param({"kind": "uncertainty", "terms": [{"name": "a", "u": 1}, {"name": "a", "u": 1}]}, "calc.name-twice", "$.terms[1].name", id="a name twice"),
        pytest.param({"kind": "uncertainty", "terms": [{"name": "a", "u": -1}]}, "calc.number-out-of-bounds", "$.terms[0].u", id="a negative u"),
        pytest.param({"kind": "content", "solution_mg_per_l": 1, "volume_ml": 1, "mass_g": 0}, "calc.number-out-of-bounds", "$.mass_g", id="no mass"),
        pytest.param({"kind": "content", "solution_mg_per_l": 1, "volume_ml": 1, "mass_g": 1, "moisture_fraction": 1}, "calc.number-out-of-bounds", "$.moisture_fraction", id="all water"),
        pytest.param({"kind": "content", "solution_mg_per_l": 1, "volume_ml": 1, "mass_g": 1, "blank_mg_per_l": 1}, "calc.keys-do-not-fit", "$", id="a blank of unknown dilution is not guessed"),
        pytest.param({"kind": "drift", "check_blank": [[0, 1]], "check_standard": [], "samples": []}, "calc.number-out-of-bounds", "$.check_blank", id="one check"),
    ],
)  # fmt: skip
def test_problems(request_: Any, code: str, where: str) -> None:
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


CURVED = [0.0, 0.19, 0.36, 0.51, 0.64]  # vertex beyond the standards


@pytest.mark.parametrize(
    ("kind", "more", "path", "code"),
    [
        pytest.param("calibration", {"model": "line", "x": [], "y": []}, ("coefficients",), "too-few-points", id="no points"),
        pytest.param("calibration", {"model": "quadratic", "x": [1, 2, 3], "y": [1, 2, 3]}, ("residual_sd",), "too-few-points", id="n = p"),
        pytest.param("calibration", {"model": "line", "x": [2, 2, 2], "y": [1, 2, 3]}, ("refused",), "x-not-spread", id="all x equal"),
        pytest.param("calibration", {"model": "line", "x": [2, 2, 2], "y": [1, 2, 3], "samples": [{"y": 1}]}, ("samples", 0), "not-fitted", id="samples of no fit"),
        pytest.param("calibration", {"model": "line", "weighting": "1/x", "x": X, "y": Y}, ("covariance",), "weight-at-zero", id="1/x at zero"),
        pytest.param("calibration", {"model": "line", "x": X, "y": [1, 1, 1, 1, 1]}, ("r_squared",), "all-equal", id="all y equal"),
        pytest.param("calibration", {"model": "line", "x": X, "y": [0.3] * 5, "samples": [{"y": 0.3}]}, ("samples", 0), "not-rising", id="a flat line"),
        pytest.param("calibration", {"model": "line", "x": X, "y": Y}, ("back_calculated_percent_error", 0), "zero-x", id="percent of zero"),
        pytest.param("calibration", {"model": "line", "x": X, "y": [0, 1, 2, 3, 4]}, ("mandel",), "no-scatter", id="a perfect line"),
        pytest.param("calibration", {"model": "line", "x": [1, 1, 2, 2], "y": [1, 1.1, 2, 2.1]}, ("mandel",), "x-not-spread", id="two levels"),
        pytest.param("calibration", {"model": "line", "x": [1, 2, 4], "y": [1, 1.1, 2]}, ("mandel",), "too-few-points", id="three points"),
        pytest.param("calibration", {"model": "line", "x": X, "y": Y, "samples": [{"y": 0.9}]}, ("samples", 0), "over-range", id="above the standards"),
        pytest.param("calibration", {"model": "line", "x": X[1:], "y": Y[1:], "samples": [{"y": 0.1}]}, ("samples", 0), "below-lowest", id="below the standards"),
        pytest.param("calibration", {"model": "quadratic", "x": X, "y": CURVED, "samples": [{"y": 1.5}]}, ("samples", 0), "no-root", id="above the maximum"),
        pytest.param("calibration", {"model": "line", "weighting": "given", "weights": [1] * 5, "x": X, "y": Y, "samples": [{"y": 0.3}]}, ("samples", 0), "no-weight", id="a sample without weight"),
        pytest.param("calibration", {"model": "line", "x": X, "y": [1, 9, 2, 8, 3], "samples": [{"y": 4.5}]}, ("samples", 0), "slope-not-significant", id="a slope in noise"),
        pytest.param("standard_addition", {"added": [0, 1], "y": [1, 2]}, ("x",), "too-few-points", id="two additions"),
        pytest.param("standard_addition", {"added": [0, 1, 2], "y": [3, 2, 1.1]}, ("x",), "not-rising", id="falling additions"),
        pytest.param("detection_limit", {"rule": "mdl", "spiked": [1, 2, 3]}, ("mdl",), "too-few", id="three spiked samples"),
        pytest.param("detection_limit", {"rule": "mdl", "spiked": [1] * 7}, ("mdl",), "no-spread", id="no spread of spiked samples"),
        pytest.param("detection_limit", {"rule": "mdl", "spiked": [1, 2, 3, 4, 5, 6, 7], "blanks": ["ND"]}, ("mdl_blank",), "no-blank-number", id="all blanks ND"),
        pytest.param("detection_limit", {"rule": "mdl_pooled", "variances": [], "n": []}, ("mdl",), "too-few", id="no groups"),
        pytest.param("detection_limit", {"rule": "calibration_line", "x": [1, 2], "y": [1, 2]}, ("decision_limit",), "too-few-points", id="two points"),
        pytest.param("detection_limit", {"rule": "calibration_line", "x": X, "y": [1, 9, 2, 8, 9.5]}, ("quantification_limit",), "no-quantification", id="too much noise"),
        pytest.param("outlier", {"test": "grubbs", "values": [1, 2]}, ("statistic",), "too-few", id="two values"),
        pytest.param("outlier", {"test": "grubbs", "values": [1, 1, 1]}, ("flagged",), "no-spread", id="equal values"),
        pytest.param("outlier", {"test": "dixon", "values": [1, 2, 4], "alpha": 0.2}, ("critical",), "alpha-not-tabled", id="alpha not in the table"),
        pytest.param("statistics", {"values": []}, ("mean",), "too-few", id="no values"),
        pytest.param("statistics", {"values": [1]}, ("sd",), "too-few", id="one value"),
        pytest.param("statistics", {"values": [0.1, 0.1]}, ("lag1_autocorrelation",), "no-spread", id="equal values have no correlation"),
        pytest.param("statistics", {"values": [-1, 1]}, ("rsd_percent",), "zero-mean", id="mean zero"),
        pytest.param("conformity", {"rule": "guarded", "value": 1, "upper": 2}, ("verdict",), "u-missing", id="a guard without u"),
        pytest.param("conformity", {"rule": "guarded", "value": 1, "upper": 2, "lower": 0, "u": 6}, ("verdict",), "unusable-specification", id="guards meet"),
        pytest.param("conformity", {"rule": "simple", "value": 1, "upper": 2}, ("probability",), "u-missing", id="no u, no probability"),
        pytest.param("conformity", {"rule": "simple", "value": 1, "upper": 2, "u": 0}, ("probability",), "u-zero", id="u zero"),
        pytest.param("conformity", {"rule": "simple", "value": "< 3", "upper": 2}, ("verdict",), "limit-above-upper", id="below 3 says nothing of 2"),
        pytest.param("conformity", {"rule": "pharma", "value": "1" * 60, "upper": 2}, ("verdict",), "too-many-digits", id="sixty figures"),
        pytest.param("rounding", {"value": "1" * 40, "decimals": 30}, ("text",), "too-many-digits", id="seventy figures"),
        pytest.param("rounding", {"value": 1, "u": 0}, ("expanded_text",), "expanded-not-positive", id="u zero names no place"),
        pytest.param("uncertainty", {"terms": []}, ("u",), "too-few", id="no terms"),
        pytest.param("uncertainty", {"terms": [{"name": "a", "u": 0}]}, ("shares_percent",), "zero-u", id="all zero"),
        pytest.param("uncertainty", {"terms": [{"name": "a", "u": 1, "df": 0.5}]}, ("k",), "df-below-one", id="half a degree"),
        pytest.param("drift", {"check_blank": [[1, 0], [0, 0]], "check_standard": [[0, 1], [1, 1]], "samples": [[0, 1]]}, ("samples", 0), "positions-equal", id="checks out of order"),
        pytest.param("drift", {"check_blank": [[0, 0], [1, 0]], "check_standard": [[0, 0], [1, 1]], "samples": []}, ("drift_percent",), "no-sensitivity", id="a dead standard"),
        pytest.param("drift", {"check_blank": [[0, 0], [1, 0]], "check_standard": [[0, 1], [1, 1]], "samples": [[2, 1]]}, ("samples", 0), "not-bracketed", id="after the last check"),
        pytest.param("recovery", {"found": 1, "added": 0}, ("percent",), "added-zero", id="nothing added"),
        pytest.param("rpd", {"a": 1, "b": -1}, ("percent",), "mean-not-positive", id="mean zero pair"),
    ],
)  # fmt: skip
def test_refusals_stand_in_place(kind: str, more: dict[str, Any], path: tuple[str | int, ...], code: str) -> None:
    value: Any = ask(kind, **more)
    for step in path:
        value = value[step]
    inner = value if path == ("refused",) else value["refused"]
    assert inner["code"] == f"calc.{code}"
    assert inner["what"]
    assert inner["remedy"]


def test_a_wholly_refused_answer_says_so_itself() -> None:
    found = ask("calibration", model="line", x=[1], y=[1])
    assert found["refused"] == found["coefficients"]["refused"] == found["df"]["refused"]
    assert found["n"] == 1
    assert "refused" not in ask("calibration", model="line", x=X, y=Y)


def test_text_keeps_its_digits() -> None:
    """As floats these three differ by nothing the last places could show."""
    values = [f"{10**20 + n}.5" for n in (1, 2, 3)]
    assert ask("statistics", values=values)["sd"] == 1.0
    assert ask("conformity", rule="pharma", value="0.505", upper="0.50")["rounded"] == "0.51"
    assert ask("conformity", rule="simple", value=f"0.{'3' * 30}4", upper=f"0.{'3' * 30}")["verdict"] == "fail"


def test_numbers_and_text_of_the_same_value_agree() -> None:
    for kind, (request, _) in GOOD.items():
        assert ask(kind, **request) == ask(kind, **cast("dict[str, Any]", _as_text(request)))


def _as_text(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _as_text(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_as_text(one) for one in value]
    return repr(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else value


def test_infinite_degrees_of_freedom_are_a_word() -> None:
    found = ask("uncertainty", terms=[{"name": "a", "u": 1}])
    assert found["df_effective"] == "infinite"
    assert round(found["k"], 6) == 1.959964


def test_moisture_names_the_basis() -> None:
    base = {"solution_mg_per_l": 1, "volume_ml": 50, "mass_g": 1}
    assert (ask("content", **base)["mg_per_kg"], ask("content", **base)["basis"]) == (50.0, "as received")
    dry = ask("content", **base, moisture_fraction="0.5")
    assert (dry["mg_per_kg"], dry["basis"]) == (100.0, "dry")


def test_rounding_with_u_and_places() -> None:
    found = ask("rounding", value="0.26017", u="0.01784", decimals=2)
    assert (found["text"], found["value_text"], found["expanded_text"]) == ("0.26", "0.26", "0.04")


def test_an_over_range_sample_shows_its_estimate_only_in_words() -> None:
    found = ask("calibration", model="line", x=X, y=Y, samples=[{"y": 0.9}])["samples"][0]
    assert set(found) == {"refused"}
    assert "about 4.5" in found["refused"]["what"]


def test_each_refusal_has_words_and_no_number_escapes() -> None:
    with pytest.raises(KeyError):
        refused("a-word-nobody-wrote")


extreme = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True),
    st.integers(-(10**120), 10**120),
    st.sampled_from(["1e100", "-1e-100", "1e99", "0", "-0", ".5", "5.", "+1", "ND", "<1", "< 1e99", "1e-99", "", "x"]),
    st.booleans(),
    st.none(),
)
json_values = st.recursive(extreme, lambda inner: st.lists(inner, max_size=6), max_leaves=12)
keys = sorted({key for kind in KINDS for key in json.loads(schema(f"calc/{kind}"))["properties"]} - {"kind"})


@settings(deadline=None, max_examples=300)
@given(st.sampled_from(KINDS), st.dictionaries(st.sampled_from(keys), json_values, max_size=6), st.booleans())
def test_whatever_is_sent_gets_problems_or_a_strict_answer(kind: str, more: dict[str, Any], on_good: bool) -> None:
    request = {"kind": kind, **(GOOD[kind][0] if on_good else {}), **more}
    found = answer(request)
    if isinstance(found, dict):
        _strict(found)
    else:
        assert found
        assert all(problem.code.startswith("calc.") for problem in found)


sizes = st.sampled_from([0, 1, -1, 1e-100, 1e100, -1e100, 1e50, 1e-50, 3, 0.1, "1e99", 7, 1e16, 1 + 2**-52, 2])
arrays = st.lists(sizes, min_size=0, max_size=12)


@settings(deadline=None, max_examples=300)
@given(st.data())
def test_numbers_of_any_size_give_strict_answers(data: st.DataObject) -> None:
    n = data.draw(st.integers(0, 9))
    x, y = (data.draw(st.lists(sizes, min_size=n, max_size=n)) for _ in range(2))
    pick = data.draw
    pair = st.lists(st.lists(sizes, min_size=2, max_size=2), min_size=2, max_size=2)
    ask(
        "calibration",
        model=pick(st.sampled_from(["line", "line_through_zero", "quadratic"])),
        weighting=pick(st.sampled_from(["none", "1/x", "1/x2"])),
        variance=pick(st.sampled_from(["estimated", "known"])),
        x=x,
        y=y,
        samples=[{"y": one} for one in pick(arrays)],
        predict_at=pick(arrays),
    )
    ask("standard_addition", added=x, y=y)
    ask("detection_limit", rule="calibration_line", x=x, y=y)
    ask("detection_limit", rule="mdl", spiked=pick(arrays), blanks=pick(arrays))
    ask("outlier", test=pick(st.sampled_from(["grubbs", "dixon"])), values=x)
    ask("statistics", values=pick(arrays))
    ask(
        "drift",
        check_blank=pick(pair),
        check_standard=pick(pair),
        samples=pick(st.lists(st.tuples(sizes, sizes).map(list))),
    )
    ask("recovery", found=pick(sizes), added=pick(sizes), native=pick(sizes))
    ask("rpd", a=pick(sizes), b=pick(sizes))
    positive = sizes.filter(lambda size: float(size) > 0)
    ask(
        "uncertainty",
        terms=[{"name": str(n), "u": u, "df": pick(positive)} for n, u in enumerate(pick(st.lists(positive)))],
    )
    ask(
        "content",
        solution_mg_per_l=pick(sizes),
        volume_ml=pick(positive),
        mass_g=pick(positive),
        dilution=pick(positive),
        u_mass=pick(positive),
    )
