"""Methods that read between two standards: one that does, and one change for each rule that must stop it."""

from __future__ import annotations

from typing import Any

import pytest
from tests.documents.test_additions import method as with_additions
from tests.documents.test_rules_of_results import problems_of, sample


def method(**plan: object) -> dict[str, Any]:
    """The good sample, every portion between two standards."""
    value = sample("method")
    usual = {
        "bracketing": "required",
        "bracketing_window_percent": "20",
        "bracketing_change_percent": "3",
        "bracketing_source": "common practice, no source",
    }
    value["calibration"] |= usual | plan
    return value


def codes(value: dict[str, Any]) -> list[str]:
    return [problem.code.removeprefix("documents.") for problem in problems_of(value)]


@pytest.mark.parametrize(
    "plan",
    [
        {},
        {"bracketing_change_percent": ""},
        {"bracketing_window_percent": "99.9"},
        {"model": "quadratic", "smallest_levels": 7},
        dict.fromkeys(
            ("bracketing", "bracketing_window_percent", "bracketing_change_percent", "bracketing_source"), ""
        ),
    ],
    ids=["required", "change not judged", "a wide window", "a curve that bends", "none"],
)
def test_good_methods(plan: dict[str, Any]) -> None:
    value = method(**plan)
    if "model" in plan:
        top = max(float(one["concentration"]) for one in value["standards"])
        value["standards"] += [{"label": f"more {at}", "concentration": f"{top + at:g}"} for at in (1, 2, 3, 4)]
    assert codes(value) == []


@pytest.mark.parametrize(
    ("plan", "code"),
    [
        ({"bracketing": "allowed"}, "value-unknown"),
        ({"bracketing": ""}, "method-bracketing-foreign"),
        ({"bracketing_window_percent": ""}, "method-bracketing-window"),
        ({"bracketing_window_percent": "0"}, "method-bracketing-window"),
        ({"bracketing_window_percent": "100"}, "method-bracketing-window"),
        ({"bracketing_window_percent": "-20"}, "value-unfit"),
        ({"bracketing_change_percent": "0"}, "method-bracketing-change"),
        ({"bracketing_source": " "}, "method-bracketing-source"),
    ],
)
def test_a_broken_method(plan: dict[str, Any], code: str) -> None:
    assert set(codes(method(**plan))) == {code}


def test_it_stands_beside_no_other_evaluation() -> None:
    both = with_additions()
    both["calibration"] |= {key: text for key, text in method()["calibration"].items() if key.startswith("bracketing")}
    drifting = method() | {"drift": {"largest_percent": "10", "source": "test"}}
    for value, named in ((both, "standard additions"), (drifting, "a correction for drift")):
        found = [problem for problem in problems_of(value) if problem.code == "documents.method-bracketing-beside"]
        assert len(found) == 1
        assert f"bracketing by standards and {named}" in found[0].what
    stored = method() | {
        "signal_is": "absorbance_zeroed_on_blank",
        "stored_curve": {"valid_hours": "24", "smallest_factor": "0.8", "largest_factor": "1.2", "source": "test"},
    }
    assert "method-stored-beside" in codes(stored)
