"""A status file: which sealed files are in force, superseded or withdrawn at one moment, signed by the ledger's key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from benchseal.records.canonical import Digest
from benchseal.records.evidence import CheckpointRecord

InForce: TypeAlias = Literal["in force", "superseded", "withdrawn"]


@dataclass(frozen=True, slots=True)
class StatusLine:
    """One sealed file by its SHA-256. since: when it ceased to be in force, or empty. replaced_by: the file that did.

    number: of the certificate, where the status file is for its customer alone; else empty, so that nobody reads off
    how many certificates others have.
    """

    sealed_sha256: Digest
    state: InForce
    since: str
    replaced_by: Digest
    number: str


@dataclass(frozen=True, slots=True)
class StatusFile:
    """customer: whose certificates it lists; empty for all. checkpoint: the ledger's head at that moment.

    key_id, signature: Ed25519 (RFC 8032) of the key that signs the ledger's heads, over ``verify.status.signed_bytes``.
    """

    schema: Literal["status/1"]
    laboratory: str
    ledger: str
    customer: str
    checkpoint: CheckpointRecord
    certificates: tuple[StatusLine, ...]
    key_id: str
    signature: str
