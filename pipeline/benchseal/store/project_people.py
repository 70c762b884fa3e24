"""Derived rows of the site and its people: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, nothing

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _person(person: Facts) -> tuple[Change, ...]:
    row = Put(
        "person",
        {"person": person["person"]},
        {
            "printed_name": person["printed_name"],
            "identity_check": person["identity_check"],
            "enrolled_by": person["enrolled_by"],
            "password_sha256": person["password_sha256"],
            "active": 1,
        },
    )
    return (row, *(Put("role", {"person": person["person"], "role": role}, {"active": 1}) for role in person["roles"]))


def _founded(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    site = Put(
        "site",
        {"ledger": facts["ledger"]},
        {
            **{name: facts["laboratory"][name] for name in ("name", "address", "zone")},
            "seal_fingerprint": facts["seal_fingerprint"],
            "seal_key_id": facts["seal_key_id"],
            "seal_certificate": entry.digests["seal_certificate"],
            "tree_key": facts["tree_key"],
            "tree_key_id": facts["tree_key_id"],
        },
    )
    return (site, *(row for person in facts["persons"] for row in _person(person)))


def _person_added(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    return _person(cast("Facts", entry.facts))


PEOPLE: dict[str, Projection] = {
    "site.founded": _founded,
    "person.added": _person_added,
    "person.unlocked": nothing,
}
