"""Derived rows of deliveries: what follows from each of their entries."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, cast

from benchseal.records.canonical import canonical_bytes
from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, counted, name_of

if TYPE_CHECKING:
    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _delivery_planned(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    delivery = name_of(entry)
    columns = ("profile", "produced_at", "destination", "file", "rows")
    head = Put(
        "delivery",
        {"delivery_id": delivery},
        {
            **{name: facts[name] for name in columns},
            "profile_digest": entry.digests["profile"],
            "state": "planned",
            "files": canonical_bytes(_files(entry, facts)).decode(),
            "considered": facts.get("considered", 0),
        },
    )
    rows = tuple(
        Put(
            "delivered",
            {"profile": facts["profile"], "result_id": result, "revision": f"{revision:04d}"},
            {"delivery_id": delivery},
        )
        for result, revision in _values(entry, facts, read)
    )
    return (head, counted("delivery", facts), *rows)


def _files(entry: Entry, facts: Facts) -> list[Json]:
    """Name and digest of each file in the order it is put down; the empty last one has no digest."""
    stem = str(facts["file"]).rpartition(".")[0]
    named = facts.get("files") or [[facts["file"], "data"], [f"{stem}.manifest.json", "manifest"]]  # of first versions
    found: list[Json] = [[name, entry.digests[label]] for name, label in named]
    return [*found, [f"{stem}.done", ""]] if facts["done_file"] else found


def _values(entry: Entry, facts: Facts, read: ReadObject) -> list[tuple[str, int]]:
    """Revisions of results that are in it; entries of first versions hold them themselves."""
    if "values" in facts:
        return [(value["result_id"], value["revision"]) for value in facts["values"]]
    return [(str(result), int(revision)) for result, revision in json.loads(read(entry.digests["values"]))]


def _delivery_done(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (Put("delivery", {"delivery_id": name_of(entry)}, {"state": "done"}),)


DELIVERIES: dict[str, Projection] = {
    "delivery.planned": _delivery_planned,
    "delivery.done": _delivery_done,
}
