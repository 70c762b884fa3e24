"""The ledger entry: one act, one canonical body.

An entry says who did what to which subject, when and why. Small facts stand in ``facts``; everything larger is
an object named by its digest. A reader of every ``v`` stays in the program for good.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, cast

from benchseal.records.canonical import Digest, Json, canonical_bytes, parse_canonical

ENTRY_VERSION = 1


@dataclass(frozen=True, slots=True)
class Entry:
    """One ledger entry.

    seq: from 1, no gaps. kind: from the acts table (``run.submitted``). at: ``YYYY-MM-DDTHH:MM:SS.mmmZ``.
    actor: person or service identifier. subject: ``kind/identifier`` (``run/R-0001``). reason: as typed, or empty.
    facts: small canonical object, its shape fixed by (kind, v). digests: name to SHA-256 of an object.
    """

    seq: int
    kind: str
    at: str
    actor: str
    subject: str
    reason: str = ""
    facts: dict[str, Json] = field(default_factory=dict)
    digests: dict[str, Digest] = field(default_factory=dict)
    v: int = ENTRY_VERSION


def entry_body(entry: Entry) -> bytes:
    """Canonical bytes of an entry."""
    return canonical_bytes(
        {
            "seq": entry.seq,
            "kind": entry.kind,
            "v": entry.v,
            "at": entry.at,
            "actor": entry.actor,
            "subject": entry.subject,
            "reason": entry.reason,
            "facts": entry.facts,
            "digests": cast("dict[str, Json]", entry.digests),
        }
    )


def read_entry(body: bytes) -> Entry:
    """Inverse of ``entry_body``. Raises ValueError for other bytes and for an entry version it cannot read."""
    value = parse_canonical(body)
    if not isinstance(value, dict) or value.get("v") != ENTRY_VERSION:
        raise ValueError("not a ledger entry this program can read")
    try:
        entry = Entry(**cast("dict[str, Any]", value))  # the comparison below is the check
    except TypeError as fault:
        raise ValueError("not a ledger entry: fields differ") from fault
    if entry_body(entry) != body:
        raise ValueError("not a ledger entry: it does not read back to its own bytes")
    return entry
