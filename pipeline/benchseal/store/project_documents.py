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
    begins = facts.get("begins", "")  # entries made before documents had a day name none
    values: dict[str, str | int] = {
        "state": "waiting" if begins else "approved",
        "approver": entry.actor,
        "effective": facts.get("effective", ""),
        "begins": begins,
        "approved_at": entry.at,
        "comparison": entry.digests.get("comparison", ""),
    }
    return (
        *_superseded(facts),
        Put("document", _document_key(facts), values),
        *signed(facts, "approve", entry.subject),
    )


def _layout_sampled(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"name": facts["name"], "version": facts["version"]}
    values |= {"expected": entry.digests["expected"], "person": entry.actor, "at": entry.at}
    return (Put("layout_sample", {"id": facts["id"], "sha256": entry.digests["raw"]}, values),)


def _superseded(facts: Facts) -> tuple[Change, ...]:
    if not facts["supersedes"]:
        return ()
    before = {**_document_key(facts), "version": str(facts["supersedes"])}
    return (Put("document", before, {"state": "superseded"}),)


def _document_begun(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (*_superseded(facts), Put("document", _document_key(facts), {"state": "approved"}))


def _document_reviewed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    row = Put("document", _document_key(facts), {"reviewed_at": entry.at})
    return (row, *signed(facts, "review", entry.subject))


def _document_withdrawn(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    row = Put("document", _document_key(facts), {"state": "withdrawn"})
    return (row, *signed(facts, "withdraw", entry.subject))


def _acknowledged(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    key = {"policy": facts["id"], "version": str(facts["version"]), "person": entry.actor}
    return (Put("acknowledgement", key, {"value": entry.digests["value"], "at": entry.at}),)


DOCUMENTS: dict[str, Projection] = {
    "document.added": _document_added,
    "document.approved": _document_approved,
    "layout.sampled": _layout_sampled,
    "document.begun": _document_begun,
    "document.reviewed": _document_reviewed,
    "document.withdrawn": _document_withdrawn,
    "policy.acknowledged": _acknowledged,
}
