"""When each reading was taken: local times of a run in UTC, the order telling the two halves of a doubled hour."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Sequence


def instants(taken_at: Sequence[str], began: datetime, zone_name: str) -> list[datetime | None]:
    """UTC of each reading of a run, None where it bears no time. began: UTC of the run's begin.

    Readings stand in the order they were taken. So of two equal local hours each is of the first that is not before
    the reading above it: after the begin, and after a step back of the clock, no other is. Where none is, the second.
    """
    zone, above = ZoneInfo(zone_name), began
    found: list[datetime | None] = []
    known: dict[str, tuple[datetime, datetime]] = {}
    for text in taken_at:
        if not text:
            found.append(None)
            continue
        if text not in known:
            plain = datetime.fromisoformat(text)
            first, second = (plain.replace(tzinfo=zone, fold=nth).astimezone(UTC) for nth in (0, 1))
            known[text] = first, second
        first, second = known[text]
        moment = first if first == second or above <= first < second else second
        found.append(moment)
        above = max(above, moment)
    return found
