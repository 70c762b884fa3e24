"""Readings without their time of day where the others of the table have one, and times that go back."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise
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

NOT_TWICE: Final = (
    "Export the file at the instrument again; do not edit the stored copy. Where the column gives one time for all "
    "readings of a solution, mark it ignored in a new version of the layout."
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


def doubled(labels: Sequence[str], clocks: Sequence[str], texts: Sequence[str]) -> tuple[int, ...]:
    """Indexes of readings that are the one before again: same solution, same second, same signal.

    No instrument reads one solution twice in a second. Where two readings of one solution and time differ, times are
    those of solutions, and nothing is told. labels, clocks (empty where there is none), texts: of each reading.
    """
    if len(set(clocks)) == len(clocks):
        return ()
    found: list[int] = []
    for nth, (one, other) in enumerate(pairwise(zip(labels, clocks, strict=True)), 1):
        if one != other or not one[1]:
            continue
        if texts[nth] != texts[nth - 1]:
            return ()
        found.append(nth)
    return tuple(found)


def tells_seconds(time_form: str) -> bool:
    """Whether times of this form tell two readings apart: hours and minutes alone do not."""
    return "ss" in time_form
