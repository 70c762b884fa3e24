"""Derived rows of registers and preparation sheets: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, contribution, registered

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _preparation(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    row = Put(
        "portion",
        {"batch": facts["batch"], "portion": facts["portion"]},
        {
            "sample": facts["sample"],
            "kind": facts["portion_kind"],
            "version": facts["version"],
            "record": entry.digests["record"],
        },
    )
    subject = f"portion/{facts['batch']}/{facts['portion']}"
    persons = {entry.actor, facts["prepared_by"]} - {""}
    return (row, *(contribution(subject, person, "prepare") for person in sorted(persons)))


def _standard(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    rows = registered("standard_lot", "element", "purpose", key="lot")(entry, read)
    return (*rows, contribution(entry.subject, entry.actor, "enter"))


REGISTERS: dict[str, Projection] = {
    "customer.added": registered("customer", "name"),
    "instrument.added": registered("instrument", "serial", "technique"),
    "standard_lot.added": _standard,
    "sample.added": registered("sample", "lot", "customer", "product", "specification"),
    "preparation.added": _preparation,
}
