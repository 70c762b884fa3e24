"""Derived rows of tokens of the reading interface."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, counted, name_of, signed

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def _made(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {name: facts[name] for name in ("system", "until", "secret_mac")}
    values |= {name: " ".join(facts[name]) for name in ("scopes", "customers")}
    values |= {"record": entry.digests["record"], "made_at": entry.at, "made_by": entry.actor}
    row = Put("interface_token", {"token": name_of(entry)}, values)
    return (row, counted("interface_token", facts), *signed(facts, "approve", entry.subject))


def _revoked(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    values: dict[str, str | int] = {"revoked_at": entry.at, "revoked_by": entry.actor}
    return (Put("interface_token", {"token": name_of(entry)}, values),)


def _agreed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """The first of the two signatures; the entry behind it, in the same transaction, has the row."""
    return signed(cast("Facts", entry.facts), "approve", entry.subject)


INTERFACE: dict[str, Projection] = {
    "token.agreed": _agreed,
    "token.made": _made,
    "token.revoked": _revoked,
}
