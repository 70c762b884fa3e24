"""Derived rows of deliveries: what follows from each of their entries."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, cast

from benchseal.records.canonical import canonical_bytes
from benchseal.store.changes import Change, Clear, Put
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
            "files": files_text(entry),
            "considered": facts.get("considered", 0),
            "planned": entry.seq,
            "answer_hours": facts.get("answer_hours", 0),
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


def files_text(entry: Entry) -> str:
    """Name and digest of each file a plan fixed, in the order it is put down; the empty last one has no digest."""
    facts = cast("Facts", entry.facts)
    stem = str(facts["file"]).rpartition(".")[0]
    named = facts.get("files") or [[facts["file"], "data"], [f"{stem}.manifest.json", "manifest"]]  # of first versions
    found: list[Json] = [[name, entry.digests[label]] for name, label in named]
    return canonical_bytes([*found, [f"{stem}.done", ""]] if facts["done_file"] else found).decode()


def _values(entry: Entry, facts: Facts, read: ReadObject) -> list[tuple[str, int]]:
    """Revisions of results that are in it, a third item is the row; entries of first versions hold them themselves."""
    if "values" in facts:
        return [(value["result_id"], value["revision"]) for value in facts["values"]]
    return [(str(value[0]), int(value[1])) for value in json.loads(read(entry.digests["values"]))]


def _delivery_done(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (Put("delivery", {"delivery_id": name_of(entry)}, {"state": "done", "done_at": entry.at}),)


def _delivery_moved(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (Put("delivery", {"delivery_id": name_of(entry)}, {"destination": facts["destination"]}),)


def _delivery_acknowledged(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    """A later answer takes the place of an earlier one: what it does not name any more is held no longer."""
    facts, delivery = cast("Facts", entry.facts), name_of(entry)
    head = Put("delivery", {"delivery_id": delivery}, {"state": facts["state"], "answer": entry.digests["file"]})
    held = json.loads(read(entry.digests["held"]))
    freed = tuple(
        Put("delivery_hold", {"delivery_id": delivery, "row_no": f"{number:09d}"}, _settled(entry, "taken after all"))
        for number in facts["freed"]
    )
    rows = tuple(
        Put(
            "delivery_hold",
            {"delivery_id": delivery, "row_no": f"{number:09d}"},
            {"result_id": result, "revision": revision, "reason": reason, "is_open": 1,
             "settled_by": "", "settled_at": "", "settled_why": ""},
        )
        for number, result, revision, reason in held
    )  # fmt: skip
    return (head, *freed, *rows)


def _delivery_settled(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    delivery, numbers = name_of(entry), cast("Facts", entry.facts)["rows"]
    return tuple(
        Put("delivery_hold", {"delivery_id": delivery, "row_no": f"{number:09d}"}, _settled(entry, entry.reason))
        for number in numbers
    )


def _delivery_given_up(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """Its revisions are due again; what was looked at for it and since, under its profile, is looked at again."""
    delivery, facts = name_of(entry), cast("Facts", entry.facts)
    again = tuple(Put("delivery", {"delivery_id": name}, {"considered": 0}) for name in facts["look_again"])
    head = Put("delivery", {"delivery_id": delivery}, {"state": "given up", "considered": 0})
    return (head, *again, Clear("delivered", {"delivery_id": delivery}))


def _delivery_arrived(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    """As done; where it had been given up, its revisions are delivered after all."""
    delivery, facts = name_of(entry), cast("Facts", entry.facts)
    rows = tuple(
        Put(
            "delivered",
            {"profile": facts["profile"], "result_id": result, "revision": f"{revision:04d}"},
            {"delivery_id": delivery},
        )
        for result, revision in json.loads(read(entry.digests["values"]))
    )
    return (Put("delivery", {"delivery_id": delivery}, {"state": "done", "done_at": entry.at}), *rows)


def _settled(entry: Entry, why: str) -> dict[str, str | int]:
    return {"is_open": 0, "settled_by": entry.actor, "settled_at": entry.at, "settled_why": why}


DELIVERIES: dict[str, Projection] = {
    "delivery.planned": _delivery_planned,
    "delivery.done": _delivery_done,
    "delivery.moved": _delivery_moved,
    "delivery.acknowledged": _delivery_acknowledged,
    "delivery.settled": _delivery_settled,
    "delivery.given_up": _delivery_given_up,
    "delivery.arrived": _delivery_arrived,
}
