"""Replay: derived rows made again from the ledger, and compared with those at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.problems import Finding
from benchseal.records.entries import read_entry
from benchseal.store import tables
from benchseal.store.sqlite import SqliteStore

if TYPE_CHECKING:
    from benchseal.store.protocol import Row
    from benchseal.store.sqlite import SqliteReading


def replayed(view: SqliteReading, ledger_id: str) -> SqliteStore:
    """A store in memory whose derived rows follow from the ledger in ``view``. Raises what a broken entry raises."""
    store = SqliteStore.in_memory(ledger_id)
    store.append_replayed((read_entry(body) for _, body, _, _ in view.entries()), view)
    return store


def differences(view: SqliteReading, again: SqliteReading) -> tuple[Finding, ...]:
    """Where the derived rows at hand differ from the replay, in table and key order."""
    found = []
    for name, table in tables.DERIVED.items():
        key = [column.name for column in table.primary_key.columns]
        here = {tuple(row[part] for part in key): row for row in view.rows(name)}
        there = {tuple(row[part] for part in key): row for row in again.rows(name)}
        found += [_said(name, place, here.get(place), there.get(place)) for place in sorted(here.keys() | there.keys())]
    return tuple(finding for finding in found if finding is not None)


def _said(table: str, key: tuple[str, ...], here: Row | None, there: Row | None) -> Finding | None:
    if here == there:
        return None
    where = f"{table} {'/'.join(key)}"
    if there is None:
        what = "the row does not follow from the ledger."
    elif here is None:
        what = "the row that follows from the ledger is missing."
    else:
        parts = [
            f"{column} is {here[column]!r}, the ledger gives {there[column]!r}"
            for column in there
            if here[column] != there[column]
        ]
        what = "; ".join(parts) + "."
    return Finding(
        "integrity.derived-row",
        where,
        what,
        "Keep a copy of the store, find out who changed it, then run `benchseal rebuild`.",
    )


def schema_differences(view: SqliteReading) -> tuple[Finding, ...]:
    """Tables or triggers that are missing, added or altered: a dropped trigger shows here."""
    fresh = SqliteStore.in_memory("none")
    with fresh.reading() as model:
        should = model.schema_texts()
    fresh.close()
    here = view.schema_texts()
    return tuple(
        Finding(
            "integrity.schema",
            item,
            "missing." if item not in here else "not of this program's making." if item not in should else "altered.",
            "Keep a copy of the store and find out who changed it.",
        )
        for item in sorted(should.keys() | here.keys())
        if should.get(item) != here.get(item)
    )
