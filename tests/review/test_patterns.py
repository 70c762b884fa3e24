"""Patterns of failed checks: a voided exceedance beside its repeat, a sample or an instrument again and again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchseal.review.patterns import RUNS_AN_INSTRUMENT, Failed, Voided, patterns

LOST = Voided("R-1", "A-2", "Cd, content", "its bracket failed", "0.62", True, "R-2", "0.31", False)


@pytest.mark.refuses("OOS III")
def test_a_voided_exceedance_is_named_with_its_repeat() -> None:
    (found,) = patterns([LOST], [])
    assert found.code == "pattern.voided-exceedance"
    assert "R-1 read about 0.62" in found.what
    assert "R-2 gives 0.31, within the limit" in found.what
    (outside,) = patterns([replace(LOST, after_outside=True)], [])
    assert "within the limit" not in outside.what
    (alone,) = patterns([replace(LOST, after="", after_text="")], [])
    assert "not read again" in alone.what


def test_a_voided_reading_within_the_limit_is_no_pattern() -> None:
    assert patterns([replace(LOST, would_be="0.31", outside=False)], []) == ()


def test_a_sample_without_a_value_in_two_runs() -> None:
    within = replace(LOST, outside=False)
    (found,) = patterns([within, replace(within, run="R-3")], [])
    assert (found.code, found.where) == ("pattern.sample-again", "lot A-2, Cd, content")
    assert patterns([within, within], []) == (), "one run counts once"
    assert patterns([within, replace(within, run="R-3", line="Pb, content")], []) == ()


def test_a_check_that_fails_again_on_one_instrument() -> None:
    runs = [Failed(f"R-{nth}", "AA-1", "check-standard") for nth in range(RUNS_AN_INSTRUMENT)]
    (found,) = patterns([], runs)
    assert (found.code, found.where) == ("pattern.instrument-again", "AA-1")
    assert "R-0, R-1, R-2" in found.what
    assert patterns([], runs[:-1]) == ()
    assert patterns([], [*runs[:-1], Failed("R-9", "AA-2", "check-standard")]) == ()
    assert patterns([], [*runs[:-1], Failed("R-9", "AA-1", "method-blank")]) == ()
