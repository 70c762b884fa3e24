"""Acts that confirm typed values: as values, and who may do them. Checking, so they bar nobody from anything."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, ActRow, anyone


@dataclass(frozen=True, slots=True)
class ConfirmPreparation:
    """Say that typed values of preparation rows are those of the original record. rows: ``BATCH/PORTION`` or label."""

    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ConfirmStandard:
    """Say that typed values of standard lots are those of their certificates."""

    lots: tuple[str, ...]


CONFIRMATIONS: tuple[ActRow, ...] = (
    ActRow(
        ConfirmPreparation,
        "preparation confirm",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("preparation.confirmed",),
        "confirmations:confirm_preparation",
        "say that weighings and dilutions somebody else typed are those of the original record",
    ),
    ActRow(
        ConfirmStandard,
        "standard confirm",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("standard_lot.confirmed",),
        "confirmations:confirm_standard",
        "say that the values somebody else typed are those of the standard's certificate",
    ),
)
