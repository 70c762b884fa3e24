"""Private keys: making them, and keeping them in an envelope that only a passphrase opens.

Envelope: passphrase -> argon2id (RFC 9106; 3 passes, 64 MiB, 1 lane, 32 bytes) -> AES-256-GCM (NIST SP 800-38D) over
the PKCS#8 DER key, with associated data ``benchseal-key/1|<key id>``, so that one envelope cannot be passed off as
another. Salt and nonce are arguments: fresh random bytes for each closing. Only the two ``new_…`` functions draw
randomness, and only the desk calls them.
"""

from __future__ import annotations

import hashlib
import re
import unicodedata
from dataclasses import dataclass
from typing import TypeAlias

from argon2.low_level import Type, hash_secret_raw
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey, generate_private_key
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_der_private_key,
)

from benchseal.problems import Refusal
from benchseal.records.canonical import Json, canonical_bytes, parse_json

SCHEMA = "key-envelope/1"
SALT_BYTES = 16
NONCE_BYTES = 12
SEAL_BITS = 3072

PrivateKey: TypeAlias = Ed25519PrivateKey | RSAPrivateKey

_KEY_BYTES = 32
_KEY_ID = re.compile(r"[0-9a-f]{16}")
_COST = ("time", "memory_kib", "lanes")
_TEXT_FORMS = {
    "key_id": _KEY_ID,
    "salt": re.compile(rf"[0-9a-f]{{{2 * SALT_BYTES}}}"),
    "nonce": re.compile(rf"[0-9a-f]{{{2 * NONCE_BYTES}}}"),
    "sealed": re.compile(r"(?:[0-9a-f]{2})+"),
}
_MEMBERS = {"schema", *_COST, *_TEXT_FORMS}


_RESTORE = "Restore the envelope from where its copy is kept."


@dataclass(frozen=True, slots=True)
class Hardness:
    """Cost of one guess at the passphrase: argon2id passes, memory in KiB, lanes. Stored in the envelope.

    The bounds keep an altered envelope from asking for more memory than a machine has.
    """

    time: int = 3
    memory_kib: int = 65536
    lanes: int = 1

    def __post_init__(self) -> None:
        if not (1 <= self.time <= 16 and 1 <= self.lanes <= 16 and 8 * self.lanes <= self.memory_kib <= 2**20):
            raise ValueError("argon2id cost out of bounds")


PRODUCTION_HARDNESS = Hardness()


@dataclass(frozen=True, slots=True)
class _Envelope:
    key_id: str
    hardness: Hardness
    salt: bytes
    nonce: bytes
    sealed: bytes


def new_ed25519() -> Ed25519PrivateKey:
    """A new key for tree heads. Draws randomness."""
    return Ed25519PrivateKey.generate()


def new_seal_rsa3072() -> RSAPrivateKey:
    """A new key for the seal: RSA-3072, exponent 65537. Draws randomness and takes a moment."""
    return generate_private_key(public_exponent=65537, key_size=SEAL_BITS)


def private_der(key: PrivateKey) -> bytes:
    """Unencrypted PKCS#8 DER: what goes into an envelope and nowhere else."""
    return key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())


def load_private(der: bytes) -> PrivateKey:
    """Inverse of ``private_der``, for what an envelope gave back."""
    key = load_der_private_key(der, password=None)
    if isinstance(key, Ed25519PrivateKey | RSAPrivateKey):
        return key
    raise AssertionError("an envelope held a key of a kind this program never makes")


def public_bytes(key: PrivateKey) -> bytes:
    """Public half: 32 raw bytes for Ed25519, SubjectPublicKeyInfo DER for RSA."""
    if isinstance(key, Ed25519PrivateKey):
        return key.public_key().public_bytes_raw()
    return key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)


def key_id_of(key: PrivateKey) -> str:
    """Short name of a key: first 16 hexadecimal figures of SHA-256 over ``public_bytes``, as checkpoints give it."""
    return hashlib.sha256(public_bytes(key)).hexdigest()[:16]


