"""Worked examples: a figure that is not the source's is named, and a file that is none is refused with its place."""

from __future__ import annotations

import json
from typing import Any

import pytest

from benchseal.compute.worked_examples import Compared, compare, examples_of
from benchseal.shipped import starter

LINE = {"kind": "calibration", "model": "line", "x": [0, 1, 2, 3], "y": [1, 3, 5, 7.1]}


def one(*expect: dict[str, Any], ask: dict[str, Any] | None = None) -> tuple[Compared, ...]:
    example = {"id": "own", "source": "a hand calculation", "confirmed": "yes", "ask": ask or LINE}
    (read,) = examples_of({"examples": [{**example, "expect": [*expect]}]})
    return compare(read)


@pytest.mark.parametrize(
    ("expected", "holds"),
    [
        ({"at": "n", "equals": 4}, True),
        ({"at": "n", "equals": 5}, False),
        ({"at": "n", "equals": True}, False),
        ({"at": "kind", "equals": "calibration"}, True),
        ({"at": "coefficients/1", "printed": "2.03"}, True),
        ({"at": "coefficients/1", "printed": "2.04"}, False),
        ({"at": "coefficients/1", "value": "2.03", "digits": 12}, True),
        ({"at": "coefficients/1", "value": "2.031", "digits": 3}, True),
        ({"at": "coefficients/1", "value": "2.031", "digits": 4}, False),
        ({"at": "coefficients/7", "printed": "2.03"}, False),
        ({"at": "nothing/here", "printed": "2.03"}, False),
        ({"at": "coefficients", "printed": "2.03"}, False),
        ({"at": "kind", "value": "1", "digits": 3}, False),
    ],
)
def test_a_figure_holds_or_not(expected: dict[str, Any], holds: bool) -> None:
    (found,) = one(expected)
    assert found.holds is holds
    assert found.expected
    assert found.found


def test_a_half_goes_away_from_zero() -> None:
    ask = {"kind": "recovery", "found": 1.0125, "added": 1, "native": 0}  # 101.25 %
    assert [each.found for each in one({"at": "percent", "printed": "101.3"}, ask=ask)] == ["101.3"]


def test_a_question_with_problems_holds_nothing() -> None:
    found = one({"at": "n", "equals": 4}, {"at": "df", "equals": 2}, ask={"kind": "calibration"})
    assert [each.holds for each in found] == [False, False]
    assert all(each.found.startswith("no answer: ") for each in found)


def test_a_refusal_is_no_figure() -> None:
    (found,) = one({"at": "mdl", "printed": "1.0"}, ask={"kind": "detection_limit", "rule": "mdl", "spiked": [1, 2]})
    assert (found.found, found.holds) == ("a refusal", False)


GOOD: dict[str, Any] = {
    "id": "own", "source": "s", "confirmed": "yes", "ask": LINE, "expect": [{"at": "n", "equals": 4}],
}  # fmt: skip


@pytest.mark.parametrize(
    ("value", "where"),
    [
        ([], "examples"),
        ({"examples": []}, "examples"),
        ({"examples": [GOOD], "more": 1}, "examples"),
        ({"examples": [{**GOOD, "note": "x"}]}, "examples/0"),
        ({"examples": [GOOD, {**GOOD, "id": ""}]}, "examples/1: id"),
        ({"examples": [{**GOOD, "ask": []}]}, "examples/0: ask"),
        ({"examples": [{**GOOD, "expect": [{"at": "n"}]}]}, "examples/0/expect/0"),
        ({"examples": [{**GOOD, "expect": [{"at": "n", "equals": 4.0}]}]}, "equals"),
        ({"examples": [{**GOOD, "expect": [{"at": "n", "printed": 4}]}]}, "printed"),
        ({"examples": [{**GOOD, "expect": [{"at": "n", "printed": "4e1"}]}]}, "printed"),
        ({"examples": [{**GOOD, "expect": [{"at": "n", "value": "nan", "digits": 3}]}]}, "value"),
        ({"examples": [{**GOOD, "expect": [{"at": "n", "value": "4", "digits": 0}]}]}, "digits"),
        ({"examples": [{**GOOD, "expect": [{"at": "n", "value": "4", "digits": True}]}]}, "digits"),
    ],
)
def test_a_file_that_is_none_is_refused_with_its_place(value: object, where: str) -> None:
    with pytest.raises(ValueError, match=where):
        examples_of(value)


def test_a_wrong_figure_planted_in_each_shipped_example_is_found() -> None:
    """Whatever the first figure of an example is, another one in its place fails."""
    for example in json.loads(starter("qualification/worked-examples.json"))["examples"]:
        for expected in example["expect"]:
            key = next(key for key in ("printed", "value", "equals") if key in expected)
            old = expected[key]
            expected[key] = (not old) if key == "equals" else f"9{old.removeprefix('-')}"
        (read,) = examples_of({"examples": [example]})
        assert not any(each.holds for each in compare(read)), example["id"]
