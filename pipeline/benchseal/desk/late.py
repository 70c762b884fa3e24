"""Late entries: refused without a reason, marked with one, for whoever reads the trail or reviews."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary
from zoneinfo import ZoneInfo

from benchseal.desk.clock import stamp
from benchseal.desk.site_rules import rules_in_force
from benchseal.problems import Problem
from benchseal.review.lateness import hours_late

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.acting import Acting
    from benchseal.store.protocol import Reading, Row


# Asked for each row of a sheet; neither changes while one view is held and work is put on record.
_ZONES: WeakKeyDictionary[Reading, ZoneInfo] = WeakKeyDictionary()
_ALLOWED: WeakKeyDictionary[Reading, int] = WeakKeyDictionary()


def site_zone(view: Reading) -> ZoneInfo:
    """The laboratory's zone."""
    if view not in _ZONES:
        rows = view.rows("site")
        _ZONES[view] = ZoneInfo(rows[0]["zone"] if rows else "UTC")
    return _ZONES[view]


def _allowed(view: Reading) -> int:
    if view not in _ALLOWED:
        _ALLOWED[view] = rules_in_force(view).late_entry_hours
    return _ALLOWED[view]


def local_moment(view: Reading, text: str) -> datetime:
    """Moment of local text of the laboratory; of a day alone its end, so that nothing is late that may not be."""
    if len(text) == len("2026-03-02"):
        text += "T23:59:59"
    return datetime.fromisoformat(text).replace(tzinfo=site_zone(view), fold=1).astimezone(UTC)


def local_start(view: Reading, text: str) -> datetime:
    """Moment of local text of the laboratory; of a day alone its beginning: what may have come is not to come."""
    return datetime.fromisoformat(text).replace(tzinfo=site_zone(view)).astimezone(UTC)


def late_problems(acting: Acting, where: str, happened: datetime, because: str) -> Iterator[Problem]:
    """That something comes late and nobody says why."""
    allowed = _allowed(acting.tx)
    hours = hours_late(happened, acting.moment, allowed)
    if hours and not because.strip():
        what = f"it happened at {stamp(happened)[:19]}Z, {hours} hours ago; the rules of the site allow {allowed}."
        yield Problem("late.reason-needed", where, what, "Say why it comes late with --late-because.")


def note_late(acting: Acting, entry: int, subject: str, happened: datetime, because: str) -> None:
    """Mark the entry just written where it comes late. Without a reason the act must have stopped before."""
    hours = hours_late(happened, acting.moment, _allowed(acting.tx))
    if hours:
        acting.write(
            "late.noted",
            subject,
            facts={"entry": entry, "event_at": f"{stamp(happened)[:19]}Z", "hours": hours},
            reason=because,
        )


def late_rows(view: Reading, *subjects: str) -> list[Row]:
    """Marks of late entries about these subjects, in order of entry."""
    found = [row for subject in dict.fromkeys(subjects) for row in view.rows("late_entry", subject=subject)]
    return sorted(found, key=lambda row: str(row["event"]))


def late_words(row: Row) -> str:
    """One mark in words."""
    return (
        f"late entry, {row['subject']}: {row['hours']} h after {row['event_at']}, by {row['person']}: {row['reason']}"
    )