def close_envelope(  # noqa: PLR0913  each is part of the envelope's definition
    der: bytes,
    *,
    key_id: str,
    passphrase: str,
    salt: bytes,
    nonce: bytes,
    hardness: Hardness = PRODUCTION_HARDNESS,
) -> bytes:
    """Envelope around a private key, as canonical JSON and a line end. salt: 16 and nonce: 12 fresh random bytes."""
    if len(salt) != SALT_BYTES or len(nonce) != NONCE_BYTES or not _KEY_ID.fullmatch(key_id) or not passphrase:
        raise AssertionError("an envelope needs a key id, a passphrase, a 16-byte salt and a 12-byte nonce")
    sealed = AESGCM(_stretched(passphrase, salt, hardness)).encrypt(nonce, der, _associated(key_id))
    members: dict[str, Json] = {
        "schema": SCHEMA,
        "key_id": key_id,
        "time": hardness.time,
        "memory_kib": hardness.memory_kib,
        "lanes": hardness.lanes,
        "salt": salt.hex(),
        "nonce": nonce.hex(),
        "sealed": sealed.hex(),
    }
    return canonical_bytes(members) + b"\n"


def open_envelope(data: bytes, *, key_id: str, passphrase: str) -> bytes | Refusal:
    """The private key (PKCS#8 DER) out of the envelope that must hold key ``key_id``, or why not."""
    where = f"key {key_id}"
    envelope = _read(data)
    if isinstance(envelope, str):
        return Refusal("keys.envelope-unreadable", where, f"its envelope cannot be read: {envelope}.", _RESTORE)
    if envelope.key_id != key_id:
        what = f"the envelope found in its place holds key {envelope.key_id}."
        return Refusal("keys.envelope-other", where, what, _RESTORE)
    try:
        stretched = _stretched(passphrase, envelope.salt, envelope.hardness)
        return AESGCM(stretched).decrypt(envelope.nonce, envelope.sealed, _associated(key_id))
    except InvalidTag:
        what = "the passphrase is wrong, or the envelope was altered; the two cannot be told apart."
        return Refusal("keys.not-opened", where, what, f"Type the passphrase again. If it is surely right: {_RESTORE}")


def hardness_of(data: bytes) -> Hardness:
    """Cost of a guess at this envelope; the usual one where it cannot be read."""
    envelope = _read(data)
    return PRODUCTION_HARDNESS if isinstance(envelope, str) else envelope.hardness


def key_id_named(data: bytes) -> str:
    """The key an envelope says it holds; nothing where it cannot be read."""
    envelope = _read(data)
    return "" if isinstance(envelope, str) else envelope.key_id


def _stretched(passphrase: str, salt: bytes, hardness: Hardness) -> bytes:
    secret = unicodedata.normalize("NFKC", passphrase).encode("utf-8", "surrogatepass")
    return hash_secret_raw(
        secret, salt, hardness.time, hardness.memory_kib, hardness.lanes, hash_len=_KEY_BYTES, type=Type.ID
    )


def _associated(key_id: str) -> bytes:
    return f"benchseal-key/1|{key_id}".encode()


def _read(data: bytes) -> _Envelope | str:
    """The envelope as a value, or in words what keeps it from being one."""
    try:
        members = parse_json(data)
    except ValueError:
        return "it is not JSON"
    if not isinstance(members, dict) or members.get("schema") != SCHEMA or members.keys() != _MEMBERS:
        return f"it is not an object of schema {SCHEMA}"
    cost = [each for each in map(members.__getitem__, _COST) if isinstance(each, int) and not isinstance(each, bool)]
    if len(cost) != len(_COST):
        return "its cost is not in whole numbers"
    texts = {name: str(members[name]) for name in _TEXT_FORMS}
    for name, form in _TEXT_FORMS.items():
        if form.fullmatch(texts[name]) is None:
            return f"its member {name} has another form"
    try:
        hardness = Hardness(*cost)
    except ValueError as fault:
        return str(fault)
    salt, nonce, sealed = (bytes.fromhex(texts[name]) for name in ("salt", "nonce", "sealed"))
    return _Envelope(texts["key_id"], hardness, salt, nonce, sealed)
