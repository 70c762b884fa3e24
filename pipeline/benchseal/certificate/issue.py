"""Evidence and supplement to the page, and the page to the sealed file: what the desk calls, and nothing more."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from benchseal.certificate.complete import view_problems
from benchseal.certificate.due import due_problems
from benchseal.certificate.present import view_of
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.evidence import Evidence, Supplement
from benchseal.records.shape import read_record

if TYPE_CHECKING:
    from collections.abc import Callable

    from cryptography import x509

    from benchseal.certificate.view import CertificateView
    from benchseal.records.seal_signer import SealSigner


def render_certificate(evidence_bytes: bytes, supplement_bytes: bytes) -> bytes | tuple[Problem, ...]:
    """The unsealed PDF with both files attached, dated by the release; the same bytes every time.

    Problems: the files cannot be read, the supplement belongs to other evidence, or something mandatory is missing.
    """
    from benchseal.certificate.page_check import held_to_its_words  # noqa: PLC0415  heavy: drafts need none
    from benchseal.certificate.render import evidence_and_supplement, render  # noqa: PLC0415  the same

    try:
        evidence = read_record(Evidence, evidence_bytes)
        supplement = read_record(Supplement, supplement_bytes)
        moment = datetime.fromisoformat(supplement.release.statement.at)
    except ValueError as fault:
        return (_unreadable(str(fault)),)
    found = digest(evidence_bytes)
    if supplement.evidence_sha256 != found:
        return (_unreadable(f"the supplement belongs to evidence {supplement.evidence_sha256}, not to {found}"),)
    try:
        view = view_of(evidence, release=supplement.release, checkpoint=supplement.checkpoint, evidence_digest=found)
    except ValueError as fault:
        return (_unreadable(str(fault)),)
    if problems := page_problems(view, evidence):
        return problems
    paper = evidence.certificate.paper
    files = evidence_and_supplement(evidence_bytes, supplement_bytes)
    made = render(view, files, moment, paper, evidence.template)
    return held_to_its_words(made, view, evidence.template) if evidence.template and isinstance(made, bytes) else made


def seal_certificate(  # noqa: PLR0913, PLR0917  what a seal is made of
    raw: bytes,
    signer: SealSigner,
    certificate: x509.Certificate,
    at: datetime,
    chain: tuple[x509.Certificate, ...] = (),
    stamp: Callable[[bytes], bytes] | None = None,
) -> bytes:
    """``raw`` with the laboratory's seal, stated to be made ``at``. Raises ValueError for a foreign or weak key.

    chain: the certificates of the authority above that of the seal. stamp: SHA-256 of its signature to the token of a
    time-stamp; what it raises comes through.
    """
    from benchseal.certificate.seal import OF_CERTIFICATE, SealKey, seal  # noqa: PLC0415  heavy: only a release seals

    return seal(raw, SealKey(signer, certificate, chain), at, OF_CERTIFICATE, stamp)


def draft_problems(content: Evidence) -> tuple[Problem, ...]:
    """What would keep this content from being printed, looked at before anybody signs it."""
    try:
        view = view_of(content, release=None, checkpoint=None, evidence_digest="", draft=True)
    except ValueError as fault:
        return (_unreadable(str(fault)),)
    return page_problems(view, content)


def page_problems(view: CertificateView, evidence: Evidence) -> tuple[Problem, ...]:
    """Every field that is empty though a certificate must state it, or must because of what the record holds."""
    return (*view_problems(view), *due_problems(view, evidence))


def _unreadable(what: str) -> Problem:
    return Problem(
        "certificate.evidence-unreadable", "evidence", f"{what}.", "Draft the certificate again from the record."
    )
