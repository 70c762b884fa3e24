"""The acts: what can be done to a record, by whom, with which signature. ``perform`` is the only caller.

Command help and the role-by-act test matrix are generated from ``ACTS``.
"""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.records.people import Role
from benchseal.records.signatures import Meaning

# ------------------------------------------------------------------ the acts, as values


@dataclass(frozen=True, slots=True)
class AddPerson:
    """Enrol a person. identity_check: how the identity was checked. password: the person's own, typed by them."""

    person: str
    printed_name: str
    roles: tuple[Role, ...]
    identity_check: str
    password: str


@dataclass(frozen=True, slots=True)
class AddDocument:
    """Bring in a new version of a controlled document."""

    data: bytes
    source: str


@dataclass(frozen=True, slots=True)
class ApproveDocument:
    """Put the latest version of a document in force."""

    id: str


@dataclass(frozen=True, slots=True)
class AddRegister:
    """Bring in register rows. register: ``customer``, ``instrument``, ``standard`` or ``sample``."""

    register: str
    data: bytes
    source: str


@dataclass(frozen=True, slots=True)
class AddPreparation:
    """Bring in a preparation sheet."""

    data: bytes
    source: str


@dataclass(frozen=True, slots=True)
class IngestFile:
    """Bring in one instrument file, whole or not at all. layout: identifier, or empty to recognise it."""

    data: bytes
    source: str
    layout: str
    batches: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RecalculateRun:
    """Calculate a run again, with what is in force now."""

    run: str
    reason: str


@dataclass(frozen=True, slots=True)
class SubmitRuns:
    """Submit runs for review, as one packet."""

    runs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AcceptRuns:
    """Accept submitted runs after review, as one packet."""

    runs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReturnRuns:
    """Return submitted runs to the analyst."""

    runs: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class CancelRun:
    """Cancel a run; its data stay and stay visible."""

    run: str
    reason: str


@dataclass(frozen=True, slots=True)
class ReopenRun:
    """Reopen a reviewed run for a correction: the analyst asks, a reviewer or approver consents and signs."""

    run: str
    reason: str


@dataclass(frozen=True, slots=True)
class UnlockPerson:
    """Let somebody locked out try again."""

    person: str
    reason: str


@dataclass(frozen=True, slots=True)
class DraftCertificate:
    """Draft a certificate of one lot from its reviewed results. comment: on borderline results, where required."""

    lot: str
    comment: str


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
class PlanDelivery:
    """Fix the bytes, number and time of one delivery. profile: identifier."""

    profile: str
    destination: str


# ------------------------------------------------------------------ the table


@dataclass(frozen=True, slots=True)
class Signer:
    """One person an act needs: with one of ``roles``; ``meaning`` where the person signs, else None."""

    roles: frozenset[Role]
    meaning: Meaning | None = None


@dataclass(frozen=True, slots=True)
class ActRow:
    """One act: the command that does it, who is needed in order, which entry kinds it writes, where its function is."""

    act: type
    command: str
    signers: tuple[Signer, ...]
    kinds: tuple[str, ...]
    function: str
    says: str


def _anyone(*roles: Role) -> tuple[Signer, ...]:
    return (Signer(frozenset(roles)),)


def _signing(role: Role, meaning: Meaning) -> tuple[Signer, ...]:
    return (Signer(frozenset({role}), meaning),)


_AN, _RV, _QA, _AD, _SV = Role.ANALYST, Role.REVIEWER, Role.APPROVER, Role.ADMINISTRATOR, Role.SERVICE

