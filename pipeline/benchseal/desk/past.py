"""The site as it was: derived rows replayed up to the end of a day."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from benchseal.desk.clock import stamp
from benchseal.problems import Problem, Stopped
from benchseal.records.entries import read_entry
from benchseal.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.site import Site
    from benchseal.store.sqlite import SqliteReading

_OF_PEOPLE = ("site.founded", "person.", "recovery.")


@contextmanager
def people_as_of(site: Site, view: SqliteReading, day: str) -> Iterator[SqliteReading]:
    """Accounts and roles as they were at the end of ``day`` (YYYY-MM-DD) in the laboratory's zone. Raises Stopped."""
    try:
        last = date.fromisoformat(day)
    except ValueError:
        what = f"{day!r} is no day."
        raise Stopped(Problem("person.as-of", "--as-of", what, "Write it as 2026-03-02.")) from None
    row = view.row("site", ledger=site.ledger)
    midnight = datetime.combine(last + timedelta(days=1), time(), ZoneInfo(row["zone"] if row else "UTC"))
    end = stamp(midnight.astimezone(UTC))
    entries = (read_entry(body) for _, body, _, _ in view.entries())
    then = SqliteStore.in_memory(site.ledger)
    try:
        then.append_replayed((one for one in entries if one.at < end and one.kind.startswith(_OF_PEOPLE)), view)
        with then.reading() as past:
            yield past
    finally:
        then.close()
