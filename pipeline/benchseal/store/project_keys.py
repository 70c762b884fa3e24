"""Derived rows of the site's keys: each with the entries it begins and ends at, and whether it was revoked."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from benchseal.ledger.key_history import SEAL, TREE, read_handover
from benchseal.store.changes import Change, Put
from benchseal.store.project_rows import Facts, signed
from benchseal.store.project_security import event

if TYPE_CHECKING:
    from benchseal.records.entries import Entry
    from benchseal.store.project_rows import Projection, ReadObject


def founded_keys(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    """Both keys a site is founded with."""
    facts = cast("Facts", entry.facts)
    certificate = read(entry.digests["seal_certificate"]).hex()
    return tuple(
        Put("site_key", {"key": key, "key_id": name}, {"public": public, "at": entry.at, "from_entry": entry.seq})
        for key, name, public in (
            (SEAL, facts["seal_key_id"], certificate),
            (TREE, facts["tree_key_id"], facts["tree_key"]),
        )
    )


def _agreed(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    """The first of two people signs; the key follows from the entry of the second."""
    return signed(cast("Facts", entry.facts), "agree", entry.subject)


def _rotated(entry: Entry, read: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    signatures = (facts["old_signature"], facts["new_signature"])
    handover = read_handover(read(entry.digests["handover"]), *signatures)
    site: dict[str, str | int] = {"tree_key": handover.new_public.hex(), "tree_key_id": handover.new_key_id}
    if handover.key == SEAL:
        certificate = entry.digests["seal_certificate"]
        site = {
            "seal_key_id": handover.new_key_id,
            "seal_certificate": certificate,
            "seal_fingerprint": certificate,  # the digest of its DER, both
        }
    return (
        Put("site", {"ledger": handover.ledger}, site),
        Put("site_key", {"key": handover.key, "key_id": handover.old_key_id}, {"until_entry": entry.seq}),
        Put(
            "site_key",
            {"key": handover.key, "key_id": handover.new_key_id},
            {
                "public": handover.new_public.hex(),
                "handover": entry.digests["handover"],
                "old_signature": signatures[0],
                "new_signature": signatures[1],
                "at": entry.at,
                "from_entry": entry.seq,
            },
        ),
        *signed(facts, "rotate", entry.subject),
    )


def _revoked(entry: Entry, _: ReadObject) -> tuple[Change, ...]:
    facts = cast("Facts", entry.facts)
    values: dict[str, str | int] = {
        "revoked_at": entry.at,
        "revoked_since": facts["since"],
        "revoked_why": entry.reason,
    }
    what = f"the {facts['key']} key {facts['key_id']} is revoked as from {facts['since']}"
    return (
        Put("site_key", {"key": facts["key"], "key_id": facts["key_id"]}, values),
        event(entry, what),
        *signed(facts, "revoke", entry.subject),
    )


KEYS: dict[str, Projection] = {
    "key.rotation_agreed": _agreed,
    "key.rotated": _rotated,
    "key.revocation_agreed": _agreed,
    "key.revoked": _revoked,
}
