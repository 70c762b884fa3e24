"""The trail as CSV (RFC 4180), UTF-8."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from benchseal.records.canonical import canonical_bytes

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.certificate.record_page import Change
    from benchseal.records.entries import Entry

_RISKY = ("=", "+", "-", "@", "\t", "\r")
_ENTRY = ("entry", "at", "actor", "kind", "subject", "reason", "facts", "objects")
_SIGNATURE = ("entry", "subject", "version", "name", "person", "role", "meaning", "at", "zone", "signs", "signature")


def trail_csv(entries: Sequence[Entry]) -> bytes:
    """One row an entry; text that a spreadsheet would run starts with an apostrophe."""
    return table_csv(
        _ENTRY,
        (
            (
                entry.seq,
                entry.at,
                entry.actor,
                entry.kind,
                entry.subject,
                entry.reason,
                canonical_bytes(entry.facts).decode(),
                canonical_bytes(dict(entry.digests)).decode(),
            )
            for entry in entries
        ),
    )


def signatures_csv(entries: Iterable[Entry]) -> bytes:
    """One row a signature: what the statement says, and the signature."""
    rows = []
    for entry in entries:
        signature = entry.facts.get("signature")
        statement = signature.get("statement") if isinstance(signature, dict) else None
        if not isinstance(signature, dict) or not isinstance(statement, dict):
            continue
        names = ("subject", "version", "printed_name", "person", "role", "meaning", "at", "zone", "digest")
        rows.append((entry.seq, *(statement[name] for name in names), signature["signature"]))
    return table_csv(_SIGNATURE, rows)


def changes_csv(rows: Iterable[tuple[str, str, Change]]) -> bytes:
    """One row a changed value: entry, time, what, old, new."""
    found = ((entry, at, one.path, one.old, one.new) for entry, at, one in rows)
    return table_csv(("entry", "at", "what", "old", "new"), found)


def table_csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A table of text and whole numbers."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(columns)
    for row in rows:
        writer.writerow([f"'{cell}" if isinstance(cell, str) and cell.startswith(_RISKY) else cell for cell in row])
    return out.getvalue().encode()
