"""Acts on opinions: as values, and who may do them."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import APPROVER, ActRow, anyone, signing
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class GiveOpinion:
    """Express an opinion on the reviewed results of a lot. basis: what it is based on."""

    lot: str
    text: str
    basis: str


@dataclass(frozen=True, slots=True)
class WithdrawOpinion:
    """Take an opinion back; certificates drafted later do without it."""

    opinion: str
    reason: str


OPINIONS: tuple[ActRow, ...] = (
    ActRow(
        GiveOpinion,
        "opinion give",
        signing(APPROVER, Meaning.APPROVED),
        ("opinion.given",),
        "opinions:give_opinion",
        "express an opinion on the reviewed results of a lot, signed, with what it is based on",
    ),
    ActRow(
        WithdrawOpinion,
        "opinion withdraw",
        anyone(APPROVER),
        ("opinion.withdrawn",),
        "opinions:withdraw_opinion",
        "take an opinion back before a certificate prints it",
    ),
)
