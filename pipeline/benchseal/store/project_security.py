"""Derived rows of security: events to be seen, the clock, reviews of access, days of reads."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def event(entry: Entry, what: str, *, person: str = "") -> Put:
    """An event an administrator and an approver have to see. by: who did it, where a person did."""
    return Put(
        "security_event",
        {"event": f"{entry.seq:09d}"},
        {"kind": entry.kind, "person": person, "by": entry.actor, "at": entry.at, "what": what},
    )


def _locked(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    person = name_of(entry)
    return (event(entry, f"{facts['failures']} wrong passwords; the account locked itself", person=person),)


def _clock_back(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    what = f"the clock went back {facts['seconds']} s behind {facts['last_at']}"
    return (Put("site", {"ledger": name_of(entry)}, {"clock_back": entry.at}), event(entry, what))


def _clock_confirmed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (Put("site", {"ledger": name_of(entry)}, {"clock_back": ""}),)


def _restored(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (event(entry, f"the site was put back from {facts['name']}, {facts['entries']} entries"),)


def _unstamped(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (event(entry, f"{name_of(entry)} was sealed without a time-stamp: {facts['why']}"),)


def _notice_unstamped(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    said = f"{facts['number']}, the notice of {name_of(entry)}, was sealed without a time-stamp: {facts['why']}"
    return (event(entry, said),)


def _acknowledged(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {f"by_{role}": entry.actor for role in facts["roles"]}
    return tuple(Put("security_event", {"event": f"{number:09d}"}, values) for number in facts["events"])


def _reviewed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    values: dict[str, str | int] = {"person": entry.actor, "at": entry.at}
    row = Put("access_review", {"list": entry.digests["list"]}, values)
    return (row, *signed(cast("Facts", entry.facts), "review", entry.subject))


def _trail_reviewed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    values: dict[str, str | int] = {"person": entry.actor, "at": entry.at, "looked": entry.digests["looked"]}
    row = Put("trail_review", {"subject": entry.subject, "event": f"{entry.seq:09d}"}, values)
    return (row, *signed(cast("Facts", entry.facts), "review", entry.subject))


def _reads_noted(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """A day of the log of reads; bytes as text with zeros before, so that rows come in order."""
    facts = cast("Facts", entry.facts)
    noted = {name: facts[name] for name in ("sha256", "ends", "lines")}
    values: dict[str, str | int] = {"day": name_of(entry), **noted}
    return (Put("reads_noted", {"file": facts["file"], "begins": f"{facts['begins']:012d}"}, values),)


SECURITY: dict[str, Projection] = {
    "person.locked": _locked,
    "clock.back": _clock_back,
    "clock.confirmed": _clock_confirmed,
    "site.restored": _restored,
    "event.acknowledged": _acknowledged,
    "access.reviewed": _reviewed,
    "trail.reviewed": _trail_reviewed,
    "certificate.unstamped": _unstamped,
    "certificate.notice_unstamped": _notice_unstamped,
    "reads.noted": _reads_noted,
}
