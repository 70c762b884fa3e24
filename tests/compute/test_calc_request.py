"""What is said of a ``calc`` request that cannot be read: whole sentences, short enough to print, both sides told."""

from __future__ import annotations

from typing import Any

import pytest

from benchseal.compute.calc import answer
from benchseal.compute.calc_request import KINDS

from .asking import GOOD, X, Y, problems

RPD = {"kind": "rpd", "a": 1, "b": 2}
DEEP = "k" * 300


def said(request: object) -> list[tuple[str, str, str, str]]:
    """Code, place, words and remedy of every problem."""
    found = answer(request)
    assert isinstance(found, tuple), found
    return [(one.code, one.where, one.what, one.remedy) for one in found]


def test_a_kind_that_is_missing_or_unknown_is_told_what_kinds_there_are() -> None:
    known = f"known: {', '.join(KINDS)}."
    remedy = "Name one of these kinds."
    assert said({"a": 1}) == [("calc.kind-unknown", "$.kind", f"kind is missing; {known}", remedy)]
    assert said({"kind": "magic"}) == [("calc.kind-unknown", "$.kind", f'"magic" is not a kind; {known}', remedy)]
    assert said({"kind": "k" * 70}) == [
        ("calc.kind-unknown", "$.kind", f'"{"k" * 56}... is not a kind; {known}', remedy)
    ]


@pytest.mark.parametrize(
    ("value", "code", "what"),
    [
        pytest.param({1: 2}, "calc.not-json", "a key is not text.", id="a key that is a number"),
        pytest.param((1,), "calc.not-json", "a tuple is not a JSON value.", id="a tuple"),
        pytest.param(2**400, "calc.number-out-of-bounds", "the number is too large.", id="a whole number of 401 bits"),
    ],
)
def test_a_place_is_quoted_to_its_two_hundredth_sign(value: object, code: str, what: str) -> None:
    """The place of a key of 197 signs ends with it: ``$.`` before it, and a sign to spare."""
    for length in (150, 198, 199, 300):
        ((found, where, words, remedy),) = said({"kind": "rpd", "k" * length: value})
        assert (found, words) == (code, what)
        assert where == f"$.{'k' * length}"[:200]
        assert remedy.startswith("Send JSON" if code == "calc.not-json" else "Write zero, or a number between")


def test_a_whole_number_of_four_hundred_bits_is_read_and_then_found_too_large_where_it_stands() -> None:
    ((code, where, what, remedy),) = said({**RPD, "a": 2**400 - 1})
    assert (code, where, remedy) == (
        "calc.number-out-of-bounds",
        "$.a",
        "Write zero, or a number between 1e-30 and 1e30 in size.",
    )
    assert what == f"{str(2**400 - 1)[:57]}... is not accepted here."


def test_what_is_nested_too_deeply_is_refused_at_its_place() -> None:
    request: dict[str, Any] = {**RPD, "a": [[[[[[[1]]]]]]]}
    assert [code for code, *_ in said(request)] == ["calc.type-wrong"], "eight deep is read"
    deeper = {**RPD, "a": [[[[[[[[1]]]]]]]]}
    assert said(deeper) == [
        ("calc.too-deep", "$.a[0][0][0][0][0][0][0][0]", "the request is nested more than 8 deep.", "Flatten it.")
    ]


def test_fifty_thousand_values_are_read_and_one_more_is_not() -> None:
    """The request, its kind and its array are values too."""
    within = said({"kind": "statistics", "values": [1] * 49_997})
    assert [what.rpartition("; ")[2] for _, _, what, _ in within] == ["due: at most 10000 of them."]
    assert said({"kind": "statistics", "values": [1] * 49_998}) == [
        ("calc.too-many-values", "$", "the request holds more than 50000 values.", "Send fewer values.")
    ]


@pytest.mark.parametrize(
    ("changed", "due"),
    [
        pytest.param(
            {"a": True},
            ("calc.type-wrong", "$.a", "true is not of type number or string.", "Correct the value."),
            id="one of two types",
        ),
        pytest.param(
            {"c": 1}, ("calc.key-unknown", "$.c", "unknown key; known: kind, a, b.", "Remove it."), id="an unknown key"
        ),
        pytest.param(
            {"a": "1,5"},
            (
                *("calc.number-out-of-bounds", "$.a", '"1,5" is not accepted here.'),
                "Write a point as decimal mark, and no mark between thousands.",
            ),
            id="no number",
        ),
    ],
)
def test_each_problem_says_both_sides_once(changed: dict[str, object], due: tuple[str, str, str, str]) -> None:
    assert said({**RPD, **changed}) == [due]


