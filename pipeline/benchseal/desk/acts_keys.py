"""Acts on the site's own keys: handing over to a new one, revoking one others may have."""

from __future__ import annotations

from dataclasses import dataclass, field

from benchseal.desk.act_row import ADMINISTRATOR, APPROVER, ActRow, Signer
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class RotateKey:
    """Make a new key and let the old one hand over to it. key: ``seal`` or ``tree``."""

    key: str
    reason: str


@dataclass(frozen=True, slots=True)
class ImportSealKey:
    """Put the key of a PKCS#12 file in the place of the seal's key. name: the file's; passphrase: what opens it."""

    pkcs12: bytes = field(repr=False)
    name: str
    passphrase: str = field(repr=False)
    reason: str


@dataclass(frozen=True, slots=True)
class UseToken:
    """Put a key in a PKCS#11 token in the place of the seal's key.

    module: absolute path of its library. token, key: labels. pin: the name its PIN is kept under, never the PIN.
    certificates: PEM, or one in DER; empty for those in the token. name: their file's.
    """

    module: str
    token: str
    key: str
    pin: str
    certificates: bytes
    name: str
    reason: str


@dataclass(frozen=True, slots=True)
class RevokeKey:
    """Say that others may have a key that is no longer in force. since: the day from which on, YYYY-MM-DD."""

    key_id: str
    since: str
    reason: str


_BOTH = (Signer(frozenset({ADMINISTRATOR}), Meaning.APPROVED), Signer(frozenset({APPROVER}), Meaning.APPROVED))

KEYS: tuple[ActRow, ...] = (
    ActRow(
        RotateKey,
        "key rotate",
        _BOTH,
        ("key.rotation_agreed", "key.rotated"),
        "rotation:rotate_key",
        "make a new key; the old one signs that it hands over, and is destroyed",
        beforehand="rotation:make_key",
    ),
    ActRow(
        ImportSealKey,
        "key import",
        _BOTH,
        ("key.rotation_agreed", "key.rotated"),
        "seal_import:import_seal_key",
        "take a seal key an authority has certified; the old one signs that it hands over, and is destroyed",
        beforehand="seal_import:open_file",
    ),
    ActRow(
        UseToken,
        "key token",
        _BOTH,
        ("key.rotation_agreed", "key.rotated"),
        "seal_token:use_token",
        "seal with a key in a PKCS#11 token from here on; the old one signs that it hands over, and is destroyed",
        beforehand="seal_token:open_token",
    ),
    ActRow(
        RevokeKey,
        "key revoke",
        _BOTH,
        ("key.revocation_agreed", "key.revoked"),
        "rotation:revoke_key",
        "say that others may have an old key, and from which day on",
    ),
)
