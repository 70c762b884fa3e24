"""Acts on controlled documents: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, ActRow, anyone, signing
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class AddDocument:
    """Bring in a new version of a controlled document."""

    data: bytes
    source: str


@dataclass(frozen=True, slots=True)
class ApproveDocument:
    """Put the latest version of a document in force."""

    id: str


DOCUMENTS: tuple[ActRow, ...] = (
    ActRow(
        AddDocument,
        "document add",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("document.added",),
        "controlled:add_document",
        "bring in a version of a method, specification, reading layout, export profile, policy or the site's rules",
    ),
    ActRow(
        ApproveDocument,
        "document approve",
        signing(APPROVER, Meaning.APPROVED),
        ("document.approved",),
        "controlled:approve_document",
        "put a document in force; its author cannot",
    ),
)
