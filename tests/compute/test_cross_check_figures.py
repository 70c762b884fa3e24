"""A cross-check to the last figure: what was typed, the law of propagation's own interval, how many draws would do."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, inf
from typing import TYPE_CHECKING

import pytest
from scipy import stats
from tests.compute.test_cross_check import TWO, made, ruled
from tests.compute.test_explain_formulas import budget

from benchseal.compute.cross_check import Asked, CrossCheck, asked_draws, cross_check
from benchseal.problems import Problem
from benchseal.records.results import Quantified

if TYPE_CHECKING:
    from benchseal.compute.run_work import Worked
    from benchseal.records.results import WorkedResult
    from benchseal.records.specification import Requirement

FEW = Asked(1_000, 3)


def told(**changes: str) -> tuple[Worked, Requirement, WorkedResult]:
    """A result whose record says otherwise of its degrees of freedom."""
    of, asked = made()
    result = of.work.results[0]
    assert isinstance(result.outcome, Quantified)
    return of, asked, replace(result, outcome=replace(result.outcome, **changes))  # type: ignore[arg-type]


def checked(of: Worked, asked: Requirement, result: WorkedResult, how: Asked = FEW) -> CrossCheck:
    found = cross_check(of, asked, result, how)
    assert isinstance(found, CrossCheck), found
    return found


@pytest.mark.parametrize("df", ["1", "2", "7", ""])
def test_the_interval_is_that_of_student_with_the_degrees_of_the_record(df: str) -> None:
    found = checked(*told(df=df))
    k = stats.t.ppf(0.975, float(df)) if df else stats.norm.ppf(0.975)
    assert found.df == (float(df) if df else inf)
    assert found.k == pytest.approx(k, rel=1e-9)
    assert found.compared is not None
    assert found.interval is not None
    assert list(found.interval) == pytest.approx([found.value - k * found.u, found.value + k * found.u], rel=1e-9)


def test_below_one_degree_of_freedom_there_is_no_interval_to_compare() -> None:
    found = checked(*told(df="0"))
    assert (found.df, found.k, found.interval, found.compared, found.more_draws) == (0, None, None, None, None)
    assert found.drawn.symmetric[0] < found.value < found.drawn.symmetric[1]


def test_without_any_uncertainty_nothing_is_drawn() -> None:
    assert cross_check(*told(u="0"), FEW) == "no_uncertainty"


def test_the_reported_interval_is_k_times_u_wide_and_its_share_of_draws_is_counted() -> None:
    of, asked, result = told(k="3")
    found = checked(of, asked, result)
    assert list(found.reported) == pytest.approx([found.value - 3 * found.u, found.value + 3 * found.u], rel=1e-12)
    narrow = checked(*told(k="0.000000001"))
    assert found.covered_percent > 97
    assert narrow.covered_percent == 0
    assert checked(*told(k="1")).covered_percent == pytest.approx(68, abs=5)


def test_how_many_draws_would_do_follows_from_the_worse_known_end() -> None:
    """The error of an end falls with the root of the draws; twice it must come down to delta."""
    of, asked = ruled("3.7")
    found = [checked(of, asked, of.work.results[0], how=Asked(10_000, seed)) for seed in range(6)]
    unsettled = [one for one in found if one.compared is not None and one.compared.validated is None]
    assert len(unsettled) > 2
    assert {one.drawn.u_ends[0] > one.drawn.u_ends[1] for one in unsettled} == {True, False}
    for one in unsettled:
        assert one.compared is not None
        due = 10_000 * 4 * max(one.drawn.u_ends) ** 2 / one.compared.delta**2
        assert one.more_draws == ceil(due)


def test_a_settled_verdict_wants_no_more_draws() -> None:
    of, asked = ruled("4.2")
    found = checked(of, asked, of.work.results[0], how=Asked(200_000, 1))
    assert (found.more_draws, found.drawn.draws, found.seed) == (None, 200_000, 1)


def test_every_trial_counts_in_the_order_of_the_seed() -> None:
    of, asked = made(budget(recovery_percent="60"), asked=TWO)
    found = cross_check(of, asked, of.work.results[0], FEW)
    assert found == "draws_without_value", "a recovery that may be nothing"


# ------------------------------------------------------------------ what was typed

NO_TRIALS = "is no number of trials; due is a whole number from 1000 to 2000000."
NO_SEED = "is no seed; due is a whole number from 0 to 4294967295."


@pytest.mark.parametrize(
    ("trials", "seed", "due"),
    [
        ("", None, Asked(200_000, 1)),
        ("", "", Asked(200_000, 1)),
        ("1000", "0", Asked(1_000, 0)),
        ("2000000", "4294967295", Asked(2_000_000, 4_294_967_295)),
        ("0000001000", "0000000007", Asked(1_000, 7)),
    ],
)
def test_numbers_within_their_bounds_are_taken(trials: str, seed: str | None, due: Asked) -> None:
    assert asked_draws(trials, seed) == due


@pytest.mark.parametrize("text", ["999", "2000001", "1e5", "-1000", "10 000", "1000.0", "00000001000", "\u0661000"])
def test_other_numbers_of_trials_are_told_with_what_is_due(text: str) -> None:
    assert asked_draws(text, "1") == (
        Problem("monte-carlo.trials", "--monte-carlo", f"{text!a} {NO_TRIALS}", "200000 are usual."),
    )


@pytest.mark.parametrize("text", ["-1", "4294967296", "x", "1.0", "00000000001"])
def test_other_seeds_are_told_with_what_is_due(text: str) -> None:
    remedy = "Write such a number; note it beside the answer."
    assert asked_draws("1000", text) == (Problem("monte-carlo.seed", "--seed", f"{text!a} {NO_SEED}", remedy),)


def test_both_are_told_at_once_trials_first() -> None:
    found = asked_draws("1", "x")
    assert isinstance(found, tuple)
    assert [one.code for one in found] == ["monte-carlo.trials", "monte-carlo.seed"]


def test_a_seed_alone_asks_for_nothing() -> None:
    assert asked_draws(None, "1") == (
        Problem(
            *("monte-carlo.seed-alone", "--seed", "a seed was given and no trials were asked for."),
            "Add --monte-carlo, or leave out the seed.",
        ),
    )


@pytest.mark.parametrize(("length", "shown"), [(40, "x" * 40), (41, "x" * 37 + "..."), (500, "x" * 37 + "...")])
def test_a_long_text_is_quoted_to_forty_signs(length: int, shown: str) -> None:
    found = asked_draws("x" * length, "1")
    assert isinstance(found, tuple)
    assert found[0].what == f"'{shown}' {NO_TRIALS}"
