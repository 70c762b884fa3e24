"""Derived rows of controlled documents: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _document_key(facts: Facts) -> dict[str, str]:
    return {"kind": facts["kind"], "id": facts["id"], "version": str(facts["version"])}


def _document_added(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    row = Put(
        "document",
        _document_key(facts),
        {
            "title": facts["title"],
            "source": entry.digests["source"],
            "value": entry.digests["value"],
            "state": "draft",
            "author": entry.actor,
        },
    )
    return (row,)


def _document_approved(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    rows: list[Change] = []
    if facts["supersedes"]:
        before = {**_document_key(facts), "version": str(facts["supersedes"])}
        rows.append(Put("document", before, {"state": "superseded"}))
    rows.append(Put("document", _document_key(facts), {"state": "approved", "approver": entry.actor}))
    return (*rows, *signed(facts, "approve", entry.subject))


def _acknowledged(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    key = {"policy": facts["id"], "version": str(facts["version"]), "person": entry.actor}
    return (Put("acknowledgement", key, {"value": entry.digests["value"], "at": entry.at}),)


DOCUMENTS: dict[str, Projection] = {
    "document.added": _document_added,
    "document.approved": _document_approved,
    "policy.acknowledged": _acknowledged,
}
