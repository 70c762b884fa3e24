"""Acts on certificates: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, ActRow, anyone, signing
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class DraftCertificate:
    """Draft a certificate of one lot from its reviewed results. comment: on borderline results, where required.

    simplified: in simplified form, where the specification names an agreement to it.
    """

    lot: str
    comment: str
    simplified: bool = False


@dataclass(frozen=True, slots=True)
class DiscardCertificate:
    """Give up a draft; its number is not used again."""

    number: str
    reason: str


@dataclass(frozen=True, slots=True)
class ApproveCertificate:
    """Approve the content of a drafted certificate."""

    number: str


@dataclass(frozen=True, slots=True)
class ReturnCertificate:
    """Take back the approval of a certificate that was not released."""

    number: str
    reason: str


@dataclass(frozen=True, slots=True)
class ReleaseCertificate:
    """Sign the release. Sealing follows, and can be resumed without a password."""

    number: str


@dataclass(frozen=True, slots=True)
class AmendCertificate:
    """Draft the certificate that replaces one issued before, from what is in force now. reason: printed on it."""

    number: str
    reason: str
    comment: str


@dataclass(frozen=True, slots=True)
class SupplementCertificate:
    """Draft a certificate of what was determined since one was issued, beside it. reason: printed on it."""

    number: str
    reason: str
    comment: str


@dataclass(frozen=True, slots=True)
class WithdrawCertificate:
    """Take back an issued certificate; its file stays, and those who have it are to be told."""

    number: str
    reason: str


@dataclass(frozen=True, slots=True)
class PrintCertificate:
    """Number a paper copy of an issued certificate. to: for whom it is; reason: what for."""

    number: str
    to: str
    reason: str


@dataclass(frozen=True, slots=True)
class SendCertificate:
    """Put on record who was given an issued certificate. to: whom; how: by what way."""

    number: str
    to: str
    how: str


@dataclass(frozen=True, slots=True)
class TellRecipient:
    """Put on record that somebody who has a certificate was told that it was replaced or withdrawn."""

    number: str
    to: str
    how: str


@dataclass(frozen=True, slots=True)
class GivePreliminary:
    """Tell somebody the reviewed figures of a lot before its certificate. given_to: whom; reason: why now."""

    lot: str
    given_to: str
    reason: str


@dataclass(frozen=True, slots=True)
class NoteHolderTold:
    """Put on record that a holder of preliminary figures was told that they are others now."""

    number: str
    who: str
    how: str


CERTIFICATES: tuple[ActRow, ...] = (
    ActRow(
        DraftCertificate,
        "certificate draft",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("certificate.drafted",),
        "certificates:draft_certificate",
        "draft the certificate of a lot from its reviewed results",
    ),
    ActRow(
        DiscardCertificate,
        "certificate discard",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("certificate.discarded",),
        "certificates:discard_certificate",
        "give up a draft; the number stays used",
    ),
    ActRow(
        ApproveCertificate,
        "certificate approve",
        signing(APPROVER, Meaning.APPROVED),
        ("certificate.approved",),
        "certificates:approve_certificate",
        "sign the content of a drafted certificate as approved",
    ),
    ActRow(
        ReturnCertificate,
        "certificate return",
        signing(APPROVER, Meaning.RETURNED),
        ("certificate.returned",),
        "certificates:return_certificate",
        "take an approved certificate back to draft",
    ),
    ActRow(
        ReleaseCertificate,
        "certificate release",
        signing(APPROVER, Meaning.RELEASED),
        ("certificate.sealing",),
        "certificates:release_certificate",
        "sign the release; the certificate is then sealed",
    ),
    ActRow(
        AmendCertificate,
        "certificate amend",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("certificate.drafted",),
        "amending:amend_certificate",
        "draft the certificate that replaces an issued one, with every change marked",
    ),
    ActRow(
        SupplementCertificate,
        "certificate supplement",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("certificate.drafted",),
        "amending:supplement_certificate",
        "draft a certificate of what was determined later, beside an issued one",
    ),
    ActRow(
        WithdrawCertificate,
        "certificate withdraw",
        signing(APPROVER, Meaning.WITHDRAWN),
        ("certificate.withdrawn",),
        "withdrawing:withdraw_certificate",
        "sign that an issued certificate is taken back, and who is to be told",
    ),
    ActRow(
        PrintCertificate,
        "certificate print",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("certificate.copied",),
        "papers:print_certificate",
        "a numbered paper copy of an issued certificate; for whom and why is on record",
    ),
    ActRow(
        SendCertificate,
        "certificate sent",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("certificate.sent",),
        "recipients:send_certificate",
        "put on record who was given an issued certificate, and how",
    ),
    ActRow(
        TellRecipient,
        "certificate told",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("certificate.told",),
        "recipients:tell_recipient",
        "put on record that somebody was told of a replaced or withdrawn certificate",
    ),
    ActRow(
        GivePreliminary,
        "certificate preliminary",
        anyone(APPROVER),
        ("preliminary.given",),
        "preliminary:give_preliminary",
        "figures of a lot before its certificate, marked as such; who gets them is on record",
    ),
    ActRow(
        NoteHolderTold,
        "certificate figures-told",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("preliminary.told",),
        "preliminary_told:note_told",
        "say that a holder of preliminary figures was told that they are others now",
    ),
)
