"""The site's own keys: made at founding, kept in envelopes, opened unattended by a file only its owner reads.

A seal key may be in a token instead: then a note says where, and the key never comes here.

Whoever can read ``SITE/private`` can use the keys; the manual says so. The folder is never in a backup.
"""

from __future__ import annotations

import os
import secrets
from typing import TYPE_CHECKING, NamedTuple

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

from benchseal.desk.tokens import TokenSealKey
from benchseal.identity.keys import (
    PRODUCTION_HARDNESS,
    close_envelope,
    hardness_of,
    key_id_named,
    key_id_of,
    load_private,
    new_ed25519,
    new_seal_rsa3072,
    open_envelope,
    private_der,
)
from benchseal.identity.seal_signer import HeldSealKey
from benchseal.identity.token_reference import public_key_id, read_reference, reference_bytes
from benchseal.problems import Refusal, Stopped

if TYPE_CHECKING:
    from collections.abc import Collection
    from pathlib import Path

    from benchseal.identity.keys import Hardness
    from benchseal.identity.token_reference import TokenReference
    from benchseal.records.seal_signer import SealSigner

UNLOCK_FILE = "unlock"
SEAL = "seal"
TREE = "tree-head"

_NOTE = ".token.json"


class NewKeys(NamedTuple):
    """Both keys of a new site."""

    seal: RSAPrivateKey
    tree: Ed25519PrivateKey


def make_keys(private: Path, hardness: Hardness | None = None) -> NewKeys:
    """Make both keys, and keep them in envelopes under a random passphrase in the unlock file."""
    made = NewKeys(new_seal_rsa3072(), new_ed25519())
    passphrase = secrets.token_urlsafe(32)
    write_private(private / UNLOCK_FILE, passphrase.encode() + b"\n")
    for name, key in ((SEAL, made.seal), (TREE, made.tree)):
        write_private(private / f"{name}.key.json", _closed(key, passphrase, hardness or PRODUCTION_HARDNESS))
    return made


def new_key(name: str) -> RSAPrivateKey | Ed25519PrivateKey:
    """A key for the seal or for tree heads, kept nowhere yet. An RSA key takes a moment: no lock is held meanwhile."""
    return new_seal_rsa3072() if name == SEAL else new_ed25519()


def keep_next(private: Path, name: str, like: tuple[str, str], made: RSAPrivateKey | Ed25519PrivateKey) -> None:
    """Keep a new key, its envelope as costly as that of ``like`` and of the same passphrase. Raises Stopped.

    like: name and id of a key in force that has an envelope: that of tree heads always has one.
    """
    envelope, passphrase = _read(private, *like)
    path = private / f"{name}-{key_id_of(made)}.key.json"
    write_private(path, _closed(made, passphrase, hardness_of(envelope)))


def keep_note(private: Path, reference: TokenReference) -> None:
    """Keep where the token of a new seal key is."""
    write_private(token_note(private, public_key_id(reference.public)), reference_bytes(reference))


def token_note(private: Path, key_id: str) -> Path:
    """Where the note of a seal key in a token lies, if it is in one."""
    return private / f"{SEAL}-{key_id}{_NOTE}"


def forget_all_but(private: Path, in_force: Collection[str]) -> None:
    """Destroy the envelopes and notes of keys that are not in force; their public halves stay on record."""
    for path in left_over(private, in_force):
        path.unlink()


def left_over(private: Path, in_force: Collection[str]) -> list[Path]:
    """Envelopes and notes of keys that are not in force: of a rotation not ended, or that did not come about."""
    found = sorted(private.glob("*.key.json")) if private.is_dir() else []
    named = [(path, key_id_named(path.read_bytes())) for path in found]
    named += [(path, _noted(path)) for path in sorted(private.glob(f"{SEAL}-*{_NOTE}"))]
    return [path for path, name in named if name and name not in in_force]


def _noted(path: Path) -> str:
    return path.name.removeprefix(f"{SEAL}-").removesuffix(_NOTE)


def _places(private: Path, name: str, key_id: str) -> tuple[Path, Path]:
    """Where an envelope can be: a later key's has its id in the name, the first one's has not."""
    return private / f"{name}-{key_id}.key.json", private / f"{name}.key.json"


def _closed(key: RSAPrivateKey | Ed25519PrivateKey, passphrase: str, hardness: Hardness) -> bytes:
    return close_envelope(
        private_der(key),
        key_id=key_id_of(key),
        passphrase=passphrase,
        salt=os.urandom(16),
        nonce=os.urandom(12),
        hardness=hardness,
    )


def open_seal_key(private: Path, key_id: str) -> SealSigner:
    """What signs with the seal's key. Raises Stopped when it is not there or does not open.

    A key in a token is reached when it signs, and not before.
    """
    note = token_note(private, key_id)
    if note.is_file():
        return _in_token(note, key_id)
    key = _open(private, SEAL, key_id)
    if not isinstance(key, RSAPrivateKey):
        raise Stopped(_missing(SEAL, "the envelope holds another kind of key"))
    return HeldSealKey(key)


def require_token(private: Path, key_id: str) -> None:
    """Where the seal's key is in a token: whether it could sign now. Raises Stopped."""
    note = token_note(private, key_id)
    if note.is_file():
        _in_token(note, key_id).reach()


def _in_token(note: Path, key_id: str) -> TokenSealKey:
    try:
        reference = read_reference(note.read_bytes(), key_id)
    except OSError as fault:
        raise Stopped(_missing(SEAL, f"{fault.filename}: {fault.strerror}")) from None
    if isinstance(reference, Refusal):
        raise Stopped(reference)
    return TokenSealKey(reference)


def open_tree_key(private: Path, key_id: str) -> Ed25519PrivateKey:
    """The tree heads' key. Raises Stopped when it is not there or does not open."""
    key = _open(private, TREE, key_id)
    if not isinstance(key, Ed25519PrivateKey):
        raise Stopped(_missing(TREE, "the envelope holds another kind of key"))
    return key


def write_private(path: Path, data: bytes) -> None:
    """Write a file only its owner can read; it must not be there yet."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _read(private: Path, name: str, key_id: str) -> tuple[bytes, str]:
    """The envelope of a key and the passphrase of this site. Raises Stopped."""
    later, first = _places(private, name, key_id)
    try:
        passphrase = (private / UNLOCK_FILE).read_text(encoding="utf-8").strip()
        return (later if later.is_file() else first).read_bytes(), passphrase
    except OSError as fault:
        raise Stopped(_missing(name, f"{fault.filename}: {fault.strerror}")) from None


def _open(private: Path, name: str, key_id: str) -> Ed25519PrivateKey | RSAPrivateKey:
    envelope, passphrase = _read(private, name, key_id)
    der = open_envelope(envelope, key_id=key_id, passphrase=passphrase)
    if isinstance(der, Refusal):
        raise Stopped(der)
    key = load_private(der)
    if key_id_of(key) != key_id:  # whoever has the passphrase can write the right name on another key's envelope
        what = f"the envelope is named {key_id} and holds key {key_id_of(key)}."
        raise Stopped(Refusal("keys.envelope-other", f"key {key_id}", what, "Put back SITE/private from safe keeping."))
    return key


def _missing(name: str, why: str) -> Refusal:
    return Refusal(
        "keys.missing",
        f"{name} key",
        f"it cannot be used here: {why}.",
        "A site without its keys verifies and exports, and cannot release. Put back SITE/private from safe keeping.",
    )
