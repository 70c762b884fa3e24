"""Acts on policies: as values, and who may do them."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ActRow, Signer
from benchseal.records.people import Role


@dataclass(frozen=True, slots=True)
class AcknowledgePolicy:
    """Say that the version in force was read and will be kept. seen: first figures of its digest."""

    id: str
    seen: str


POLICIES: tuple[ActRow, ...] = (
    ActRow(
        AcknowledgePolicy,
        "policy acknowledge",
        (Signer(frozenset(Role) - {Role.SERVICE}, password=True),),
        ("policy.acknowledged",),
        "policies:acknowledge_policy",
        "say that you have read a policy and will keep it",
    ),
)
