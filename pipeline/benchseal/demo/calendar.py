"""The fortnight: working days and hours, relative to the day it starts."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

ZONE = "Europe/Lisbon"


def working_day(start: date, count: int) -> date:
    """The working day number ``count``, from 0, on or after ``start``; Saturdays and Sundays are free."""
    day = start
    while True:
        if day.weekday() < 5:
            if count == 0:
                return day
            count -= 1
        day += timedelta(days=1)


def at(start: date, count: int, clock: str) -> datetime:
    """Local time ``HH:MM`` on working day ``count``."""
    return datetime.combine(working_day(start, count), time.fromisoformat(clock))
