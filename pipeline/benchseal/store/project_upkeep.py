"""Derived rows of backups and qualifications: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import nothing, signed
from benchseal.store.project_security import event

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Facts, Projection, ReadObject


def _made(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values = {"name": facts["name"], "root": facts["root"], "entries": facts["entries"], "made_at": entry.at}
    return (Put("backup", {"sha256": facts["sha256"]}, values),)


def _tested(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """Also of a backup that this ledger did not note: it may have been made before the site was put back."""
    facts = cast("Facts", entry.facts)
    values = {
        "name": facts["name"],
        "root": facts["root"],
        "entries": facts["entries"],
        "tested_at": entry.at,
        "findings": facts["findings"],
    }
    row = Put("backup", {"sha256": facts["sha256"]}, values)
    if not facts["findings"]:
        return (row,)
    return (row, event(entry, f"{facts['findings']} findings in the backup {facts['name']}"))


def _qualified(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """Each of the two who sign has an entry; the row holds both."""
    facts = cast("Facts", entry.facts)
    by = {"administrator": "performed_by", "approver": "approved_by"}[facts["signature"]["statement"]["role"]]
    values: dict[str, str | int] = {name: facts[name] for name in ("program", "verdict", "installation")}
    row = Put("qualification", {"record": entry.digests["record"]}, {**values, by: entry.actor, "at": entry.at})
    return (row, *signed(facts, "qualify", entry.subject))


UPKEEP: dict[str, Projection] = {
    "backup.made": _made,
    "backup.tested": _tested,
    "qualification.signed": _qualified,
    "site.upgraded": nothing,
}
