"""Derived rows of site exceptions, and of the second person's word on administrative acts."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, counted, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _added(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {name: facts[name] for name in ("kind", "person", "since", "until")}
    row = Put("exception", {"exception": name_of(entry)}, {**values, "record": entry.digests["exception"]})
    return (row, counted("exception", facts), *signed(facts, "approve", entry.subject))


def _signed_off(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return signed(cast("Facts", entry.facts), "sign off", entry.subject)


EXCEPTIONS: dict[str, Projection] = {
    "exception.added": _added,
    "administration.signed_off": _signed_off,
}
