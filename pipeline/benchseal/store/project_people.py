"""Derived rows of the site and its people: what follows from each of their entries."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_keys import founded_keys
from benchseal.store.project_rows import Facts, name_of, nothing, signed
from benchseal.store.project_security import event

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _person(person: Facts, **values: str | int) -> tuple[Change, ...]:
    row = Put(
        "person",
        {"person": person["person"]},
        {
            "printed_name": person["printed_name"],
            "identity_check": person["identity_check"],
            "enrolled_by": person["enrolled_by"],
            "password_sha256": person["password_sha256"],
            "reset_by": "",
            "active": 1,
            "suspended": 0,
            "must_change": 0,
            **values,
        },
    )
    return (row, *(Put("role", {"person": person["person"], "role": role}, {"active": 1}) for role in person["roles"]))


def _founded(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
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
    return (site, *founded_keys(entry, read), *(row for person in facts["persons"] for row in _person(person)))


def _person_added(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """Whoever enrolled somebody may not be who confirms them. A service signs nothing and waits for nobody."""
    facts = cast("Facts", entry.facts)
    if facts["roles"] == ["service"]:
        return _person(facts)
    return _person(facts, suspended=1, reset_by=entry.actor)


def _role(active: int) -> Projection:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        facts = cast("Facts", entry.facts)
        return (Put("role", {"person": name_of(entry), "role": facts["role"]}, {"active": active}),)

    return rows


def _account(**values: str | int) -> Projection:
    def rows(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
        return (Put("person", {"person": name_of(entry)}, values),)

    return rows


def _enabled(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """Whoever opened it again may not be who confirms it."""
    return (Put("person", {"person": name_of(entry)}, {"active": 1, "suspended": 1, "reset_by": entry.actor}),)


def _password_changed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"password_sha256": facts["password_sha256"], "must_change": 0}
    return (Put("person", {"person": name_of(entry)}, values),)


def _password_reset(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "password_sha256": facts["password_sha256"],
        "must_change": 1,
        "suspended": 1,
        "reset_by": entry.actor,
    }
    return (
        Put("person", {"person": name_of(entry)}, values),
        event(entry, "the password was reset", person=name_of(entry)),
    )


def _confirmed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"suspended": 0, "reset_by": "", "identity_check": facts["identity_check"]}
    return (Put("person", {"person": name_of(entry)}, values), *signed(facts, "confirm", entry.subject))


def _recovery_made(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """A new envelope takes the place of every earlier one; each of the two who make it signs an entry."""
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {"custodians": ", ".join(facts["custodians"]), "made_at": entry.at}
    return (Put("recovery", {"sha256": facts["sha256"]}, values), *signed(facts, "make", entry.subject))


def _recovery_used(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    person: dict[str, str | int] = {"suspended": 0, "reset_by": "", "identity_check": facts["identity_check"]}
    return (
        Put("recovery", {"sha256": facts["sha256"]}, {"used_at": entry.at, "used_for": name_of(entry)}),
        Put("person", {"person": name_of(entry)}, person),
        event(entry, "confirmed with the envelope of two halves", person=name_of(entry)),
    )


def _recovery_checked(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    return (Put("recovery", {"sha256": facts["sha256"]}, {"checked_at": entry.at}),)


PEOPLE: dict[str, Projection] = {
    "site.founded": _founded,
    "person.added": _person_added,
    "person.unlocked": nothing,
    "person.role_given": _role(1),
    "person.role_taken": _role(0),
    "person.disabled": _account(active=0),
    "person.enabled": _enabled,
    "person.password_changed": _password_changed,
    "person.password_reset": _password_reset,
    "person.confirmed": _confirmed,
    "recovery.made": _recovery_made,
    "recovery.used": _recovery_used,
    "recovery.checked": _recovery_checked,
}
