"""Until when a digest holds, by what its method says of that."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from benchseal.records.method import DigestsKeep

_SECOND = timedelta(seconds=1)


def holds_until(keep: DigestsKeep, prepared_at: str, zone: str) -> datetime | None:
    """The last second at which a digest made up at ``prepared_at`` (local time of ``zone``) may be read, in UTC.

    Days are days of the calendar: the day it was made up does not count, the last one counts to its end. Hours are
    hours gone by, whatever the clocks do meanwhile, and their last second counts. None: the method does not say. Of an
    hour that comes twice the first is taken, so that nothing is held longer than the method allows.
    """
    local, made = ZoneInfo(zone), datetime.fromisoformat(prepared_at)
    if keep.days:
        midnight = datetime.combine(made.date() + timedelta(days=int(keep.days) + 1), time())
        return midnight.replace(tzinfo=local).astimezone(UTC) - _SECOND
    if keep.hours:
        seconds = int(decimal_of(keep.hours) * 3600)
        return made.replace(tzinfo=local).astimezone(UTC) + timedelta(seconds=seconds)
    return None


def kept_for(keep: DigestsKeep) -> str:
    """How long, in words; empty where the method does not say."""
    if keep.days:
        return "1 day" if keep.days == "1" else f"{keep.days} days"
    return ("1 hour" if keep.hours == "1" else f"{keep.hours} hours") if keep.hours else ""


def local_words(moment: datetime, zone: str) -> str:
    """A moment as a clock of ``zone`` shows it; of an hour that comes twice with its distance from UTC."""
    local = moment.astimezone(ZoneInfo(zone))
    twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    offset = f", UTC{local.isoformat(timespec='seconds')[19:]}" if twice else ""
    return f"{local:%Y-%m-%d %H:%M:%S} ({zone}{offset})"
