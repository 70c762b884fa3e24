"""One rule for the first check of a run, one for the later ones: each judged by its own, in one row of brackets."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, rule, run_of, samples, standards
from tests.compute.test_run_brackets import RUNS, oracle

from benchseal.compute.run_brackets import Bracket, family_of, merged, voided_by
from benchseal.compute.run_checks import brackets_of, not_evaluated
from benchseal.compute.run_work import work_run
from benchseal.records.results import RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import CheckRule
    from benchseal.records.results import CheckVerdict

LIMITS = Path(__file__).parents[2] / "fixtures" / "published" / "limits" / "checks.csv"


def published(source: str) -> tuple[str, str]:
    """Limits of a check standard as EPA 200.9 has them."""
    with LIMITS.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if (row["source"], row["check"]) == (source, "check_standard")]
    return rows[0]["low"], rows[0]["high"]


EPA = "EPA 200.9 rev 2.2 (1994) 9.3.4"
LOW_FIRST, HIGH_FIRST = published(f"{EPA}, right after calibration")
LOW_LATER, HIGH_LATER = published(EPA)
FIRST = rule("check_standard", id="first", when="first", low=LOW_FIRST, high=HIGH_FIRST, brackets=True)
LATER = rule(
    "check_standard", id="later", when="later", low=LOW_LATER, high=HIGH_LATER, every=10, at_end=True, brackets=True
)
BLANK = rule("check_blank", every=10, at_end=True, brackets=True)
PORTIONS = [portion_of(label, f"S-0000{place}") for place, label in enumerate("ABCD", start=1)]


def work_of(shots: Sequence[Shot], *rules: CheckRule) -> RunWork:
    work = work_run(run_of((*standards(), *shots), pb_method(checks=rules)), bench_of(PORTIONS))
    assert isinstance(work, RunWork), work
    return work


def series(first: float, second: float, third: float) -> tuple[Shot, ...]:
    """A check pair, two samples, a pair, two samples, a pair: standards at 8, 12 and 16."""
    return (*pair(first), *samples("AB"), *pair(second), *samples("CD"), *pair(third))


def standing(work: RunWork) -> str:
    """Samples that have a value, by the last figure of their number."""
    return "".join(one.sample[-1] for one in work.results if one.outcome.kind == "quantified")


def test_limits_are_five_and_ten_percent() -> None:
    assert (LOW_FIRST, HIGH_FIRST, LOW_LATER, HIGH_LATER) == ("95", "105", "90", "110")


def test_each_check_is_judged_by_its_own_rule() -> None:
    work = work_of(series(10.0, 10.7, 9.3), FIRST, LATER, BLANK)
    judged = [(one.rule, one.positions, one.low, one.high) for one in work.checks if one.check == "check_standard"]
    assert judged == [("first", (8,), "95", "105"), ("later", (12,), "90", "110"), ("later", (16,), "90", "110")]
    assert work.usable
    assert standing(work) == "1234"


@pytest.mark.parametrize(
    ("read", "stands", "code"),
    [
        pytest.param((10.7, 10.0, 10.0), "34", "bracket.failed", id="the first misses 5 % and takes its own bracket"),
        pytest.param((9.3, 10.0, 10.0), "34", "bracket.failed", id="the first too low"),
        pytest.param((10.0, 11.4, 10.0), "", "bracket.failed", id="a later one misses 10 %: back and on"),
        pytest.param((10.0, 10.0, 8.6), "12", "bracket.failed", id="the last one misses 10 %"),
        pytest.param((10.7, 10.0, 8.6), "", "bracket.failed", id="both ends"),
    ],
)
def test_a_failing_check_takes_what_stands_around_it(read: tuple[float, float, float], stands: str, code: str) -> None:
    work = work_of(series(*read), FIRST, LATER, BLANK)
    assert standing(work) == stands
    assert {row.code for row in work.voided} == {code}
    assert work.usable, "brackets void solutions, not the run"


def test_the_words_name_the_limit_of_the_rule_that_judged() -> None:
    work = work_of(series(10.7, 10.0, 10.0), FIRST, LATER, BLANK)
    assert "limit 95 to 105 %" in work.voided[0].why
    assert "limit 90 to 110 %" not in work.voided[0].why


def test_a_run_without_a_later_check_fails_where_it_is_required() -> None:
    work = work_of((*pair(), *samples("AB"), Shot("check_blank", "CB", 0.05)), FIRST, LATER, BLANK)
    assert not work.usable
    assert "Check standard was not read again in this run" in work.findings


def test_a_later_check_that_is_not_required_still_closes_the_run() -> None:
    shots = (*pair(), *samples("AB"), Shot("check_blank", "CB", 0.05))
    work = work_of(shots, FIRST, replace(LATER, required=False), BLANK)
    assert work.usable
    assert {row.code for row in work.voided} == {"bracket.open"}
    assert "not read after position 8" in work.voided[0].why


def test_the_first_check_counts_for_the_interval_of_the_later_ones() -> None:
    """Two solutions between two checks, the first of them included: nothing is too long."""
    short = replace(LATER, every=2)
    assert standing(work_of(series(10.0, 10.0, 10.0), FIRST, short, BLANK)) == "1234"
    work = work_of(series(10.0, 10.0, 10.0), FIRST, replace(short, every=1), BLANK)
    assert standing(work) == "13"
    assert {row.code for row in work.voided} == {"bracket.too-long"}


def test_what_no_rule_judges_is_no_check() -> None:
    """Without a rule for the first one it may read anything: the second check closes the bracket of the calibration."""
    work = work_of(series(5.0, 10.0, 10.0), LATER, BLANK)
    assert [one.positions for one in work.checks if one.check == "check_standard"] == [(12,), (16,)]
    assert standing(work) == "1234"
    assert standing(work_of(series(5.0, 10.0, 10.0), replace(LATER, every=1), BLANK)) == "13"


def test_a_first_check_that_brackets_nothing_fails_the_run() -> None:
    work = work_of(series(10.7, 10.0, 10.0), replace(FIRST, brackets=False), LATER, BLANK)
    assert not work.usable
    assert {row.code for row in work.voided} == {"run.check"}


def test_a_check_about_which_two_rules_are_must_pass_both() -> None:
    every = replace(LATER, id="every", when="any")
    assert standing(work_of(series(10.7, 10.0, 10.0), FIRST, every, BLANK)) == "34"
    assert standing(work_of(series(11.4, 10.0, 10.0), every, BLANK)) == "34"


def test_blanks_have_a_first_and_later_ones_too() -> None:
    tight = rule("check_blank", id="first-blank", when="first", high="0.1", brackets=True)
    wide = replace(BLANK, id="later-blank", when="later")
    good = work_of((*pair(blank=0.05), *samples("AB"), *pair(blank=0.3)), FIRST, LATER, tight, wide)
    assert standing(good) == "12"
    bad = work_of((*pair(blank=0.3), *samples("AB"), *pair(blank=0.05)), FIRST, LATER, tight, wide)
    assert standing(bad) == ""
    assert "limit -0.1 to 0.1" in bad.voided[0].why


def test_standards_of_two_concentrations_have_each_their_own_first() -> None:
    """A failed high one is not rescued by the passing low one that stands nearer to the samples."""
    high = [replace(one, id=f"high-{one.id}", expected="15") for one in (FIRST, LATER)]

    def at_15(holds: float) -> Shot:
        return Shot("check_standard", "CH", holds, nominal="15")

    low, blank = Shot("check_standard", "CL", 10.0, nominal="10"), Shot("check_blank", "CB", 0.05)
    rules = (FIRST, LATER, *high, BLANK)
    good = work_of((at_15(15.0), low, blank, *samples("AB"), low, at_15(16.1), blank), *rules)
    found = [(one.rule, one.positions) for one in good.checks if one.check == "check_standard"]
    assert found == [("first", (9,)), ("later", (13,)), ("high-first", (8,)), ("high-later", (14,))]
    assert standing(good) == "12"
    assert standing(work_of((at_15(16.1), low, blank, *samples("AB"), low, at_15(15.0), blank), *rules)) == ""
    assert standing(work_of((at_15(15.0), low, blank, *samples("AB"), low, at_15(12.9), blank), *rules)) == ""


def verdicts_of(letters: str, when: str) -> list[CheckVerdict]:
    """Verdicts of one of the two rules over a run written as letters (see test_run_brackets)."""
    own = FIRST if when == "first" else LATER
    places = [place for place, letter in enumerate(letters, start=1) if letter in "pf"]
    chosen = places[:1] if when == "first" else places[1:]
    return [
        replace(
            not_evaluated(own, pb_method(), (place,), "" if letters[place - 1] == "p" else f"check at {place}"),
            verdict="pass" if letters[place - 1] == "p" else "fail",
        )
        for place in chosen
    ]


@given(RUNS, st.integers(0, 4))
def test_two_rules_void_what_one_rule_over_all_checks_voids(letters: str, every: int) -> None:
    """Whatever the run: who judges a position does not matter for its bracket, only how it was judged."""
    later = replace(LATER, every=every)
    rules = (FIRST, later)
    presented = [place for place, letter in enumerate(letters, start=1) if letter == "s"]
    simple = {"first": verdicts_of(letters, "first"), "later": verdicts_of(letters, "later")}
    rows = [
        voided_by(
            own, "C", presented, brackets_of([one for other in family_of(own, rules) for one in simple[other.id]])
        )
        for own in rules
    ]
    shown = list(letters)
    for row in merged(rows):
        shown[row.position - 1] = {"bracket.failed": "F", "bracket.open": "O", "bracket.too-long": "L"}[row.code]
    assert "".join(shown) == oracle(letters, every)


def test_a_position_judged_twice_is_one_bracket_with_every_reason() -> None:
    one = not_evaluated(FIRST, pb_method(), (8,), "missing")
    two = replace(one, verdict="fail", why="too high")
    assert brackets_of([one, two, replace(one, verdict="pass", why="", positions=(9,))]) == (
        Bracket(8, passed=False, why="missing; too high"),
        Bracket(9, passed=True, why=""),
    )
