"""The state of an instrument at a moment: its clock, whether it serves, until when it is calibrated. All invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.validate.test_check import DOCUMENT, KNOWN

from benchseal.problems import Problem
from benchseal.records.instrument_events import InstrumentEvent
from benchseal.records.run import Run
from benchseal.validate.check import check_run
from benchseal.validate.instrument_state import calibrated_until, corrected, fitness_problems, offset_at, out_since

INSTRUMENT = KNOWN.instruments[0]


def event(kind: str, at: str, **fields: Any) -> InstrumentEvent:  # noqa: ANN401
    return InstrumentEvent("instrument-event/1", "furnace-1", kind, at, "p-ana.keel", "why", **fields)  # type: ignore[arg-type]


def check(seen: str, true: str, *, right: bool = False) -> InstrumentEvent:
    offset = int((datetime.fromisoformat(seen) - datetime.fromisoformat(true)).total_seconds())
    return event("clock_check", true, seen=seen, true=true, offset_seconds=offset, set_right=right)


FAST = check("2026-03-02T08:03:00Z", "2026-03-02T08:00:00Z")
SLOW = check("2026-03-05T07:59:00Z", "2026-03-05T08:00:00Z")
RIGHT = check("2026-03-05T08:04:00Z", "2026-03-05T08:00:00Z", right=True)


@pytest.mark.parametrize(
    ("events", "shown", "true"),
    [
        pytest.param((), "2026-03-03T08:00:00Z", "2026-03-03T08:00:00Z", id="never checked"),
        pytest.param((FAST,), "2026-03-02T08:02:59Z", "2026-03-02T08:02:59Z", id="before the first check"),
        pytest.param((FAST,), "2026-03-02T08:03:00Z", "2026-03-02T08:00:00Z", id="at the check"),
        pytest.param((FAST, SLOW), "2026-03-05T07:58:59Z", "2026-03-05T07:55:59Z", id="until the next check"),
        pytest.param((FAST, SLOW), "2026-03-05T08:10:00Z", "2026-03-05T08:11:00Z", id="after the next check"),
        pytest.param((SLOW, FAST), "2026-03-05T08:10:00Z", "2026-03-05T08:11:00Z", id="entered in another order"),
        pytest.param((FAST, RIGHT), "2026-03-05T09:00:00Z", "2026-03-05T09:00:00Z", id="set right"),
        pytest.param((FAST, RIGHT), "2026-03-05T08:00:00Z", "2026-03-05T08:00:00Z", id="the moment it was set to"),
        pytest.param((FAST, RIGHT), "2026-03-05T07:59:59Z", "2026-03-05T07:56:59Z", id="before it was set right"),
        pytest.param((FAST,), "2026-03-01T00:01:00Z", "2026-03-01T00:01:00Z", id="another day"),
    ],
)
def test_a_time_is_corrected_by_the_last_check_at_or_before_it(
    events: tuple[InstrumentEvent, ...], shown: str, true: str
) -> None:
    assert corrected(shown, events) == true


def test_of_two_checks_in_one_second_the_later_entry_counts() -> None:
    again = replace(FAST, offset_seconds=170)
    assert offset_at(FAST.seen, (FAST, again)) == 170
    assert offset_at(FAST.seen, (again, FAST)) == 180


_moments = st.datetimes(datetime(2026, 1, 1), datetime(2027, 1, 1)).map(  # noqa: DTZ001
    lambda moment: f"{moment:%Y-%m-%dT%H:%M:%S}Z"
)
_checks = st.builds(
    lambda seen, offset: check(
        seen, f"{(datetime.fromisoformat(seen) - timedelta(seconds=offset)).astimezone(UTC):%Y-%m-%dT%H:%M:%S}Z"
    ),
    _moments,
    st.integers(-7200, 7200),
)


@given(shown=_moments, checks=st.lists(_checks, max_size=5))
def test_correction_takes_off_exactly_the_offset_of_one_check_or_nothing(
    shown: str, checks: list[InstrumentEvent]
) -> None:
    taken = (datetime.fromisoformat(shown) - datetime.fromisoformat(corrected(shown, checks))).total_seconds()
    before = [one for one in checks if one.seen <= shown]
    assert taken == offset_at(shown, checks)
    assert taken in ({one.offset_seconds for one in before} if before else {0})
    if before:
        last = max(one.seen for one in before)
        assert taken in {one.offset_seconds for one in before if one.seen == last}


OUT, BACK = event("out_of_service", "2026-03-02T06:00:00Z"), event("back_in_service", "2026-03-04T06:00:00Z")


@pytest.mark.parametrize(
    ("moment", "serves"),
    [
        ("2026-03-02T05:59:59Z", True),
        ("2026-03-02T06:00:00Z", False),
        ("2026-03-04T05:59:59Z", False),
        ("2026-03-04T06:00:00Z", True),
    ],
)
def test_out_of_service_from_then_until_back(moment: str, *, serves: bool) -> None:
    assert (out_since(moment, (BACK, OUT)) is None) is serves


def test_the_calibration_that_counts_is_the_last_one_before_the_moment() -> None:
    first = event("calibration_due", "2026-01-05T09:00:00Z", until="2026-02-28")
    second = event("calibration_due", "2026-03-10T09:00:00Z", until="2027-02-28")
    assert calibrated_until("2026-03-09T09:00:00Z", (first, second)) == "2026-02-28"
    assert calibrated_until("2026-03-10T09:00:00Z", (second, first)) == "2027-02-28"
    assert calibrated_until("2026-01-05T08:59:59Z", (first, second)) == ""


# ------------------------------------------------------------------ runs


def run() -> Run:
    found = check_run(DOCUMENT, KNOWN)
    assert isinstance(found, Run)
    return found


def codes(*events: InstrumentEvent) -> list[str]:
    return [one.code for one in fitness_problems(run(), INSTRUMENT, events)]


def moved(seconds: int) -> str:
    moment = datetime.fromisoformat(run().measured_at) + timedelta(seconds=seconds)
    return f"{moment.astimezone(UTC):%Y-%m-%dT%H:%M:%S}Z"


@pytest.mark.clause("P11 11.10(h)")
def test_an_instrument_in_service_and_calibrated_may_measure() -> None:
    day = run().measured_at[:10]
    assert codes() == []
    assert codes(event("calibration_due", moved(-60), until=day), event("out_of_service", moved(1))) == []


@pytest.mark.refuses("17025 6.4")
@pytest.mark.refuses("P11 11.10(h)")
def test_an_instrument_out_of_service_or_overdue_may_not() -> None:
    assert codes(event("out_of_service", moved(0))) == ["instrument.out-of-service"]
    due = event("calibration_due", moved(-60), until="2026-01-01")
    assert codes(due) == ["instrument.calibration-overdue"]
    assert codes(due, event("out_of_service", moved(-5))) == [
        "instrument.out-of-service",
        "instrument.calibration-overdue",
    ]


@pytest.mark.refuses("P11 11.10(h)")
def test_a_clock_that_is_behind_hides_nothing() -> None:
    """By its own clock the run began before the instrument was taken out; by corrected time after."""
    behind = check(moved(-600), moved(-300))
    assert codes(event("out_of_service", moved(60))) == []
    assert codes(behind, event("out_of_service", moved(60))) == ["instrument.out-of-service"]


def test_the_day_of_a_run_is_that_of_the_instrument_s_zone() -> None:
    """23:30 UTC is the next day in Berlin."""
    late = replace(run(), measured_at="2026-03-02T23:30:00Z")
    due = event("calibration_due", "2026-01-01T00:00:00Z", until="2026-03-02")
    (problem,) = fitness_problems(late, INSTRUMENT, (due,))
    assert "2026-03-03" in problem.what


def test_a_clock_ahead_puts_no_run_into_the_future() -> None:
    """A run just measured by a fast clock once was refused as still to come."""
    ahead = replace(KNOWN, now=moved(0).replace("Z", "Z"))
    found = check_run(DOCUMENT, ahead)
    assert isinstance(found, tuple)
    assert {one.code for one in found} == {"validate.time-future"}
    hours = check(moved(-36000), moved(-72000))
    fine = check_run(DOCUMENT, replace(ahead, instrument_events={"furnace-1": (hours,)}))
    assert isinstance(fine, Run)
    assert fine.measured_at == run().measured_at  # what the instrument showed stays on record
    other = check_run(DOCUMENT, replace(ahead, instrument_events={"flame-1": (hours,)}))
    assert isinstance(other, tuple)
    assert all(isinstance(one, Problem) for one in other)
