r"""A witness: somebody elsewhere who keeps the last head of a ledger and accepts only one that begins with it.

What it is handed is a *growth*: a checkpoint, and the proof that its tree begins with that of an earlier size. What it
gives back is a countersignature over the checkpoint and its own time: Ed25519 over "benchseal-witness/1\n" || canonical
{ledger, size, root, at, seen_at}. Two heads of one size with two roots, both signed, are proof of two histories.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from benchseal.ledger.checkpoints import (
    Checkpoint,
    checkpoint_json,
    compare_checkpoints,
    key_id,
    parse_checkpoint,
)
from benchseal.ledger.key_history import KeyPeriod, check_head
from benchseal.problems import Finding, Problem
from benchseal.records.canonical import canonical_bytes, parse_json

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from benchseal.ledger.tree import Proof
    from benchseal.records.canonical import Json

GROWTH = "growth/1"
SEEN = "seen/1"
_SIGNED = b"benchseal-witness/1\n"
_LONGEST_PROOF = 128  # hashes: a tree of 2**53 entries needs fewer
_HASH_FIGURES = 64
_Read: TypeAlias = "tuple[Problem, ...]"


@dataclass(frozen=True, slots=True)
class Growth:
    """A checkpoint and the proof that its tree begins with the tree of ``since`` entries."""

    checkpoint: Checkpoint
    since: int
    proof: Proof


@dataclass(frozen=True, slots=True)
class Seen:
    """A checkpoint a witness accepted. seen_at: the witness's own time; witness: its key's id; signature: of it."""

    checkpoint: Checkpoint
    seen_at: str
    witness: str
    signature: str


def accept(last: Checkpoint | None, growth: Growth, history: Sequence[KeyPeriod]) -> Finding | None:
    """Why a witness that saw ``last`` must not accept ``growth``; None where it may.

    history: every key of the ledger and when it was in force, from the laboratory's trust file, its handovers checked.
    A first head is taken as it is: for what was written before a witness began to look it cannot vouch. From then on
    the key of the last head has to stand in the history: a key that no handover joins to it signs nothing here.
    """
    unsigned = check_head(history, growth.checkpoint)
    if unsigned is not None or last is None:
        return unsigned
    if all(period.key_id != last.key_id for period in history):
        return Finding(
            "witness.key",
            growth.checkpoint.name,
            f"no handover joins its key {growth.checkpoint.key_id} to {last.key_id}, which signed the last head.",
            "Do not accept it. Ask the laboratory, by another way, how its key changed.",
        )
    if growth.since != last.size and growth.checkpoint.size > last.size:
        return Finding(
            "witness.since",
            growth.checkpoint.name,
            f"its proof begins at {growth.since} entries; the last head seen here has {last.size}.",
            f"Ask for it again with --since {last.size}.",
        )
    proof = growth.proof if growth.checkpoint.size > last.size else ()
    return compare_checkpoints(last, growth.checkpoint, proof)


def countersign(checkpoint: Checkpoint, seen_at: str, public_key: bytes, sign: Callable[[bytes], bytes]) -> Seen:
    """The witness's word that it saw ``checkpoint`` at ``seen_at``. sign: Ed25519, lent."""
    return Seen(checkpoint, seen_at, key_id(public_key), sign(seen_bytes(checkpoint, seen_at)).hex())


def seen_bytes(checkpoint: Checkpoint, seen_at: str) -> bytes:
    """What a countersignature covers."""
    return _SIGNED + canonical_bytes(
        {
            "ledger": checkpoint.ledger,
            "size": checkpoint.size,
            "root": checkpoint.root,
            "at": checkpoint.at,
            "seen_at": seen_at,
        }
    )


def check_seen(seen: Seen, witness_key: bytes) -> Finding | None:
    """Whether the witness whose key (32 raw bytes) is given countersigned."""
    where = f"{seen.checkpoint.name}, seen by {seen.witness}"
    try:
        Ed25519PublicKey.from_public_bytes(witness_key).verify(
            bytes.fromhex(seen.signature), seen_bytes(seen.checkpoint, seen.seen_at)
        )
    except (InvalidSignature, ValueError):
        what = "its countersignature does not belong to it under the witness's key."
        return Finding("witness.signature", where, what, "It was altered, or is of another witness: do not use it.")
    return None


def write_growth(growth: Growth) -> bytes:
    """The file form of a growth. Inverse: ``read_growth``."""
    value: dict[str, Json] = {
        "schema": GROWTH,
        "checkpoint": checkpoint_json(growth.checkpoint),
        "since": growth.since,
        "proof": [one.hex() for one in growth.proof],
    }
    return canonical_bytes(value) + b"\n"


def read_growth(data: bytes, where: str) -> Growth | _Read:
    """A growth, or a bare checkpoint, which is one without a proof."""
    value = _parsed(data, where)
    if isinstance(value, tuple):
        return value
    if value.get("schema") != GROWTH:
        found = parse_checkpoint(value, where)
        return Growth(found, 0, ()) if isinstance(found, Checkpoint) else found
    checkpoint, since = parse_checkpoint(value.get("checkpoint"), where), value.get("since")
    if isinstance(checkpoint, tuple):
        return checkpoint
    proof = _proof(value.get("proof"))
    if value.keys() != {"schema", "checkpoint", "since", "proof"} or type(since) is not int or proof is None:
        return (_unreadable(where, "its members are not those of a growth."),)
    return Growth(checkpoint, since, proof)


def write_seen(seen: Seen) -> bytes:
    """The file form of a countersigned checkpoint. Inverse: ``read_seen``."""
    value: dict[str, Json] = {
        "schema": SEEN,
        "checkpoint": checkpoint_json(seen.checkpoint),
        "seen_at": seen.seen_at,
        "witness": seen.witness,
        "signature": seen.signature,
    }
    return canonical_bytes(value) + b"\n"


def read_seen(data: bytes, where: str) -> Seen | _Read:
    """A countersigned checkpoint. Whether to believe it: ``check_seen``, ``check_checkpoint``."""
    value = _parsed(data, where)
    if isinstance(value, tuple):
        return value
    names = ("seen_at", "witness", "signature")
    texts = {name: value.get(name) for name in names}
    if value.keys() != {"schema", "checkpoint", *names} or value["schema"] != SEEN:
        return (_unreadable(where, "its members are not those of a countersigned checkpoint."),)
    checkpoint = parse_checkpoint(value["checkpoint"], where)
    if isinstance(checkpoint, tuple):
        return checkpoint
    if not all(isinstance(text, str) for text in texts.values()):
        return (_unreadable(where, "a member is not text."),)
    return Seen(checkpoint, **{name: str(text) for name, text in texts.items()})


def _parsed(data: bytes, where: str) -> dict[str, Json] | _Read:
    try:
        value = parse_json(data)
    except ValueError as fault:
        return (_unreadable(where, f"it is not JSON: {fault}."),)
    return value if isinstance(value, dict) else (_unreadable(where, "it is not an object."),)


def _proof(value: Json | None) -> Proof | None:
    if not isinstance(value, list) or len(value) > _LONGEST_PROOF:
        return None
    figures = set("0123456789abcdef")
    texts = [one for one in value if isinstance(one, str) and len(one) == _HASH_FIGURES and set(one) <= figures]
    return tuple(map(bytes.fromhex, texts)) if len(texts) == len(value) else None


def _unreadable(where: str, what: str) -> Problem:
    return Problem("checkpoint.unreadable", where, what, "Use the file as it was handed out, unchanged.")
