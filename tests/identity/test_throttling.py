from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.identity.throttling import Locked, ThrottleRules, throttle

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)


def at(*minutes: float) -> list[datetime]:
    return [NOON + timedelta(minutes=each) for each in minutes]


@pytest.mark.clause("P11 11.300(d)")
@pytest.mark.refuses("P11 11.300(d)")
@pytest.mark.parametrize(
    ("failures", "now", "until"),
    [
        pytest.param([], 0, None, id="no failure"),
        pytest.param([0, 1, 2, 3], 3, None, id="four wrong"),
        pytest.param([0, 1, 2, 3, 4], 4, 19, id="five wrong"),
        pytest.param([0, 1, 2, 3, 4], 18.99, 19, id="just before the end"),
        pytest.param([0, 1, 2, 3, 4], 19, None, id="at the end"),
        pytest.param([0, 4, 8, 12, 15], 15, 30, id="five in exactly fifteen minutes"),
        pytest.param([0, 4, 8, 12, 15.01], 16, None, id="five in a little more"),
        pytest.param([0, 10, 11, 12, 13, 14], 14, 29, id="the first one is too old, the last five count"),
        pytest.param([0, 1, 2, 3, 4, 20], 20, None, id="one more after the lock"),
        pytest.param([0, 1, 2, 3, 4, 20, 21, 22, 23, 24], 24, 39, id="locked a second time"),
        pytest.param([4, 2, 0, 3, 1], 4, 19, id="in no order"),
        pytest.param([0, 0, 0, 0, 0], 0, 15, id="all at one moment"),
        pytest.param([0, 1, 2, 3, 4], -60, 19, id="the clock went back: still locked"),
    ],
)
def test_five_in_fifteen_minutes_lock_for_fifteen(failures: list[float], now: float, until: float | None) -> None:
    expected = None if until is None else Locked(at(until)[0])
    assert throttle(at(*failures), at(now)[0]) == expected


def test_a_hundred_in_a_row_lock_until_an_administrator_unlocks() -> None:
    failures = [NOON + timedelta(hours=hour) for hour in range(100)]
    now = NOON + timedelta(days=300)
    assert throttle(failures[1:], now) is None
    assert throttle(failures, now) == Locked(until=None)


def test_the_person_is_told_how_long() -> None:
    locked = Locked(NOON + timedelta(minutes=15))
    assert "Wait 15 minutes" in locked.refusal(NOON).remedy
    assert "Wait 1 minute," in locked.refusal(NOON + timedelta(minutes=14, seconds=30)).remedy
    assert "Wait 2 minutes," in locked.refusal(NOON + timedelta(minutes=13, seconds=30)).remedy
    assert "administrator" in Locked(until=None).refusal(NOON).remedy
    assert locked.refusal(NOON).code == "identity.locked"


@pytest.mark.refuses("P11 11.300(d)")
@pytest.mark.parametrize(
    "change",
    [{"tries": 2}, {"tries": 11}, {"in_a_row": 101}, {"in_a_row": 4}, {"lock": timedelta(0)}, {"within": timedelta(0)}],
    ids=str,
)
def test_rules_that_would_not_protect_do_not_exist(change: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"lock|least a minute"):
        ThrottleRules(**change)


@pytest.mark.refuses("P11 11.300(d)")
@given(minutes=st.lists(st.integers(0, 600), max_size=30), now=st.integers(0, 700))
def test_somebody_guessing_gets_five_tries_in_a_quarter_hour_at_most(minutes: list[int], now: int) -> None:
    """Play the times as tries of somebody guessing: refused tries are no failures."""
    failures: list[datetime] = []
    for moment in at(*sorted(minutes)):
        if throttle(failures, moment) is None:
            failures.append(moment)
    end = at(now)[0]
    recent = [each for each in failures if end - timedelta(minutes=15) < each <= end]
    assert len(recent) <= 5
