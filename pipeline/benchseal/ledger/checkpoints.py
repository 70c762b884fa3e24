r"""Checkpoints: the signed head of the tree, small enough to print, mail, or keep on another machine.

Signed bytes: "benchseal-sth/1\n" || canonical {ledger, size, root, at}; Ed25519 (RFC 8032). The key is lent as a
callable; nothing here can hold one. What a checkpoint proves: those entries stood in that order when it was signed.
Not that they are true, and not that nothing was added since.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from benchseal.ledger.proofs import check_consistency
from benchseal.problems import Finding, Problem
from benchseal.records.canonical import canonical_bytes, parse_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.ledger.hashes import Hash
    from benchseal.ledger.tree import Proof
    from benchseal.records.canonical import Json

SCHEMA = "checkpoint/1"
KEY_ID_FIGURES = 16

_SIGNED = b"benchseal-sth/1\n"
_PUBLIC_KEY_BYTES = 32
_LARGEST_SIZE = 2**53 - 1
_TEXT_FORMS = {
    "ledger": (re.compile(r"[ -~]{1,200}"), "a ledger id (printable ASCII)"),
    "root": (re.compile(r"[0-9a-f]{64}"), "64 lower-case hexadecimal figures"),
    "at": (
        re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z"),
        "a time such as 2026-03-04T14:02:11.000Z",
    ),
    "key_id": (re.compile(rf"[0-9a-f]{{{KEY_ID_FIGURES}}}"), f"{KEY_ID_FIGURES} lower-case hexadecimal figures"),
    "signature": (re.compile(r"[0-9a-f]{128}"), "128 lower-case hexadecimal figures"),
}


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A signed tree head: the ledger's first ``size`` entries have this root.

    root: 64 hexadecimal figures. at: ``YYYY-MM-DDTHH:MM:SS.mmmZ``. signature: 128 hexadecimal figures; whether it
    holds is for ``check_checkpoint`` to say.
    """

    ledger: str
    size: int
    root: str
    at: str
    key_id: str
    signature: str

    @property
    def name(self) -> str:
        """How a person finds it: size and time."""
        return f"checkpoint {self.size} of {self.at}"

    @property
    def root_hash(self) -> Hash:
        """The root as 32 bytes."""
        return bytes.fromhex(self.root)


def key_id(public_key: bytes) -> str:
    """Short name of a raw Ed25519 public key: first 16 hexadecimal figures of its SHA-256.

    A label to choose among known keys; trust rests on the whole key, never on this.
    """
    return hashlib.sha256(public_key).hexdigest()[:KEY_ID_FIGURES]


def make_checkpoint(  # noqa: PLR0913  four facts and a key pair: no smaller value stands for them
    *, ledger: str, size: int, root: Hash, at: str, public_key: bytes, sign: Callable[[bytes], bytes]
) -> Checkpoint:
    """Sign a tree head. ``sign`` is lent (Ed25519 over the bytes it is given); ``public_key`` is its raw public half.

    The new signature is checked at once: a signer that does not belong to the public key is a fault of this program,
    and must not leave a checkpoint that nobody can verify.
    """
    unsigned = Checkpoint(ledger, size, root.hex(), at, key_id(public_key), "")
    signature = sign(signed_bytes(unsigned))
    made = Checkpoint(ledger, size, root.hex(), at, key_id(public_key), signature.hex())
    if check_checkpoint(made, public_key) is not None or isinstance(parse_checkpoint(checkpoint_json(made)), tuple):
        raise RuntimeError("the signer lent to make_checkpoint does not make valid checkpoints")
    return made


def signed_bytes(checkpoint: Checkpoint) -> bytes:
    """What the signature covers."""
    return _SIGNED + canonical_bytes(
        {"ledger": checkpoint.ledger, "size": checkpoint.size, "root": checkpoint.root, "at": checkpoint.at}
    )


def check_checkpoint(checkpoint: Checkpoint, public_key: bytes) -> Finding | None:
    """Whether the key given (32 raw bytes, from a trusted place, never from beside the checkpoint) signed it."""
    if len(public_key) != _PUBLIC_KEY_BYTES:
        raise AssertionError("an Ed25519 public key is 32 bytes")
    if checkpoint.key_id != key_id(public_key):
        return Finding(
            "integrity.checkpoint-key",
            checkpoint.name,
            f"it names key {checkpoint.key_id}; the trusted key is {key_id(public_key)}.",
            "Take the key of that time from the key history; if no such key was ever in use, treat it as forged.",
        )
    try:
        Ed25519PublicKey.from_public_bytes(public_key).verify(
            bytes.fromhex(checkpoint.signature), signed_bytes(checkpoint)
        )
    except InvalidSignature:
        return Finding(
            "integrity.checkpoint-signature",
            checkpoint.name,
            f"its signature does not belong to its contents under key {checkpoint.key_id}.",
            "It was altered or forged: do not use it as an anchor, and keep this copy.",
        )
    return None


