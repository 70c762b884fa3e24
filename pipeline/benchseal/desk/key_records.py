"""The site's keys as the ledger tells them: periods, handovers, and what the trust file says about them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from benchseal.desk.acting import as_json
from benchseal.desk.site import TRUST_FILE
from benchseal.desk.stamp_rules import authorities
from benchseal.ledger.checkpoints import Checkpoint, read_checkpoint
from benchseal.ledger.key_history import (
    KEYS,
    TREE,
    Handover,
    KeyPeriod,
    check_chain,
    followed,
    handover_object,
    periods,
    read_handover,
)
from benchseal.ledger.tree import tree_root
from benchseal.problems import Finding
from benchseal.records.canonical import digest
from benchseal.records.entries import read_entry
from benchseal.verify.trust import SCHEMA, WITH_HISTORY, WITH_STAMPS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.store.protocol import Reading, Row
    from benchseal.store.sqlite import SqliteReading

_KEEP = "Stop work, keep this copy as it is, and compare with the last backup."


def key_rows(view: Reading, key: str) -> list[Row]:
    """Every key of one kind, in the order they were in force."""
    return sorted(view.rows("site_key", key=key), key=lambda row: int(row["from_entry"]))


def tree_periods(view: Reading) -> tuple[KeyPeriod, ...]:
    """Every key of tree heads, with the sizes of heads it signs."""
    return tuple(
        KeyPeriod(row["key_id"], bytes.fromhex(row["public"]), row["from_entry"], row["until_entry"] or None)
        for row in key_rows(view, TREE)
    )


def key_history(view: Reading, first: tuple[str, bytes]) -> tuple[KeyPeriod, ...]:
    """The first key of tree heads, given as entry 1 has it, and those that good handovers lead to from there."""
    try:
        shown = handovers(view, TREE)
    except (ValueError, KeyError):
        shown = []  # ``check_keys`` names what cannot be read
    return tuple(KeyPeriod(*one) for one in periods(first, followed(first, shown)))


def handovers(view: Reading, key: str) -> list[Handover]:
    """Every handover of one kind of key, oldest first. Raises ValueError or KeyError where one cannot be read."""
    return [
        read_handover(view.bytes_of(row["handover"]), row["old_signature"], row["new_signature"])
        for row in key_rows(view, key)
        if row["handover"]
    ]


def check_keys(view: SqliteReading, ledger: str) -> list[Finding]:
    """Whether each key was handed over by the one before, in its own entry, under a head the old tree key signed."""
    found = []
    heads = {size: read_checkpoint(body.encode()) for size, body in view.checkpoints()}
    for key in KEYS:
        rows = key_rows(view, key)
        if not rows or rows[0]["from_entry"] != 1:
            what = "the first one is not that of entry 1."
            found.append(Finding("integrity.key-handover", f"{key} key", what, _KEEP))
            continue
        shown = handovers(view, key)
        found += check_chain(ledger, key, (rows[0]["key_id"], bytes.fromhex(rows[0]["public"])), shown)
        found += _in_their_entries(view, shown)
    for handover in [one for key in KEYS for one in handovers(view, key)]:
        head = heads.get(handover.entry)
        before = next((p for p in tree_periods(view) if (p.until_entry or handover.entry) >= handover.entry), None)
        if not isinstance(head, Checkpoint) or before is None or head.key_id != before.key_id:
            what = "no head signed by the tree key of that time holds its entry."
            found.append(Finding("integrity.key-not-covered", handover.name, what, _KEEP))
    return found


def _in_their_entries(view: SqliteReading, shown: list[Handover]) -> Iterator[Finding]:
    """A handover names the entry it stands in, and its time."""
    for handover in shown:
        row = next(view.entries(handover.entry), None)
        entry = read_entry(row[1]) if row else None
        if entry is None or (entry.seq, entry.kind, entry.at) != (handover.entry, "key.rotated", handover.at):
            what = f"entry {handover.entry} does not put it on record."
            yield Finding("integrity.key-handover", handover.name, what, _KEEP)


def trust_value(view: SqliteReading, ledger: str) -> dict[str, Json]:
    """Every seal certificate and ledger key in order, how each came to be, and what was revoked.

    As long as a site has its first keys and none was revoked, the short form without history; whose time-stamps its
    seals rest on only where somebody was ever asked.
    """
    site = view.row("site", ledger=ledger)
    if site is None:
        raise AssertionError("a site has a founding entry")
    seals, trees = key_rows(view, "seal"), key_rows(view, TREE)
    trust: dict[str, Json] = {
        "schema": SCHEMA,
        "laboratory": site["name"],
        "ledger": ledger,
        "seals": [
            {"fingerprint_sha256": _digest_of(row["public"]), "certificate_der_hex": row["public"]} for row in seals
        ],
        "ledger_keys": [{"key_id": row["key_id"], "public_key_hex": row["public"]} for row in trees],
    }
    revoked = [row for row in (*seals, *trees) if row["revoked_since"]]
    shown = sorted((*handovers(view, "seal"), *handovers(view, TREE)), key=lambda one: one.entry)
    stamps = authorities(view)
    if not (shown or stamps):
        return trust
    trust["schema"] = WITH_HISTORY
    trust["handovers"] = [
        {
            "object": handover_object(one).decode(),
            "old_signature": one.old_signature.hex(),
            "new_signature": one.new_signature.hex(),
        }
        for one in shown
    ]
    trust["revoked"] = [_revoked(view, row) for row in revoked]
    if stamps:
        trust["schema"] = WITH_STAMPS
        trust["time_stamp_authorities"] = [
            {"certificate_der_hex": one.certificate.hex(), "policy": one.policy} for one in stamps
        ]
    return trust


def _revoked(view: SqliteReading, row: Row) -> Json:
    """What was revoked, and everything it signed that is on record: roots of heads, digests of sealed files."""
    tree = row["key"] == TREE
    # Every sealed file on record: one sealed by another key among them does no harm.
    sealed = {one["sealed"] for one in view.rows("certificate") if one["sealed"]}
    confirmed = _heads(view, row) if tree else sealed
    return {
        "key": row["key"],
        "name": row["key_id"] if tree else _digest_of(row["public"]),
        "since": row["revoked_since"],
        "at": row["revoked_at"],
        "reason": row["revoked_why"],
        "confirmed": as_json(sorted(confirmed)),
    }


def _heads(view: SqliteReading, row: Row) -> set[str]:
    """Roots as the ledger has them now: whoever has the key could have put other heads among those kept."""
    heads = (read_checkpoint(body.encode()) for _, body in view.checkpoints())
    sizes = {one.size for one in heads if isinstance(one, Checkpoint) and one.key_id == row["key_id"]}
    return {tree_root(size, view).hex() for size in sizes if size <= view.size()}


def _digest_of(certificate_hex: str) -> str:
    return digest(bytes.fromhex(certificate_hex))


def keep_trust(site: Site) -> None:
    """Write the trust file again where it is not as it should be now."""
    with site.store.writing() as tx:
        path = site.folder / TRUST_FILE
        if not path.is_file() or path.read_bytes() != trust_bytes(tx, site.ledger):
            write_trust(site, tx)


def write_trust(site: Site, view: SqliteReading) -> None:
    """Write ``SITE/trust.json``: what customers need to check a certificate, handed to them by another way."""
    part = site.folder / f"{TRUST_FILE}.part"
    part.write_bytes(trust_bytes(view, site.ledger))
    part.replace(site.folder / TRUST_FILE)


def trust_bytes(view: SqliteReading, ledger: str) -> bytes:
    """The trust file."""
    return (json.dumps(trust_value(view, ledger), indent=2, ensure_ascii=False) + "\n").encode()
