"""Acts on controlled documents: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, ActRow, anyone, signing
from benchseal.ingest.joining import Part  # noqa: TC001  the types of acts are read at run time
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class AddDocument:
    """Bring in a new version of a controlled document."""

    data: bytes
    source: str


@dataclass(frozen=True, slots=True)
class ApproveDocument:
    """Put the latest version of a document in force. effective: the day it counts from, in the laboratory's zone.

    seen: first figures of the comparison that was shown; where given, it must still be the one that is due. looked_at:
    whether a person typed or named those figures.
    """

    id: str
    effective: str = ""
    seen: str = ""
    looked_at: bool = False


@dataclass(frozen=True, slots=True)
class ReviewDocument:
    """Sign that the version in force was looked at again and is right as it stands."""

    id: str
    comment: str


@dataclass(frozen=True, slots=True)
class WithdrawDocument:
    """Take a version out of use. id: ``ID`` for the one in force, or ``ID@VERSION``."""

    id: str
    reason: str


@dataclass(frozen=True, slots=True)
class AddLayoutSample:
    """Keep a file with what the latest version of a reading layout reads from it: later versions must read the same.

    reason: needed where the same file is kept already with another reading. parts: the files of one run, where data is
    theirs joined; else none.
    """

    id: str
    data: bytes
    source: str
    reason: str
    parts: tuple[Part, ...] = ()


DOCUMENTS: tuple[ActRow, ...] = (
    ActRow(
        AddLayoutSample,
        "layout sample",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("layout.sampled",),
        "layout_samples:add_sample",
        "keep a file and what a layout reads from it; later versions must read the same",
    ),
    ActRow(
        AddDocument,
        "document add",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("document.added",),
        "controlled:add_document",
        "bring in a version of a method, specification, reading layout, export profile, policy or the site's rules",
        beforehand="rehearsing:trial_of_new",
    ),
    ActRow(
        ApproveDocument,
        "document approve",
        signing(APPROVER, Meaning.APPROVED),
        ("document.approved",),
        "controlled:approve_document",
        "put a document in force, today or from a later day; its author cannot",
        beforehand="rehearsing:trial_of_latest",
    ),
    ActRow(
        ReviewDocument,
        "document review",
        signing(APPROVER, Meaning.REVIEWED),
        ("document.reviewed",),
        "controlled:review_document",
        "sign that a document in force was looked at again and is right as it stands",
    ),
    ActRow(
        WithdrawDocument,
        "document withdraw",
        signing(APPROVER, Meaning.WITHDRAWN),
        ("document.withdrawn",),
        "controlled:withdraw_document",
        "take a document out of use; records made with it keep naming it",
    ),
)