def compare_checkpoints(older: Checkpoint, newer: Checkpoint, proof: Proof = ()) -> Finding | None:
    """Whether one ledger can have made both, ``newer`` after ``older``; ``proof`` from ``tree.prove_consistency``.

    Check both signatures first: only two *signed* heads that contradict each other are evidence.
    """
    where = f"{older.name} and {newer.name}"
    if older.ledger != newer.ledger:
        return _other_ledger(where, older.ledger, newer.ledger)
    if older.size == newer.size and older.root != newer.root:
        return fork(older, newer)
    if newer.size < older.size:
        return Finding(
            "integrity.checkpoint-smaller",
            where,
            f"the newer one covers {newer.size} entries, the older one {older.size}: "
            f"at least {older.size - newer.size} entries are gone.",
            "An old copy of the ledger was put back, or its end was cut off. Stop work and keep both.",
        )
    if check_consistency(older.size, older.root_hash, newer.size, newer.root_hash, proof):
        return None
    return Finding(
        "integrity.checkpoint-inconsistent",
        where,
        f"the proof does not show that the newer ledger begins with the older one's {older.size} entries.",
        "Ask for the proof again; if a fresh proof fails too, entries were changed. Stop work and keep both.",
    )


def fork(one: Checkpoint, other: Checkpoint) -> Finding:
    """Two roots for one size: two histories were signed for the same ledger."""
    return Finding(
        "integrity.fork",
        f"{one.name} and {other.name}",
        f"the same {one.size} entries have two roots, {one.root[:16]}… and {other.root[:16]}…",
        "Two different histories were signed. Both checkpoints together are the evidence: keep them.",
    )


def _other_ledger(where: str, one: str, other: str) -> Finding:
    return Finding(
        "integrity.checkpoint-other-ledger",
        where,
        f"one is of ledger {one}, the other of ledger {other}.",
        "Compare checkpoints of one ledger only.",
    )


def checkpoint_json(checkpoint: Checkpoint) -> dict[str, Json]:
    """The JSON object, as certificates and manifests embed it. Inverse: ``parse_checkpoint``."""
    return {
        "schema": SCHEMA,
        "ledger": checkpoint.ledger,
        "size": checkpoint.size,
        "root": checkpoint.root,
        "at": checkpoint.at,
        "key_id": checkpoint.key_id,
        "signature": checkpoint.signature,
    }


def write_checkpoint(checkpoint: Checkpoint) -> bytes:
    """The file form: the canonical object and a line end. Inverse: ``read_checkpoint``."""
    return canonical_bytes(checkpoint_json(checkpoint)) + b"\n"


def read_checkpoint(data: bytes, where: str = "checkpoint") -> Checkpoint | tuple[Problem, ...]:
    """A checkpoint file, with any JSON spacing. Whether to believe it is a question for ``check_checkpoint``."""
    try:
        value = parse_json(data)
    except ValueError as fault:
        return (_unreadable(where, f"it is not JSON: {fault}."),)
    return parse_checkpoint(value, where)


def parse_checkpoint(value: Json, where: str = "checkpoint") -> Checkpoint | tuple[Problem, ...]:
    """The checkpoint a JSON object holds, or everything that is wrong with it."""
    if not isinstance(value, dict) or value.get("schema") != SCHEMA:
        return (_unreadable(where, f'it is not an object with "schema": "{SCHEMA}".'),)
    size = value.get("size")
    problems = [*_member_problems(value, where), *_size_problems(size, where)]
    for name, (form, words) in _TEXT_FORMS.items():
        text = value.get(name)
        if not isinstance(text, str) or form.fullmatch(text) is None:
            problems.append(_unreadable(f"{where}, member {name}", f"it is not {words}."))
    if problems or not isinstance(size, int):
        return tuple(problems)
    return Checkpoint(size=size, **{name: str(value[name]) for name in _TEXT_FORMS})


def _member_problems(value: dict[str, Json], where: str) -> list[Problem]:
    unknown = sorted(value.keys() - {"schema", "size", *_TEXT_FORMS})
    return [_unreadable(f"{where}, member {name}", "it does not belong in a checkpoint.") for name in unknown]


def _size_problems(size: Json | None, where: str) -> list[Problem]:
    if isinstance(size, int) and not isinstance(size, bool) and 0 <= size <= _LARGEST_SIZE:
        return []
    return [_unreadable(f"{where}, member size", "it is not a whole number of entries.")]


def _unreadable(where: str, what: str) -> Problem:
    return Problem("checkpoint.unreadable", where, what, "Use the file as it was handed out, unchanged.")
