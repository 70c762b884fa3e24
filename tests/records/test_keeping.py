"""Until when a digest holds: the last second of the last day, the last second of the last hour, in every zone."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.records.keeping import holds_until, kept_for, local_words
from benchseal.records.method import DigestsKeep

BERLIN = "Europe/Berlin"


@pytest.mark.parametrize(
    ("keep", "prepared", "zone", "until"),
    [
        pytest.param(
            {"days": "7"}, "2026-03-01T10:00:00", "UTC", "2026-03-08T23:59:59+00:00", id="days end with a day"
        ),
        pytest.param({"days": "1"}, "2026-12-31T23:59:59", "UTC", "2027-01-01T23:59:59+00:00", id="across a year"),
        pytest.param({"days": "1"}, "2028-02-28T00:00:00", "UTC", "2028-02-29T23:59:59+00:00", id="a leap day"),
        pytest.param({"days": "1"}, "2026-03-28T10:00:00", BERLIN, "2026-03-29T21:59:59+00:00", id="a day of 23 hours"),
        pytest.param({"days": "1"}, "2026-10-24T10:00:00", BERLIN, "2026-10-25T22:59:59+00:00", id="a day of 25 hours"),
        pytest.param({"hours": "48"}, "2026-03-01T10:00:00", "UTC", "2026-03-03T10:00:00+00:00", id="hours"),
        pytest.param({"hours": "1.5"}, "2026-03-01T10:00:00", "UTC", "2026-03-01T11:30:00+00:00", id="half an hour"),
        pytest.param(
            {"hours": "24"}, "2026-10-24T10:00:00", BERLIN, "2026-10-25T08:00:00+00:00", id="hours gone by, clock back"
        ),
        pytest.param(
            {"hours": "1"}, "2026-10-25T02:30:00", BERLIN, "2026-10-25T01:30:00+00:00", id="the first of two hours"
        ),
    ],
)
def test_the_last_second(keep: dict[str, str], prepared: str, zone: str, until: str) -> None:
    assert holds_until(DigestsKeep(**keep, source="test"), prepared, zone) == datetime.fromisoformat(until)


def test_a_method_that_does_not_say() -> None:
    assert holds_until(DigestsKeep(), "2026-03-01T10:00:00", BERLIN) is None
    assert not kept_for(DigestsKeep())


@pytest.mark.parametrize(
    ("keep", "words"),
    [({"days": "1"}, "1 day"), ({"days": "7"}, "7 days"), ({"hours": "1"}, "1 hour"), ({"hours": "1.5"}, "1.5 hours")],
)
def test_words(keep: dict[str, str], words: str) -> None:
    assert kept_for(DigestsKeep(**keep)) == words


def test_a_moment_is_said_as_the_clock_of_the_place_shows_it() -> None:
    assert local_words(datetime.fromisoformat("2026-07-01T22:30:00+00:00"), BERLIN) == (
        "2026-07-02 00:30:00 (Europe/Berlin)"
    )


def test_of_an_hour_that_comes_twice_the_words_say_which() -> None:
    """Germany put clocks back at 03:00 summer time on 26 October 2025 (time zone database)."""
    said = [local_words(datetime.fromisoformat(f"2025-10-26T0{hour}:30:00+00:00"), BERLIN) for hour in (0, 1, 2)]
    assert said == [
        "2025-10-26 02:30:00 (Europe/Berlin, UTC+02:00)",
        "2025-10-26 02:30:00 (Europe/Berlin, UTC+01:00)",
        "2025-10-26 03:30:00 (Europe/Berlin)",
    ]


@given(
    st.datetimes(*map(datetime.fromisoformat, ("2020-01-01", "2030-01-01"))).map(lambda at: at.replace(microsecond=0)),
    st.integers(1, 60),
    st.sampled_from(["UTC", BERLIN, "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata"]),
)
def test_days_end_at_the_last_second_before_midnight(made: datetime, days: int, zone: str) -> None:
    until = holds_until(DigestsKeep(str(days), "", "test"), made.isoformat(), zone)
    assert until is not None
    local = until.astimezone(ZoneInfo(zone))
    assert local.date() == made.date() + timedelta(days=days)
    assert (until + timedelta(seconds=1)).astimezone(ZoneInfo(zone)).date() == local.date() + timedelta(days=1)
