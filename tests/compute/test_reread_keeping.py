"""Until when what is left to read holds, and the list where it does not. Invented runs."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.compute import test_reread
from tests.compute.making import Shot, pb_method, rule, samples
from tests.compute.test_reread import HIGH, TWO, listed

from benchseal.cli.reread import lines
from benchseal.compute.reread_keeping import Held, aged, held
from benchseal.compute.reread_with import new_run
from benchseal.records.method import DigestsKeep

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.reread import Reread
    from benchseal.records.preparation import Portion

HOURS, DAYS = DigestsKeep(hours="48", source="test"), DigestsKeep(days="2", source="test")
A, B = (replace(one, prepared_at="2026-03-01T08:00:00") for one in (test_reread.A, test_reread.B))
MADE = datetime.fromisoformat(f"{A.prepared_at}+00:00")
OVER = Shot("sample", "A", portion="A", signals=HIGH)
SCATTERED = Shot("sample", "B", 5.0, portion="B", scatter=0.5)
NONE = pb_method(checks=())


def told(
    keep: DigestsKeep, after: timedelta, shots: Sequence[Shot] = (OVER,), portions: Sequence[Portion] = (A,)
) -> tuple[tuple[Held, ...], Reread, str]:
    """What is said so long after the digests were made up."""
    method = replace(NONE, digests_keep=keep)
    found, _, run, beside = listed(shots, portions, method, None, ())
    around = new_run(run.method, found.open, beside.portions)
    place = ("UTC", MADE + after)
    digests = held(run, found, around, beside.portions, place)
    later = aged(keep, found, beside.portions, place)
    return digests, later, "\n".join(lines(later, around, "µg/L", {}, digests))


def test_exactly_at_the_end_it_holds_and_a_second_later_not() -> None:
    until = f"{MADE + timedelta(hours=48):%Y-%m-%d %H:%M:%S} (UTC)"
    digests, found, text = told(HOURS, timedelta(hours=48))
    assert digests == (Held("T-1", "hold", until, "A", "48 hours"),)
    assert [one.action for one in found.open] == ["dilute"]
    assert f"digests of batch T-1: hold until {until}, 48 hours after they were made up, A the first of them" in text
    digests, found, text = told(HOURS, timedelta(hours=48, seconds=1))
    assert [one.state for one in digests] == ["past"]
    assert [one.action for one in found.open] == ["prepare_again"]
    assert f"digests of batch T-1: hold no longer, until {until}, " in text
    assert text.index("prepare again, then measure") < text.index("\nprepare again\n")
    assert "dilute and read again" not in text.splitlines()


def test_a_day_holds_to_its_end() -> None:
    midnight = datetime.fromisoformat(f"{A.prepared_at[:10]}T00:00:00+00:00") + timedelta(days=3)
    (last,), _, _ = told(DAYS, midnight - timedelta(seconds=1) - MADE)
    (first,), _, _ = told(DAYS, midnight - MADE)
    assert (last.state, first.state) == ("hold", "past")


def test_a_method_that_does_not_say_is_named_as_that() -> None:
    digests, found, text = told(DigestsKeep(), timedelta(days=4000))
    assert digests == (Held("T-1", "not_said", "", "", ""),)
    assert [one.action for one in found.open] == ["dilute"]
    assert "digests of batch T-1: the method does not say how long they hold" in text


def test_the_portion_that_ends_first_counts_and_only_what_is_past_is_prepared_again() -> None:
    older = replace(B, prepared_at=(MADE - timedelta(hours=1)).isoformat()[:19])
    digests, found, _ = told(HOURS, timedelta(hours=47, minutes=30), (OVER, SCATTERED), (A, older))
    assert [(one.portion, one.state) for one in digests] == [("B", "past")]
    assert [(one.portion, one.action) for one in found.open] == [("A", "dilute"), ("B", "prepare_again")]


@pytest.mark.parametrize("after", [timedelta(0), timedelta(days=30)])
def test_nothing_is_said_where_nothing_is_left_to_read(after: timedelta) -> None:
    digests, _, text = told(HOURS, after, samples("A"))
    assert digests == ()
    assert "digests" not in text


def test_one_nobody_prepared_is_no_digest() -> None:
    found, _, run, beside = listed(samples("A"), (A,), replace(NONE, digests_keep=HOURS), TWO, ())
    around = new_run(run.method, found.open, beside.portions)
    assert [one.portion for one in held(run, found, around, beside.portions, ("UTC", MADE))] == (
        ["A"] if around.companions else []
    )


def test_a_run_to_be_measured_again_as_a_whole_names_its_batches() -> None:
    method = replace(pb_method(checks=(rule("second_source"),)), digests_keep=HOURS)
    found, _, run, beside = listed((Shot("second_source", "SS", 13.0), *samples("A")), (A,), method, None, ())
    around = new_run(run.method, found.open, beside.portions)
    assert [one.batch for one in held(run, found, around, beside.portions, ("UTC", MADE))] == ["T-1"]
