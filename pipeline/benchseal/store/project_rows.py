"""What projections of every subject share: rows of counters, signatures, contributions, registers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias, cast

from benchseal.records.canonical import canonical_bytes
from benchseal.store.changes import Change, Put

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.canonical import Digest
    from benchseal.records.entries import Entry

    ReadObject: TypeAlias = Callable[[Digest], bytes]
    Projection: TypeAlias = Callable[[Entry, ReadObject], tuple[Change, ...]]

Facts: TypeAlias = "dict[str, Any]"  # shape fixed by (kind, v); the desk writes them


def name_of(entry: Entry) -> str:
    """Identifier of an entry's subject."""
    return entry.subject.partition("/")[2]


def counted(name: str, facts: Facts) -> Put:
    """A per-site counter takes the value of the entry that used it."""
    return Put("counter", {"name": name}, {"value": facts["count"]})


def signed(facts: Facts, act: str, subject: str, *, contributes: bool = False) -> tuple[Change, ...]:
    """The signature row, and the contribution of the person who signed."""
    statement = facts["signature"]["statement"]
    rows: list[Change] = [
        Put(
            "signature",
            {"signature": facts["signature"]["signature"]},
            {
                **{name: statement[name] for name in ("subject", "digest", "person", "role", "meaning", "at")},
                "version": statement["version"],
                "statement": canonical_bytes(statement).decode(),
            },
        )
    ]
    if contributes:
        rows.append(contribution(subject, statement["person"], act))
    return tuple(rows)


def contribution(subject: str, person: str, act: str) -> Put:
    """A person had a part in a subject."""
    return Put("contribution", {"subject": subject, "person": person, "act": act})


def correction(entry: Entry) -> Put:
    """A recorded value changed after its first entry: what, from what to what, by whom and why."""
    values: dict[str, str | int] = {
        "person": entry.actor,
        "at": entry.at,
        "reason": entry.reason,
        "changes": canonical_bytes(entry.facts["changes"]).decode(),
        "effect": entry.digests["effect"],
    }
    return Put("correction", {"subject": entry.subject, "entry": f"{entry.seq:010d}"}, values)


def nothing(_: Entry, __: ReadObject) -> tuple[Change, ...]:
    """An entry that changes no derived row."""
    return ()


def registered(table: str, *columns: str, key: str = "") -> Callable[[Entry, ReadObject], tuple[Change, ...]]:
    """A projection for a register row: its record is an object, its few columns stand in the facts."""

    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        facts = cast("Facts", entry.facts)
        values: dict[str, str | int] = {name: facts[name] for name in columns}
        row = Put(table, {key or table: name_of(entry)}, {**values, "record": entry.digests["record"]})
        return (row, counted(table, facts)) if "count" in facts else (row,)

    return rows
