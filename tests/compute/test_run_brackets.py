"""Brackets as pure arithmetic of places; the rule of EPA 7000B 10.2.2 restated as an oracle over the whole run."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compute.making import rule

from benchseal.compute.run_brackets import Bracket, merged, voided_by
from benchseal.compute.run_verdict import bracket_findings
from benchseal.records.results import Voided

if TYPE_CHECKING:
    from benchseal.records.method import CheckRule

# A run as letters: s a presented solution, p a passing check, f a failing one, . anything else.
RUNS = st.text(alphabet="ssspf.", max_size=40)


def judged(letters: str, every: int = 0, *, at_end: bool = True) -> str:
    """``letters`` with every voided s replaced by the first letter of its code's last word."""
    own: CheckRule = rule("check_standard", every=every, at_end=at_end, brackets=True)
    presented = [place for place, letter in enumerate(letters, start=1) if letter == "s"]
    brackets = [
        Bracket(place, letter == "p", f"check at {place}")
        for place, letter in enumerate(letters, start=1)
        if letter in "pf"
    ]
    shown = list(letters)
    for row in voided_by(own, "Check standard", presented, brackets):
        shown[row.position - 1] = {"bracket.failed": "F", "bracket.open": "O", "bracket.too-long": "L"}[row.code]
    return "".join(shown)


@pytest.mark.parametrize(
    ("letters", "every", "found"),
    [
        pytest.param("pssp", 0, "pssp", id="between two passing checks"),
        pytest.param("ssp", 0, "ssp", id="the calibration opens the first bracket"),
        pytest.param("psspssf", 0, "psspFFf", id="a failed check takes its samples with it, others stand"),
        pytest.param("pssfssp", 0, "pFFfFFp", id="back to the last and on to the next passing check"),
        pytest.param("pssffssp", 0, "pFFffFFp", id="two failures in a row"),
        pytest.param(
            "pssfpssp", 0, "pFFfpssp", id="a passing check right after saves what follows, not what was before"
        ),
        pytest.param("psspss", 0, "psspOO", id="nothing closes the run"),
        pytest.param("ss", 0, "OO", id="no check at all"),
        pytest.param("psssp", 2, "pssLp", id="one too many between two"),
        pytest.param("ps.s.sp", 2, "ps.s.Lp", id="rinses and standards are not counted"),
        pytest.param("psspss", 1, "psLpOO", id="an open end is named before its length"),
    ],
)
def test_what_a_bracket_takes(letters: str, every: int, found: str) -> None:
    assert judged(letters, every) == found


def test_an_end_may_stay_open_where_the_rule_says_so_but_not_for_ever() -> None:
    assert judged("psss", 2, at_end=False) == "pssL"


def oracle(letters: str, every: int) -> str:
    """The rule said over the whole run: cut at the checks; a stretch stands when both ends pass."""
    shown, stretch, before = [], "", "p"
    for letter in letters + "|":
        if letter in "pf|":
            bad = "F" if "f" in (before, letter) else "O" if letter == "|" else ""
            count = 0
            for one in stretch:
                count += one == "s"
                shown.append(one if one != "s" else bad or ("L" if every and count > every else "s"))
            shown.append(letter)
            stretch, before = "", letter
        else:
            stretch += letter
    return "".join(shown[:-1])


@given(RUNS, st.integers(0, 4))
def test_every_run_agrees_with_the_rule_said_over_the_whole_run(letters: str, every: int) -> None:
    assert judged(letters, every) == oracle(letters, every)


@given(RUNS)
def test_making_a_check_fail_never_saves_a_solution(letters: str) -> None:
    before = judged(letters)
    for place, letter in enumerate(letters):
        if letter == "p":
            after = judged(letters[:place] + "f" + letters[place + 1 :])
            assert all(now != "s" or then == "s" for then, now in zip(before, after, strict=True))


def test_one_row_a_position_with_its_gravest_reason() -> None:
    late, failed, open_ = "carry-over.failed", "bracket.failed", "bracket.open"
    rows = merged([(Voided(3, late, "x"), Voided(2, open_, "first")), (Voided(3, failed, "y"), Voided(2, open_, "z"))])
    assert rows == (Voided(2, open_, "first"), Voided(3, failed, "y"))


def test_findings_name_every_cause_once_with_its_positions() -> None:
    one, two = (Voided(place, "bracket.failed", "standard read low") for place in (3, 4))
    again, other = Voided(3, "bracket.failed", "standard read low"), Voided(4, "bracket.open", "nothing closes")
    assert bracket_findings([one, two, again, other]) == (
        "standard read low (positions 3 to 4 void)",
        "nothing closes (position 4 void)",
    )


# The order of the manual, "Brackets": what fails the whole run first, then the checks around a solution.
GRAVEST_FIRST = (
    "run.calibration", "run.check", "bracket.failed", "bracket.open", "bracket.too-long", "carry-over.failed",
    "drift.check-failed", "reading.negative",
)  # fmt: skip


@pytest.mark.parametrize(("graver", "other"), list(combinations(GRAVEST_FIRST, 2)))
def test_of_two_reasons_the_graver_is_named_whatever_the_order(graver: str, other: str) -> None:
    """Codes that no check gives come last."""
    rows = ((Voided(5, graver, "why"),), (Voided(5, other, "because"), Voided(4, other, "because")))
    for order in (rows, rows[::-1]):
        assert [(row.position, row.code) for row in merged(order)] == [(4, other), (5, graver)]


def test_of_equal_reasons_the_first_is_named() -> None:
    rows = ((Voided(5, "bracket.failed", "first"),), (Voided(5, "bracket.failed", "second"),))
    assert merged(rows) == rows[0]


@pytest.mark.parametrize(
    ("letters", "code", "why"),
    [
        ("pss", "bracket.open", "Check standard was not read after position 1: nothing closes the run"),
        ("ss", "bracket.open", "Check standard was not read after the calibration: nothing closes the run"),
        ("psssp", "bracket.too-long", "more than 2 solutions were presented without check standard"),
        ("psf", "bracket.failed", "check at 3"),
    ],
)
def test_what_is_said_of_a_bracket(letters: str, code: str, why: str) -> None:
    own = rule("check_standard", every=2, at_end=True, brackets=True)
    presented = [place for place, letter in enumerate(letters, start=1) if letter == "s"]
    brackets = [Bracket(n, letter == "p", f"check at {n}") for n, letter in enumerate(letters, 1) if letter in "pf"]
    row = voided_by(own, "Check standard", presented, brackets)[-1]
    assert (row.position, row.code, row.why) == (presented[-1], code, why)
