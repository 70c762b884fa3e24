"""Corrections: as values, and who may do them. A second person consents where a signature loses its force."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, ActRow, Signer, signing
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class Correct:
    """One correction. subject, sets: as ``desk/proposals.py`` says for each kind.

    effect: the first figures of the effect that was shown; what the act would do must still be that.
    """

    subject: str
    sets: tuple[str, ...]
    reason: str
    effect: str


@dataclass(frozen=True, slots=True)
class CorrectPreparation(Correct):
    """Put a preparation row right."""


@dataclass(frozen=True, slots=True)
class CorrectStandard(Correct):
    """Put a standard lot right."""


@dataclass(frozen=True, slots=True)
class CorrectSample(Correct):
    """Put the words of a register line right."""


@dataclass(frozen=True, slots=True)
class CorrectCustomer(Correct):
    """Put a customer's name, address or contact right, or enter another."""


@dataclass(frozen=True, slots=True)
class RelabelPositions(Correct):
    """Say of which sample positions of a run are."""


@dataclass(frozen=True, slots=True)
class ExcludePositions(Correct):
    """Leave positions of a run out, for a cause that was found."""


@dataclass(frozen=True, slots=True)
class NoteNotMeasured(Correct):
    """Say why samples prepared for a run were not measured in it."""


@dataclass(frozen=True, slots=True)
class RejudgeRun(Correct):
    """Calculate and judge a run by the versions in force now of its method and specifications."""


@dataclass(frozen=True, slots=True)
class JustifyCertificate:
    """Say why an issued certificate may stand although something it rests on was corrected."""

    number: str
    reason: str


# The analyst signs what was shown; whoever reviews or approves consents where something signed changes.
_CORRECTING = (
    *signing(ANALYST, Meaning.PERFORMED),
    Signer(frozenset({REVIEWER, APPROVER}), Meaning.RETURNED, optional=True),
)
_FOLLOW = (
    "correction.made",
    "correction.consented",
    "run.corrected",
    "certificate.touched",
    "investigation.opened",
    "investigation.result",
)

CORRECTIONS: tuple[ActRow, ...] = (
    ActRow(
        CorrectPreparation,
        "preparation correct",
        _CORRECTING,
        ("preparation.corrected", *_FOLLOW),
        "corrections:correct",
        "put a weighing or dilution right; says first which results it changes",
    ),
    ActRow(
        CorrectStandard,
        "standard correct",
        _CORRECTING,
        ("standard_lot.corrected", *_FOLLOW),
        "corrections:correct",
        "put a standard lot right; says first which results it changes",
    ),
    ActRow(
        CorrectSample,
        "sample correct",
        _CORRECTING,
        ("sample.corrected", *_FOLLOW),
        "corrections:correct",
        "put the words of a register line right; says first which certificates print them",
    ),
    ActRow(
        CorrectCustomer,
        "recipient correct",
        _CORRECTING,
        ("customer.corrected", *_FOLLOW),
        "corrections:correct",
        "enter another name, address or contact of a customer; says first which drafts print the old one",
    ),
    ActRow(
        RelabelPositions,
        "run relabel",
        _CORRECTING,
        _FOLLOW,
        "corrections:correct",
        "say of which sample a position is; says first which results it changes",
    ),
    ActRow(
        ExcludePositions,
        "run exclude",
        _CORRECTING,
        _FOLLOW,
        "corrections:correct",
        "leave a position out for a cause that was found; says first which results it changes",
    ),
    ActRow(
        NoteNotMeasured,
        "run not-measured",
        _CORRECTING,
        _FOLLOW,
        "corrections:correct",
        "say why a sample prepared for a run was not measured in it",
    ),
    ActRow(
        RejudgeRun,
        "run rejudge",
        _CORRECTING,
        _FOLLOW,
        "corrections:correct",
        "calculate and judge a run by the documents in force now; says first which results it changes",
    ),
    ActRow(
        JustifyCertificate,
        "certificate justify",
        signing(APPROVER, Meaning.APPROVED),
        ("certificate.justified",),
        "justifying:justify_certificate",
        "sign why an issued certificate may stand after a correction",
    ),
)