def test_a_missing_key_is_named() -> None:
    assert said({"kind": "rpd", "a": 1}) == [("calc.key-missing", "$.b", "the key is missing.", "Add it.")]


@pytest.mark.parametrize(
    ("kind", "key", "value", "what"),
    [
        ("calibration", "x", "1", '"1" is not of type array.'),
        ("calibration", "samples", [3], "3 is not of type object."),
        ("calibration", "model", "cubic", '"cubic" is not known; known: "line", "line_through_zero", "quadratic".'),
        ("uncertainty", "terms", [{"name": "", "u": 1}], '"" is not accepted here; due: at least 1 signs.'),
    ],
)
def test_words_and_sizes_are_told_with_what_is_due(kind: str, key: str, value: object, what: str) -> None:
    found = said({"kind": kind, **GOOD[kind][0], key: value})
    assert what in [words for _, _, words, _ in found]
    assert len(found) == len({where for _, where, _, _ in found}), "one problem for each place"


def test_lengths_names_and_limits_that_do_not_fit_are_told_with_both_numbers() -> None:
    line = {"kind": "calibration", "model": "line", "x": X, "y": Y[:-1], "weighting": "given", "weights": [1]}
    assert said(line) == [
        ("calc.lengths-differ", "$.y", "y has 4 values and x has 5.", "Give one for each."),
        ("calc.lengths-differ", "$.weights", "weights has 1 values and x has 5.", "Give one for each."),
    ]
    terms = [{"name": one, "u": 1} for one in ("a", "b", "a")]
    assert said({"kind": "uncertainty", "terms": terms}) == [
        ("calc.name-twice", "$.terms[2].name", '"a" is named twice.', "Name it apart.")
    ]
    limits = {"kind": "conformity", "rule": "simple", "value": 1, "lower": "2.0", "upper": "1.5"}
    assert said(limits) == [
        (
            *("calc.limits-crossed", "$.lower", 'the lower limit "2.0" exceeds the upper limit "1.5".'),
            "Correct the limits.",
        )
    ]
    assert isinstance(answer({**limits, "upper": "2.0"}), dict), "limits that meet are limits"


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("1e30", True), ("1.0000001e30", False), ("-1e30", True), ("-1.0000001e30", False), ("1e-30", True),
        ("9.9e-31", False), ("-1e-30", True), ("-9.9e-31", False), ("0", True), ("1" * 31, False), (".5", True),
        ("0." + "1" * 62, True), ("0." + "1" * 63, False), ("1e0001", False), ("1e+01", True), ("5.", True),
        ("+5", True), (".", False),
    ],
)  # fmt: skip
def test_numbers_are_read_up_to_their_bounds(text: str, read: bool) -> None:
    found = answer({**RPD, "a": text, "b": 1})
    assert isinstance(found, dict) == read
    if not read:
        assert problems({**RPD, "a": text}) == [("calc.number-out-of-bounds", "$.a")]


def bounds(kind: str, key: str, *values: object) -> list[bool]:
    """Whether each is accepted for the key."""
    request = {"kind": kind, **GOOD[kind][0]}
    return [isinstance(answer({**request, key: one}), dict) for one in values]


def test_each_range_ends_where_the_manual_says() -> None:
    dilution = {**GOOD["dilution_plan"][0], "kind": "dilution_plan"}
    for key, values in (("most_steps", (0, 1, 2, 3, "1.5")), ("plans", (0, 1, 50, 51, "1.5"))):
        found = [isinstance(answer({**dilution, key: one}), dict) for one in values]
        assert found == [False, True, True, False, False], key
    assert bounds("calibration", "confidence", "1e-13", "1e-12", "0.999999999999", "0.9999999999999", 0, 1) == [
        *(False, True, True, False, False, False)
    ]
    assert bounds("monte_carlo", "draws", 999, 1000, "1000.5", 2_000_001) == [False, True, False, False]
    assert bounds("monte_carlo", "seed", -1, 0, 2**32 - 1, 2**32) == [False, True, True, False]
    assert bounds("content", "moisture_fraction", "-0.1", 0, "0.999", 1) == [False, True, True, False]
    assert bounds("content", "mass_g", 0, "1e-30", -1) == [False, True, False]
    assert bounds("content", "u_mass", "-1e-30", 0) == [False, True]
    assert bounds("rounding", "k", 0, "1e-30", -1) == [False, True, False]
    rounding = {"kind": "rounding", "value": "0.2602"}
    assert [isinstance(answer({**rounding, "decimals": one}), dict) for one in (-41, -40, 40, 41)] == [
        *(False, True, True, False)
    ]
    assert bounds("pde_limit", "decimals", "-1", 0, 12, 13, "1.5") == [False, True, True, False, False]
