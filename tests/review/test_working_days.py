"""Monday to Friday, counted by the calendar of the standard library one day at a time."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.review.working_days import working_days


@pytest.mark.parametrize(
    ("since", "until", "days"),
    [
        pytest.param("2026-03-02", "2026-03-02", 0, id="the day itself"),
        pytest.param("2026-03-02", "2026-03-06", 4, id="Monday to Friday"),
        pytest.param("2026-03-06", "2026-03-08", 0, id="a weekend"),
        pytest.param("2026-03-06", "2026-03-09", 1, id="over a weekend"),
        pytest.param("2026-03-07", "2026-03-09", 1, id="from Saturday"),
        pytest.param("2026-03-02", "2026-03-30", 20, id="four weeks"),
        pytest.param("2026-03-03", "2026-03-02", 0, id="backwards"),
    ],
)
def test_working_days(since: str, until: str, days: int) -> None:
    assert working_days(date.fromisoformat(since), date.fromisoformat(until)) == days


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 60))
def test_one_by_one(since: date, days: int) -> None:
    until = since + timedelta(days=days)
    counted = sum((since + timedelta(days=nth)).isoweekday() <= 5 for nth in range(1, days + 1))
    assert working_days(since, until) == counted
