"""Acts on deliveries: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, SERVICE, ActRow, Signer, anyone


@dataclass(frozen=True, slots=True)
class PlanDelivery:
    """Fix the bytes, number and time of one delivery. profile: identifier. to: a folder instead of its own place."""

    profile: str
    to: str = ""


@dataclass(frozen=True, slots=True)
class AcknowledgeDelivery:
    """Put on record what a receiver says of a delivery. data: bytes of the file; source: its name."""

    data: bytes
    source: str


@dataclass(frozen=True, slots=True)
class SettleRows:
    """Say what was done about rows that a receiver did not take. rows: row numbers; empty for all that are held."""

    delivery: str
    rows: tuple[int, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class MoveDelivery:
    """Put a delivery that is not done somewhere else. to: a folder; empty for the place of its profile as it is now."""

    delivery: str
    to: str
    reason: str


@dataclass(frozen=True, slots=True)
class CloseDelivery:
    """End a planned delivery whose place does not come back. arrived: whether its receiver holds it.

    confirmed_by: who of the receiver said so, and how. Not arrived, its results are due again.
    """

    delivery: str
    arrived: bool
    confirmed_by: str
    reason: str


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
    ActRow(
        AcknowledgeDelivery,
        "export acknowledge",
        anyone(SERVICE, APPROVER, ANALYST),
        ("delivery.acknowledged",),
        "acknowledging:acknowledge_delivery",
        "put on record what a receiver says of a delivery",
    ),
    ActRow(
        SettleRows,
        "export settle",
        anyone(APPROVER, ANALYST),
        ("delivery.settled",),
        "acknowledging:settle_rows",
        "say what was done about rows that a receiver did not take",
    ),
    ActRow(
        MoveDelivery,
        "export move",
        anyone(APPROVER, ANALYST),
        ("delivery.moved",),
        "closing:move_delivery",
        "name another place for a delivery that could not be put down",
        beforehand="closing:look",
    ),
    ActRow(
        CloseDelivery,
        "export close",
        (Signer(frozenset({APPROVER}), password=True),),
        ("delivery.given_up", "delivery.arrived"),
        "closing:close_delivery",
        "note a planned delivery as arrived, or give it up, where its place does not come back",
        beforehand="closing:look",
    ),
)
