"""Readings without their time of day where the others of the table have one, and times that go back."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

_AN_HOUR: Final = timedelta(hours=1)
CHECK_CLOCK: Final = "Check the instrument's clock, then export again."
PUT_BACK: Final = (
    "Check the instrument's clock, then export again. Where clocks were put back during the run, let a new version of "
    "the layout say which of the two hours a start means (doubled_hour: first or second): then one step back of an "
    "hour at most is read, and held against the instrument's time zone."
)

_OWN_BEGIN: Final = {
    "started_date": "such files are read as one run only where rows say their day; name no started_date then.",
    "started_time": "name no group started_time where the times of rows are read; the first of them is the start.",
}


def own_begin(fact: str) -> str:
    """What to add to a remedy where files of one run differ in a fact: each may say its own begin. Empty for others."""
    return f" Where each file of one run says its own begin: {_OWN_BEGIN[fact]}" if fact in _OWN_BEGIN else ""


def by_an_hour(before: str, after: str) -> bool:
    """Whether ``after`` lies before ``before`` by an hour at most, as where clocks are put back. Local ISO texts."""
    step = datetime.fromisoformat(before) - datetime.fromisoformat(after)
    return timedelta(0) < step <= _AN_HOUR


def without_clock(first_reading: Sequence[int], taken_at: Sequence[str], flag: Sequence[str]) -> tuple[int, ...]:
    """Indexes of readings that lack a time though the table gives times: a row lost its clock, or was put in.

    A table that gives a time to the first reading of each solution alone is of one form, and so is one that gives
    none to what was not read at all. first_reading: of each solution. taken_at, flag: of each reading.
    """
    if not any(taken_at) or all(taken_at):
        return ()
    firsts = set(first_reading)
    if all(bool(text) == (nth in firsts) for nth, text in enumerate(taken_at)):
        return ()
    return tuple(nth for nth, text in enumerate(taken_at) if not text and flag[nth] != "missing")
