"""Acts on the trail: reviewing it."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import APPROVER, REVIEWER, ActRow, Signer
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class ReviewTrail:
    """Sign that the entries about a subject were looked at. listed: first figures of their list's digest."""

    subject: str
    listed: str
    comment: str


TRAIL: tuple[ActRow, ...] = (
    ActRow(
        ReviewTrail,
        "ledger review",
        (Signer(frozenset({REVIEWER, APPROVER}), Meaning.REVIEWED),),
        ("trail.reviewed",),
        "trail:review_trail",
        "sign that the entries about a subject were looked at",
    ),
)
