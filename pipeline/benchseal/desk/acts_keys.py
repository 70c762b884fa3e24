"""Acts on the site's own keys: handing over to a new one, revoking one others may have."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ADMINISTRATOR, APPROVER, ActRow, Signer
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class RotateKey:
    """Make a new key and let the old one hand over to it. key: ``seal`` or ``tree``."""

    key: str
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
        RevokeKey,
        "key revoke",
        _BOTH,
        ("key.revocation_agreed", "key.revoked"),
        "rotation:revoke_key",
        "say that others may have an old key, and from which day on",
    ),
)
