"""Acts on deliveries: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, SERVICE, ActRow, anyone


@dataclass(frozen=True, slots=True)
class PlanDelivery:
    """Fix the bytes, number and time of one delivery. profile: identifier."""

    profile: str
    destination: str


DELIVERIES: tuple[ActRow, ...] = (
    ActRow(
        PlanDelivery,
        "export run",
        anyone(SERVICE, APPROVER, ANALYST),
        ("delivery.planned",),
        "delivery_plan:plan_delivery",
        "deliver released results that were not delivered yet",
        beforehand="delivery_plan:open_key",
    ),
)
