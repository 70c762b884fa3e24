"""Acts on security: events acknowledged, the clock confirmed, access reviewed."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ADMINISTRATOR, APPROVER, ActRow, Signer, anyone, signing
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class AcknowledgeEvents:
    """Say that security events were seen, and what was done. events: their entry numbers."""

    events: tuple[int, ...]
    comment: str


@dataclass(frozen=True, slots=True)
class ConfirmClock:
    """Say that the clock is right, after it went back; signing goes on."""

    reason: str


@dataclass(frozen=True, slots=True)
class ReviewAccess:
    """Sign that accounts and roles were looked at and are right. listed: first figures of the list's digest."""

    listed: str
    comment: str


SECURITY: tuple[ActRow, ...] = (
    ActRow(
        AcknowledgeEvents,
        "event acknowledge",
        anyone(ADMINISTRATOR, APPROVER),
        ("event.acknowledged",),
        "security:acknowledge_events",
        "say that security events were seen and what was done about them",
    ),
    ActRow(
        ConfirmClock,
        "clock confirm",
        (Signer(frozenset({ADMINISTRATOR}), password=True),),
        ("clock.confirmed",),
        "security:confirm_clock",
        "say that this machine's clock is right after it went back",
    ),
    ActRow(
        ReviewAccess,
        "access review",
        signing(APPROVER, Meaning.REVIEWED),
        ("access.reviewed",),
        "security:review_access",
        "sign that accounts and roles were looked at and are right",
    ),
)
