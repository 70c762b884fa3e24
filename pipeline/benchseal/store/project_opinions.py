"""Derived rows of opinions on results."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, counted, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _given(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {name: facts[name] for name in ("sample", "lot")}
    values |= {"person": entry.actor, "record": entry.digests["opinion"], "state": "given"}
    row = Put("opinion", {"opinion": name_of(entry)}, values)
    return (row, counted("opinion", facts), *signed(facts, "give", entry.subject))


def _withdrawn(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return (Put("opinion", {"opinion": name_of(entry)}, {"state": "withdrawn"}),)


OPINIONS: dict[str, Projection] = {
    "opinion.given": _given,
    "opinion.withdrawn": _withdrawn,
}
