"""Time, as the desk is lent it. Entry times are UTC with milliseconds; nothing below the desk asks a clock."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import TypeAlias

Clock: TypeAlias = Callable[[], datetime]


def system_clock() -> datetime:
    """Now, aware, UTC."""
    return datetime.now(UTC)


def stamp(moment: datetime) -> str:
    """``YYYY-MM-DDTHH:MM:SS.mmmZ``: the form of every entry time."""
    utc = moment.astimezone(UTC)
    return f"{utc:%Y-%m-%dT%H:%M:%S}.{utc.microsecond // 1000:03d}Z"


def moment_of(text: str) -> datetime:
    """Inverse of ``stamp``, to the millisecond."""
    return datetime.fromisoformat(text)
