"""Verdict and comment of a result from its numbers of record: rounding that saves, limits near by, on both sides."""

from __future__ import annotations

from typing import Any

import pytest
from tests.compute.making import requirement_of

from benchseal.compute.run_outcome import Judged, judge_outcome
from benchseal.records.results import BelowLimit, NotReportable, Quantified

BOTH: dict[str, Any] = {"lower": "0.2", "upper": "0.5"}


def judged(value: str, u: str = "0.001", k: str = "2", **asked: Any) -> Judged:  # noqa: ANN401  fields by name
    outcome = Quantified("quantified", value, u, "", k, value, "")
    return judge_outcome(requirement_of(**asked), outcome, u, k)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        pytest.param("0.35", "", id="far inside"),
        pytest.param("0.49", "", id="inside, and not near"),
        pytest.param("0.21", "", id="inside, and not near the lower one"),
        pytest.param("0.54", "Unrounded 0.54 lies outside the limit 0.5; ", id="saved from above"),
        pytest.param("0.16", "Unrounded 0.16 lies outside the limit 0.2; ", id="saved from below"),
        pytest.param("0.5432109", "Unrounded 0.543211 lies outside the limit 0.5; ", id="six digits are shown"),
    ],
)
def test_only_a_value_outside_is_said_to_be_saved_by_rounding(value: str, words: str) -> None:
    """Limits with one place, the value with more: what rounds to a limit passes."""
    found = judged(value, rule="pharma", **BOTH)
    assert found.verdict == "pass"
    assert found.comment_required == (f"{words}rounded to its places it passes." if words else "")


def test_what_rounding_does_not_save_is_not_said_to_be_saved() -> None:
    found = judged("0.56", rule="pharma", **BOTH)
    assert (found.verdict, found.comment_required) == ("fail", "")
    simple = judged("0.54", rule="simple", **BOTH)
    assert (simple.verdict, simple.comment_required) == ("fail", "")


@pytest.mark.parametrize(
    ("value", "u", "near"),
    [
        pytest.param("0.45", "0.025", ["0.5"], id="U reaches the upper limit just so"),
        pytest.param("0.45", "0.0249", [], id="and not quite"),
        pytest.param("0.25", "0.025", ["0.2"], id="the lower limit likewise"),
        pytest.param("0.25", "0.0249", [], id="and not quite to the lower"),
        pytest.param("0.55", "0.025", ["0.5"], id="from outside"),
        pytest.param("0.35", "0.075", ["0.2", "0.5"], id="both"),
    ],
)
def test_each_limit_within_u_asks_for_a_comment(value: str, u: str, near: list[str]) -> None:
    """k = 2."""
    due = [f"The limit {limit} lies within the expanded uncertainty of the result." for limit in near]
    assert judged(value, u, **BOTH).comment_required == " ".join(due)


def test_the_coverage_factor_counts_in_what_is_near() -> None:
    assert judged("0.45", "0.02", "2", **BOTH).comment_required == ""
    assert "0.5" in judged("0.45", "0.02", "3", **BOTH).comment_required


@pytest.mark.parametrize("asked", [{"lower": "0.2", "upper": ""}, {"lower": "", "upper": "0.5"}])
def test_one_limit_is_enough_for_a_verdict(asked: dict[str, Any]) -> None:
    assert judged("0.35", **asked).verdict == "pass"
    assert judged("0.19" if asked["lower"] else "0.51", **asked).verdict == "fail"


def test_without_a_limit_or_a_value_there_is_no_verdict() -> None:
    assert judged("0.35", lower="", upper="") == Judged()
    lost = NotReportable("not_reportable", "reading.missing", "there is no reading")
    assert judge_outcome(requirement_of(**BOTH), lost, "0.1", "2") == Judged()


def test_a_probability_has_six_places_and_its_half_at_the_limit() -> None:
    assert judged("0.5", "0.01", lower="", upper="0.5").probability == "0.500000"
    assert judged("0.48", "0.01", lower="", upper="0.5").probability == "0.977250"  # normal below 2, any table


def test_less_than_is_judged_at_its_limit_and_never_commented_on_as_near() -> None:
    below = BelowLimit("below_limit", "0.5", "0.1", "<0.5")
    found = judge_outcome(requirement_of(lower="", upper="0.5"), below, "0.1", "2")
    assert (found.verdict, found.acceptance_upper, found.probability, found.comment_required) == ("pass", "0.5", "", "")
    none = judge_outcome(requirement_of(**BOTH), below, "0.1", "2")
    assert none.verdict == "none"
    assert none.comment_required.startswith("Below the quantification limit nothing is said of a lower limit")
