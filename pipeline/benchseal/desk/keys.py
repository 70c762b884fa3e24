"""The site's own keys: made at founding, kept in envelopes, opened unattended by a file only its owner reads.

Whoever can read ``SITE/private`` can use the keys; the manual says so. The folder is never in a backup.
"""

from __future__ import annotations

import os
import secrets
from typing import TYPE_CHECKING, NamedTuple

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

from benchseal.identity.keys import (
    close_envelope,
    key_id_of,
    load_private,
    new_ed25519,
    new_seal_rsa3072,
    open_envelope,
    private_der,
)
from benchseal.problems import Refusal, Stopped

if TYPE_CHECKING:
    from pathlib import Path

    from benchseal.identity.keys import Hardness

UNLOCK_FILE = "unlock"
SEAL = "seal"
TREE = "tree-head"


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
        extra = {} if hardness is None else {"hardness": hardness}
        envelope = close_envelope(
            private_der(key),
            key_id=key_id_of(key),
            passphrase=passphrase,
            salt=os.urandom(16),
            nonce=os.urandom(12),
            **extra,
        )
        write_private(private / f"{name}.key.json", envelope)
    return made


def open_seal_key(private: Path, key_id: str) -> RSAPrivateKey:
    """The seal's key. Raises Stopped when it is not there or does not open."""
    key = _open(private, SEAL, key_id)
    if not isinstance(key, RSAPrivateKey):
        raise Stopped(_missing(SEAL, "the envelope holds another kind of key"))
    return key


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


def _open(private: Path, name: str, key_id: str) -> Ed25519PrivateKey | RSAPrivateKey:
    try:
        passphrase = (private / UNLOCK_FILE).read_text(encoding="utf-8").strip()
        envelope = (private / f"{name}.key.json").read_bytes()
    except OSError as fault:
        raise Stopped(_missing(name, f"{fault.filename}: {fault.strerror}")) from None
    der = open_envelope(envelope, key_id=key_id, passphrase=passphrase)
    if isinstance(der, Refusal):
        raise Stopped(der)
    return load_private(der)


def _missing(name: str, why: str) -> Refusal:
    return Refusal(
        "keys.missing",
        f"{name} key",
        f"it cannot be used here: {why}.",
        "A site without its keys verifies and exports, and cannot release. Put back SITE/private from safe keeping.",
    )
