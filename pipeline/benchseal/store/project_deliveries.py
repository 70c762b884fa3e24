"""Derived rows of deliveries: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, counted, name_of

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _delivery_planned(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
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
            "data": entry.digests["data"],
            "manifest": entry.digests["manifest"],
        },
    )
    rows = tuple(
        Put(
            "delivered",
            {"profile": facts["profile"], "result_id": value["result_id"], "revision": f"{value['revision']:04d}"},
            {"delivery_id": delivery},
        )
        for value in facts["values"]
    )
    return (head, counted("delivery", facts), *rows)


def _delivery_done(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (Put("delivery", {"delivery_id": name_of(entry)}, {"state": "done"}),)


DELIVERIES: dict[str, Projection] = {
    "delivery.planned": _delivery_planned,
    "delivery.done": _delivery_done,
}
