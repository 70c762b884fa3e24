"""Which version of a document counts now.

One approved for a later day waits for it; the program puts on record that the day has come, before the next act, so
that everything else only asks for what is in force.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from benchseal.desk.acting import PROGRAM, Acting, Who
from benchseal.desk.clock import stamp
from benchseal.problems import Problem, Refusal, Stopped

if TYPE_CHECKING:
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row

_WORDS = {
    "draft": "is not approved",
    "superseded": "is superseded",
    "withdrawn": "is withdrawn",
}


def in_force(view: Reading, kind: str, name: str) -> Row | str:
    """The row of the version in force, or why there is none. name: ``ID``, or ``ID@VERSION`` for exactly that one."""
    identifier, _, version = name.partition("@")
    rows = sorted(view.rows("document", kind=kind, id=identifier), key=lambda row: int(row["version"]))
    now = next((row for row in rows if row["state"] == "approved"), None)
    if version and (now is None or now["version"] != version):
        named = next((row for row in rows if row["version"] == version), None)
        instead = f"; version {now['version']} is in force" if now else ""
        return (_state(named) if named else f"there is no version {version}") + instead
    if now is not None:
        return now
    return _state(rows[-1]) if rows else "there is no such document"


def _state(row: Row) -> str:
    if row["state"] == "waiting":
        return f"version {row['version']} counts from {row['effective']}"
    return f"version {row['version']} {_WORDS[row['state']]}"


def begins_at(acting: Acting, day: str) -> tuple[str, str]:
    """The day a version counts from and the moment it begins; the moment is empty for today. Raises Stopped.

    day: ``YYYY-MM-DD`` in the laboratory's time zone, or empty for today.
    """
    zone = zone_of(acting.tx, acting.site)
    today = acting.moment.astimezone(zone).date()
    if not day:
        return today.isoformat(), ""
    try:
        asked = date.fromisoformat(day)
    except ValueError:
        what = f"{day!r} is no day."
        raise Stopped(Problem("document.effective", "--effective", what, "Write it as 2026-03-02.")) from None
    if asked < today:
        what = f"{day} is past; today is {today.isoformat()} in {zone.key}."
        raise Stopped(Refusal("document.effective-past", "--effective", what, "Name today or a later day."))
    if asked == today:
        return day, ""
    return asked.isoformat(), stamp(datetime.combine(asked, time(), zone).astimezone(UTC))


def zone_of(view: Reading, site: Site) -> ZoneInfo:
    """The laboratory's time zone."""
    row = view.row("site", ledger=site.ledger)
    return ZoneInfo(row["zone"] if row else "UTC")


def begin_documents(acting: Acting) -> None:
    """Put on record which versions began to count since the last act, in the order of their days."""
    for row in _due(acting.tx, acting.at):
        kind, identifier = row["kind"], row["id"]
        before = acting.tx.row("document", kind=kind, id=identifier, state="approved")
        acting.write(
            "document.begun",
            f"document/{kind}/{identifier}",
            facts={
                "kind": kind,
                "id": identifier,
                "version": int(row["version"]),
                "supersedes": int(before["version"]) if before else 0,
            },
            digests={"value": row["value"]},
            actor=PROGRAM,
        )


def bring_in_force(site: Site) -> None:
    """Before something is only read: what counts by now is on record. A store that takes nothing is read as it is."""
    at = stamp(site.clock())
    with site.store.reading() as view:
        if not _due(view, at):
            return
    program = Who(PROGRAM, PROGRAM, frozenset(), signs=False)
    with suppress(Stopped, OSError), site.store.writing() as tx:
        acting = Acting(site, tx, (program,), site.clock())
        acting.note_clock()
        begin_documents(acting)


def _due(view: Reading, at: str) -> list[Row]:
    waiting = [row for row in view.rows("document", state="waiting") if row["begins"] <= at]
    return sorted(waiting, key=lambda row: (row["begins"], row["kind"], row["id"], int(row["version"])))