ROWS: tuple[ActRow, ...] = (
    ActRow(AddPerson, "person add", _anyone(_AD), ("person.added",), "people:add_person", "enrol a person"),
    ActRow(
        AddDocument,
        "document add",
        _anyone(_AN, _RV, _QA),
        ("document.added",),
        "controlled:add_document",
        "bring in a new version of a method, specification, reading layout or export profile",
    ),
    ActRow(
        ApproveDocument,
        "document approve",
        _signing(_QA, Meaning.APPROVED),
        ("document.approved",),
        "controlled:approve_document",
        "put a document in force; its author cannot",
    ),
    ActRow(
        AddRegister,
        "sample add",
        _anyone(_AN, _QA),
        ("customer.added", "instrument.added", "standard_lot.added", "sample.added"),
        "registers:add_register",
        "bring in rows of the sample register (also: recipient, instrument, standard)",
    ),
    ActRow(
        AddPreparation,
        "preparation add",
        _anyone(_AN),
        ("preparation.added",),
        "registers:add_preparation",
        "bring in weighings and dilutions",
    ),
    ActRow(
        IngestFile,
        "ingest",
        _anyone(_AN, _SV),
        ("run.ingested", "hold.opened", "file.refused"),
        "intake:ingest_file",
        "bring in instrument files, each whole or not at all",
    ),
    ActRow(
        RecalculateRun,
        "run recalculate",
        _anyone(_AN),
        ("run.calculated", "hold.opened"),
        "intake:recalculate_run",
        "calculate a run again with what is in force now",
    ),
    ActRow(
        SubmitRuns,
        "run submit",
        _signing(_AN, Meaning.PERFORMED),
        ("run.submitted",),
        "runs:submit_runs",
        "sign runs as performed and hand them to a reviewer",
    ),
    ActRow(
        AcceptRuns,
        "run accept",
        _signing(_RV, Meaning.REVIEWED),
        ("run.reviewed",),
        "runs:accept_runs",
        "sign runs as reviewed; nobody who contributed can",
    ),
    ActRow(
        ReturnRuns,
        "run return",
        _signing(_RV, Meaning.RETURNED),
        ("run.returned",),
        "runs:return_runs",
        "return runs to the analyst with a reason",
    ),
    ActRow(
        CancelRun,
        "run cancel",
        (*_signing(_AN, Meaning.CANCELLED), *_signing(_RV, Meaning.CANCELLED)),
        ("run.cancelled",),
        "runs:cancel_run",
        "cancel a run; analyst and reviewer both sign, and its data stay",
    ),
    ActRow(
        ReopenRun,
        "run reopen",
        (Signer(frozenset({_AN}), Meaning.PERFORMED), Signer(frozenset({_RV, _QA}), Meaning.RETURNED)),
        ("run.reopened",),
        "runs:reopen_run",
        "reopen a reviewed run for a correction; a reviewer or approver consents",
    ),
    ActRow(
        UnlockPerson,
        "person unlock",
        _anyone(_AD),
        ("person.unlocked",),
        "people:unlock_person",
        "let somebody locked out try again",
    ),
    ActRow(
        DraftCertificate,
        "certificate draft",
        _anyone(_AN, _RV, _QA),
        ("certificate.drafted",),
        "certificates:draft_certificate",
        "draft the certificate of a lot from its reviewed results",
    ),
    ActRow(
        DiscardCertificate,
        "certificate discard",
        _anyone(_AN, _RV, _QA),
        ("certificate.discarded",),
        "certificates:discard_certificate",
        "give up a draft; the number stays used",
    ),
    ActRow(
        ApproveCertificate,
        "certificate approve",
        _signing(_QA, Meaning.APPROVED),
        ("certificate.approved",),
        "certificates:approve_certificate",
        "sign the content of a drafted certificate as approved",
    ),
    ActRow(
        ReturnCertificate,
        "certificate return",
        _signing(_QA, Meaning.RETURNED),
        ("certificate.returned",),
        "certificates:return_certificate",
        "take an approved certificate back to draft",
    ),
    ActRow(
        ReleaseCertificate,
        "certificate release",
        _signing(_QA, Meaning.RELEASED),
        ("certificate.sealing",),
        "certificates:release_certificate",
        "sign the release; the certificate is then sealed",
    ),
    ActRow(
        PlanDelivery,
        "export run",
        _anyone(_SV, _QA, _AN),
        ("delivery.planned",),
        "deliveries:plan_delivery",
        "deliver released results that were not delivered yet",
    ),
)

ACTS: dict[type, ActRow] = {row.act: row for row in ROWS}

# Entries no person writes: founding, and the steps that finish what a person signed.
PROGRAM_KINDS = ("site.founded", "certificate.released", "delivery.done")
