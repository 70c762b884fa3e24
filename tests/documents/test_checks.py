"""Check rules of a method: each kind as the manual writes it, and one change for each rule that must stop it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.problems import Problem
from benchseal.records.method import CheckKind, CheckRule, Method

ROOT = Path(__file__).parents[2]
GOOD = (ROOT / "fixtures" / "schemas" / "method" / "good.yaml").read_text(encoding="utf-8")
MANUAL = (ROOT / "docs" / "manual" / "methods-and-specifications.md").read_text(encoding="utf-8")
CHECKS = re.compile(r"^checks:\n(?:(?:  .*|)\n)+", re.MULTILINE)


def method_with(*rules: str, text: str = GOOD) -> str:
    """The good sample with these rules, each a flow of keys without the braces, instead of its own."""
    lines = "".join(f"  - {{{rule}}}\n" for rule in rules)
    changed, times = CHECKS.subn(f"checks:\n{lines}", text)
    assert times == 1
    return changed


def read(text: str) -> Method | list[str]:
    """The method, or the codes of its problems."""
    found = read_document(text.encode(), "it.yaml")
    if isinstance(found, ControlledDocument):
        assert isinstance(found.value, Method)
        return found.value
    assert all(isinstance(problem, Problem) for problem in found)
    return [f"{problem.code.removeprefix('documents.method-')}" for problem in found]


def rule_of(**changes: str) -> str:
    """A check standard, the keys changed; an empty text leaves a key out."""
    usual = {"id": "it", "check": "check_standard", "limit_in": "percent", "low": "'90'", "high": "'110'",
             "expected": "'10.0'", "source": "test", "confirmed": "false"}  # fmt: skip
    return ", ".join(f"{key}: {value}" for key, value in (usual | changes).items() if value)


def shown() -> dict[str, str]:
    """Kind to the rule the table of kinds in the manual shows for it."""
    return dict(re.findall(r"^\| `([a-z_]+)` \| .* \| `\{(id: .*?)\}`", MANUAL, re.MULTILINE))


@pytest.mark.parametrize("kind", get_args(CheckKind))
def test_each_kind_is_shown_in_the_manual_as_it_can_be_written(kind: str) -> None:
    method = read(method_with(f"{shown()[kind]}, source: test, confirmed: false"))
    assert isinstance(method, Method), method
    assert [rule.check for rule in method.checks] == [kind]


def test_the_manual_shows_no_kind_that_is_gone() -> None:
    assert set(shown()) == set(get_args(CheckKind))


def test_the_pair_of_windows_in_the_manual_can_be_written() -> None:
    rules = re.findall(r"^    - \{(id: check-[a-z]+.*?)\}$", MANUAL, re.MULTILINE | re.DOTALL)
    method = read(method_with(*(" ".join(rule.split()) for rule in rules)))
    assert isinstance(method, Method), method
    assert [(rule.when, rule.low, rule.high) for rule in method.checks] == [
        ("first", "95", "105"),
        ("later", "90", "110"),
    ]


def test_a_rule_is_about_any_and_required_where_it_does_not_say() -> None:
    method = read(method_with(rule_of()))
    assert isinstance(method, Method)
    assert method.checks == (
        CheckRule("it", "check_standard", "percent", "90", "110", "test", confirmed=False, expected="10.0"),
    )
    assert (method.checks[0].when, method.checks[0].required) == ("any", True)


# The good sample: standards 1.0 to 20.0, lowest level 1.0, 12 % of acid.
_BLANK = {"limit_in": "solution", "low": "'-1'", "high": "'1'", "expected": ""}
_GOOD = {
    "lowest level by itself": {"check": "lowest_level", "expected": ""},
    "lowest level in solution units": {"check": "lowest_level", "limit_in": "solution", "expected": ""},
    "lowest level said again": {"check": "lowest_level", "expected": "'1.00'"},
    "first check standard": {"when": "first"},
    "check standard that brackets": {"brackets": "true", "at_end": "true"},
    "later check blank": {**_BLANK, "check": "check_blank", "when": "later", "every": "10", "at_end": "true"},
    "first second source": {"check": "second_source", "when": "first"},
    "later rinse": {**_BLANK, "check": "return_to_zero", "when": "later"},
    "zeta": {"check": "reference_material", "limit_in": "zeta", "low": "'0'", "high": "'2'", "expected": ""},
    "E_n": {"check": "reference_material", "limit_in": "e_n", "low": "'-1'", "high": "'1'", "expected": ""},
    "acid of the conditions": {"check": "acid_match", "expected": ""},
    "acid of its own": {"check": "acid_match", "expected": "'5'"},
    "sensitivity": {"check": "sensitivity", "expected": "'30'"},
}


@pytest.mark.parametrize("name", _GOOD)
def test_good_rules(name: str) -> None:
    assert isinstance(read(method_with(rule_of(**_GOOD[name]))), Method)


_DEFECTS: dict[str, tuple[dict[str, str], str]] = {
    "low above high": ({"low": "'120'"}, "check-limits"),
    "blank without room": ({**_BLANK, "check": "check_blank", "high": "'0'"}, "check-limits"),
    "rinse without room": ({**_BLANK, "check": "return_to_zero", "low": "'-2'", "high": "'-1'"}, "check-limits"),
    "score without room": (
        {"check": "reference_material", "limit_in": "zeta", "low": "'-2'", "high": "'0'", "expected": ""},
        "check-limits",
    ),
    "rinse in percent": ({**_BLANK, "check": "return_to_zero", "limit_in": "percent"}, "check-limit-in"),
    "method blank in percent": ({**_BLANK, "check": "method_blank", "limit_in": "percent"}, "check-limit-in"),
    "spike in solution units": ({"check": "spike", "limit_in": "solution", "expected": ""}, "check-limit-in"),
    "spike after preparation in solution units": (
        {"check": "post_spike", "limit_in": "solution", "expected": ""},
        "check-limit-in",
    ),
    "dilution test in solution units": ({"check": "dilution_test", "limit_in": "solution", "expected": ""},
                                        "check-limit-in"),
    "sensitivity in solution units": ({"check": "sensitivity", "limit_in": "solution"}, "check-limit-in"),
    "score of a control sample": ({"check": "control_sample", "limit_in": "zeta", "expected": ""}, "check-limit-in"),
    "score of a check standard": ({"limit_in": "e_n"}, "check-limit-in"),
    "reference material in solution units": (
        {"check": "reference_material", "limit_in": "solution", "expected": ""},
        "check-limit-in",
    ),
    "first spike": ({"check": "spike", "when": "first", "expected": ""}, "check-when"),
    "later method blank": ({**_BLANK, "check": "method_blank", "when": "later"}, "check-when"),
    "later sensitivity": ({"check": "sensitivity", "when": "later"}, "check-when"),
    "first one at intervals": ({"when": "first", "every": "10"}, "check-when"),
    "first one at the end": ({"when": "first", "at_end": "true"}, "check-when"),
    "word that is no order": ({"when": "sometimes"}, "documents.value-unknown"),
    "lowest level that brackets": ({"check": "lowest_level", "expected": "", "brackets": "true"}, "check-bracket"),
    "rinse at intervals": ({**_BLANK, "check": "return_to_zero", "every": "10"}, "check-bracket"),
    "sensitivity at the end": ({"check": "sensitivity", "at_end": "true"}, "check-bracket"),
    "bracket that nothing closes": ({"brackets": "true", "every": "10"}, "check-bracket"),
    "bracket of the first one alone": ({"when": "first", "brackets": "true"}, "check-bracket"),
    "above the lowest level": ({"check": "lowest_level", "expected": "'2.5'"}, "check-expected"),
    "below the lowest standard": ({"check": "lowest_level", "expected": "'0.5'"}, "check-expected"),
    "usual sensitivity not said": ({"check": "sensitivity", "expected": ""}, "check-expected"),
    "usual sensitivity of zero": ({"check": "sensitivity", "expected": "'0'"}, "check-expected"),
    "acid of zero": ({"check": "acid_match", "expected": "'0'"}, "check-expected"),
    "more acid than there is room for": ({"check": "acid_match", "expected": "'101'"}, "check-expected"),
    "expected value of a dilution test": ({"check": "dilution_test"}, "check-expected"),
    "expected value of a rinse": ({**_BLANK, "check": "return_to_zero", "expected": "'1'"}, "check-expected"),
    "expected value of spikes": ({"check": "spikes_agree"}, "check-expected"),
    "check standard of nothing": ({"expected": ""}, "check-expected"),
}  # fmt: skip


@pytest.mark.parametrize("defect", _DEFECTS)
def test_each_defect_is_the_only_one(defect: str) -> None:
    changes, code = _DEFECTS[defect]
    assert read(method_with(rule_of(**changes))) == [code]


def test_of_first_and_later_checks_the_later_close_the_run() -> None:
    first, later = {"id": "a", "when": "first", "brackets": "true"}, {"id": "b", "when": "later", "brackets": "true"}
    closing = later | {"at_end": "true"}
    assert isinstance(read(method_with(rule_of(**first), rule_of(**closing))), Method)
    assert read(method_with(rule_of(**first), rule_of(**later))) == ["check-bracket"]
    other = closing | {"expected": "'5.0'"}  # another solution closes nothing of this one
    assert read(method_with(rule_of(**first), rule_of(**other))) == ["check-bracket"]


def test_an_acid_rule_needs_the_acid_of_the_standards_somewhere() -> None:
    text = GOOD.replace("  acid: nitric acid\n  acid_percent: '12'\n", "")
    assert text != GOOD
    assert read(method_with(rule_of(check="acid_match", expected=""), text=text)) == ["check-expected"]
    assert isinstance(read(method_with(rule_of(check="acid_match", expected="'5'"), text=text)), Method)
