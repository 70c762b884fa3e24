"""Methods that correct for drift: one that does, and one change for each rule that must stop it."""

from __future__ import annotations

from typing import Any

import pytest
from tests.documents.test_additions import method as with_additions
from tests.documents.test_rules_of_results import problems_of, sample

PAIR = ("check_standard", "check_blank")
DRIFT = {"largest_percent": "10", "source": "common practice, no source"}


def check(kind: str, **changes: object) -> dict[str, Any]:
    """A rule of a check that brackets."""
    usual: dict[str, Any] = {
        "id": kind.replace("_", "-"),
        "check": kind,
        "limit_in": "percent" if kind == "check_standard" else "solution",
        "low": "90" if kind == "check_standard" else "-1.0",
        "high": "110" if kind == "check_standard" else "1.0",
        "source": "test",
        "confirmed": False,
        "every": 10,
        "at_end": True,
        "brackets": True,
    }
    if kind == "check_standard":
        usual["expected"] = "10.0"
    return usual | changes


def method(*checks: dict[str, Any], **drift: object) -> dict[str, Any]:
    """The good sample with a check pair, its signals corrected for drift."""
    value = sample("method")
    others = [one for one in value["checks"] if one["check"] not in PAIR]
    value["checks"] = [*others, *(checks or map(check, PAIR))]
    value["drift"] = DRIFT | drift
    return value


def codes(value: dict[str, Any]) -> list[str]:
    return [problem.code.removeprefix("documents.") for problem in problems_of(value)]


@pytest.mark.parametrize(
    "drift",
    [{}, {"largest_percent": "99.9"}, {"largest_percent": "0.5"}, {"largest_percent": "", "source": ""}],
    ids=["usual", "wide", "narrow", "none"],
)
def test_good_methods(drift: dict[str, Any]) -> None:
    assert codes(method(**drift)) == []


def test_a_first_and_a_later_rule_of_one_concentration() -> None:
    first = check("check_standard", id="first", when="first", every=0, at_end=False, low="95", high="105")
    later = check("check_standard", id="later", when="later")
    assert codes(method(first, later, check("check_blank"))) == []


@pytest.mark.parametrize(
    ("drift", "code"),
    [
        ({"largest_percent": "100"}, "method-drift-percent"),
        ({"largest_percent": "250"}, "method-drift-percent"),
        ({"largest_percent": "0"}, "method-drift-percent"),
        ({"largest_percent": "-5"}, "value-unfit"),
        ({"source": " "}, "method-drift-incomplete"),
        ({"largest_percent": ""}, "method-drift-incomplete"),
    ],
)
def test_a_broken_plan(drift: dict[str, Any], code: str) -> None:
    assert set(codes(method(**drift))) == {code}


@pytest.mark.parametrize(
    ("checks", "found"),
    [
        ((check("check_standard"),), ["check_blank"]),
        ((check("check_blank"),), ["check_standard"]),
        ((check("check_standard", brackets=False), check("check_blank")), ["check_standard"]),
        ((check("check_standard"), check("check_blank", required=False)), ["check_blank"]),
        (tuple(check(kind, brackets=False) for kind in PAIR), list(PAIR)),
    ],
    ids=["no blank", "no standard", "a standard that does not bracket", "a blank not required", "none brackets"],
)
def test_a_pair_must_bracket(checks: tuple[dict[str, Any], ...], found: list[str]) -> None:
    told = [one for one in problems_of(method(*checks)) if one.code == "documents.method-drift-pair"]
    assert [kind for kind in PAIR if any(kind in one.what for one in told)] == found
    assert len(told) == len(found)


def test_check_standards_of_two_concentrations() -> None:
    value = method(check("check_standard"), check("check_standard", id="high", expected="15"), check("check_blank"))
    (found,) = [one for one in problems_of(value) if one.code == "documents.method-drift-several"]
    assert "the rules expect 10.0, 15" in found.what


def test_it_stands_beside_no_other_evaluation() -> None:
    both = with_additions() | {"checks": method()["checks"], "drift": DRIFT}
    assert "method-drift-beside" in codes(both)
    bracketing = method()
    bracketing["calibration"] |= {
        "bracketing": "required", "bracketing_window_percent": "20", "bracketing_source": "common practice, no source",
    }  # fmt: skip
    assert codes(bracketing) == ["method-bracketing-beside"]
    stored = method() | {
        "signal_is": "absorbance_zeroed_on_blank",
        "stored_curve": {"valid_hours": "24", "smallest_factor": "0.8", "largest_factor": "1.2", "source": "test"},
    }
    assert "method-stored-beside" in codes(stored)


def test_concentrations_of_the_instrument_are_no_signals() -> None:
    value = method() | {"signal_is": "instrument_concentration"}
    value["signal_unit"] = value["solution_unit"]
    assert "method-drift-signals" in codes(value)
