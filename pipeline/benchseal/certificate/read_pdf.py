"""Opening a sealed certificate from outside: all or nothing, and nothing on trust.

Two judges must agree. ``seal_bytes`` first, on bytes alone: the seal covers the whole file, could be written in no
other way, holds, and its certificate is one of those pinned. Only then is the file unpacked, and pyHanko judges
again, with the structure: exactly one regular signature, named Seal, certifying, no change permitted, nothing
after it. No network is used and no clock is read.

Limit: the certificate is judged at the signing time that the seal itself states, so a certificate that has run
out since still verifies, and a stolen key could state an earlier time. Only a time-stamp of a third party or a
ledger head kept elsewhere speaks against that. Where the seal carries a time-stamp, its time must lie within the
life of the certificate and not before the time stated.
"""

from __future__ import annotations

import asyncio
import hashlib
import io
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final, TypeAlias

import pikepdf
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import NameOID
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import MDPPerm
from pyhanko.sign.validation import SignatureCoverageLevel, async_validate_pdf_signature
from pyhanko.sign.validation.pdf_embedded import read_certification_data
from pyhanko_certvalidator import ValidationContext

from benchseal.certificate.file_layout import layout_faults
from benchseal.certificate.page_flow import Flow, drawn_flow
from benchseal.certificate.page_form import form_faults
from benchseal.certificate.page_marks import title_faults
from benchseal.certificate.page_parts import repaired_faults, tree_faults
from benchseal.certificate.page_structure import Structure
from benchseal.certificate.page_words import Pages
from benchseal.certificate.seal import FIELD, OF_CERTIFICATE, OF_NOTICE, STAMPED
from benchseal.certificate.seal_bytes import Frame, Signer, cut_at_seal, read_signer, refused
from benchseal.certificate.seal_form import seal_form_faults
from benchseal.certificate.time_stamp import CLOCKS_APART, trusted_by

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature

    from benchseal.certificate.time_stamp import Authority, Stamp
    from benchseal.problems import Finding

# Findings that leave it open whether the file is genuine; every other one says that it is not as it was sealed.
CODES_UNKNOWN: Final = frozenset({"seal.key-unknown", "seal.not-a-pdf", "seal.missing", "seal.too-large"})

Files: TypeAlias = "tuple[tuple[str, str], ...]"

# Names of what is attached, each with its relationship: what is said, then what proves it.
CERTIFICATE_FILES: Final[Files] = (("evidence.json", "/Source"), ("supplement.json", "/Supplement"))
NOTICE_FILES: Final[Files] = (("notice.json", "/Source"), ("proof.json", "/Supplement"))
_REASONS: Final[dict[Files, str]] = {CERTIFICATE_FILES: OF_CERTIFICATE, NOTICE_FILES: OF_NOTICE}
_SIGNATURE_FORM: Final = ("/Adobe.PPKLite", "/ETSI.CAdES.detached")
_WHOLE: Final = SignatureCoverageLevel.ENTIRE_FILE


@dataclass(frozen=True, slots=True)
class SealedPdf:
    """A certificate whose seal holds. ``pages`` is the text of each page in the order of drawing, ``flow`` all words.

    ``stamp`` is the time-stamp of a third party on the seal, None where it carries none; ``authority`` the trusted one
    behind it, None where nobody trusted stands behind it.
    ``unsealed_sha256`` and ``sealed_sha256`` are the digests that the ledger keeps of the rendered bytes and of
    the file, hexadecimal. ``signed_at`` is the time that the seal states, ``drawn_at`` that the pages
    state. ``evidence`` and ``supplement`` are the two files attached; of a notice of withdrawal, the notice and its
    proof, which ``is_notice`` tells.
    """

    signer: str
    fingerprint: str
    signed_at: datetime
    drawn_at: datetime
    evidence: bytes
    supplement: bytes
    pages: tuple[str, ...]
    flow: Flow
    unsealed_sha256: str
    sealed_sha256: str
    stamp: Stamp | None = None
    authority: Authority | None = None
    is_notice: bool = False


def open_certificate(
    data: bytes,
    pinned: Collection[str],
    authorities: Collection[Authority] = (),
    files: Files | None = CERTIFICATE_FILES,
) -> SealedPdf | tuple[Finding, ...]:
    """The certificate in ``data``, or every reason why it is none.

    files: exactly what has to be attached; None for what the file itself is closer to, certificate or notice.
    pinned: SHA-256 fingerprints (hexadecimal, lower case) of the sealing certificates that are trusted.
    authorities: those whose time-stamps are trusted.
    An error of any parser is a finding, never an exception.
    """
    try:
        return _open(data, pinned, authorities, files)
    except Exception:  # noqa: BLE001  hostile bytes may raise anything in three parsers
        what = "The file cannot be read as a sealed PDF: its inside is not built as that of a PDF is."
        return (refused("unreadable", what),)


def _open(
    data: bytes, pinned: Collection[str], authorities: Collection[Authority], files: Files | None
) -> SealedPdf | tuple[Finding, ...]:
    frame = cut_at_seal(data)
    if not isinstance(frame, Frame):
        return (frame,)
    signer = read_signer(frame)
    if not isinstance(signer, Signer):
        return signer
    if signer.fingerprint not in pinned:
        return (
            refused(
                "key-unknown",
                f"The seal holds, but its certificate {signer.fingerprint} is not one of those trusted here.",
                "Get the laboratory's trust file by a way you trust and compare this fingerprint with it.",
            ),
        )
    authority = trusted_by(signer.stamp, authorities) if signer.stamp else None
    return _unpacked(data, signer, authority, files)


def _unpacked(
    data: bytes, signer: Signer, authority: Authority | None, files: Files | None
) -> SealedPdf | tuple[Finding, ...]:
    """The contents, once the bytes are known to come from a trusted key."""
    reader = PdfFileReader(io.BytesIO(data), strict=True)
    signatures = reader.embedded_signatures
    if len(signatures) != 1:
        return (refused("several", f"The file holds {len(signatures)} signatures; a certificate holds one."),)
    signature = signatures[0]
    signed_at = signature.self_reported_timestamp
    if signed_at is None or signed_at.tzinfo is None:
        return (refused("time", "The seal does not state when it was made."),)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        drawn_at = datetime.strptime(str(pdf.docinfo["/CreationDate"]), "D:%Y%m%d%H%M%SZ").replace(tzinfo=UTC)
        due = files or _closer_to(pdf, signature)
        listed = tuple(tree_faults(pdf))
        aloud, followed = Structure(pdf), Pages(pdf)
        form = form_faults(pdf, lists=due == NOTICE_FILES, aloud=aloud, pages=followed)
        faults = (*listed, *dict.fromkeys(form))
        faults = (*faults, *repaired_faults(pdf, data), *layout_faults(data))
        seal_form = tuple(refused("structure", f"Of the seal: {fault}") for fault in seal_form_faults(pdf))
        attached = _attached(pdf)  # after the form: to look names up mends a list that is not in order
        pages, flow = (followed.texts(), drawn_flow(pdf, aloud, followed)) if not faults else ((), Flow((), ()))
        faults = faults or tuple(title_faults(pdf, flow.pages))
        hidden = tuple(refused("page-form", f"Of the pages: {fault}") for fault in faults)
    findings = (
        *_structure_findings(reader, signature),
        *_seal_findings(signature, due),
        *seal_form,
        *_stamp_findings(signature, signer, signed_at),
        *_second_judge(signature, signer, signed_at, authority),
        *_attachment_findings(attached, dict(due)),
        *hidden,
    )
    if findings:
        return findings
    held = {name: content for name, _, content in attached}
    return SealedPdf(
        signer=_name(signer),
        fingerprint=signer.fingerprint,
        signed_at=signed_at,
        drawn_at=drawn_at,
        evidence=held[due[0][0]],
        supplement=held[due[1][0]],
        pages=pages,
        flow=flow,
        unsealed_sha256=hashlib.sha256(_unsealed(data, reader)).hexdigest(),
        sealed_sha256=hashlib.sha256(data).hexdigest(),
        stamp=signer.stamp,
        authority=authority,
        is_notice=due == NOTICE_FILES,
    )


def _closer_to(pdf: pikepdf.Pdf, signature: EmbeddedPdfSignature) -> Files:
    """What a file is meant to be: by the names of what is attached and by what its seal says that it is for."""
    said = str(signature.sig_object.get("/Reason", "")).removesuffix(STAMPED)
    names = {str(spec.get("/UF", "")) for spec in pdf.Root.get("/AF", ())}
    speaks = {due: sum(name in names for name, _ in due) + (said == reason) for due, reason in _REASONS.items()}
    return NOTICE_FILES if speaks[NOTICE_FILES] > speaks[CERTIFICATE_FILES] else CERTIFICATE_FILES


def _structure_findings(reader: PdfFileReader, signature: EmbeddedPdfSignature) -> Iterator[Finding]:
    if reader.encrypted:
        yield refused("structure", "The file is encrypted; a certificate never is.")
    if signature.field_name != FIELD or signature.sig_object_type != "/Sig":
        yield refused("structure", f"The signature is {signature.field_name!r}, not the field {FIELD!r}.")
    form = (str(signature.sig_object.get("/Filter")), str(signature.sig_object.get("/SubFilter")))
    if form != _SIGNATURE_FORM:
        yield refused("structure", f"The signature is of the form {' '.join(form)}, not {' '.join(_SIGNATURE_FORM)}.")
    if reader.root.get("/Type") != "/Catalog":  # the other library names it so by itself
        yield refused("structure", "The file's catalog is not called one.")
    if reader.xrefs.total_revisions != 2:
        yield refused("structure", f"The file has {reader.xrefs.total_revisions} revisions instead of two.")
    certification = read_certification_data(reader)
    if certification is None or certification.permission != MDPPerm.NO_CHANGES:
        yield refused("structure", "The seal does not forbid later changes.")
    elif certification.author_sig.container_ref != signature.sig_object.container_ref:
        yield refused("structure", "Another signature than the seal says which changes are permitted.")


def _seal_findings(signature: EmbeddedPdfSignature, due: Files) -> Iterator[Finding]:
    """The seal says what it is for."""
    said = str(signature.sig_object.get("/Reason", "")).removesuffix(STAMPED)
    if said != _REASONS[due]:
        yield refused("structure", f"The seal says of itself {said!r}; it is due to say {_REASONS[due]!r}.")


def _stamp_findings(signature: EmbeddedPdfSignature, signer: Signer, signed_at: datetime) -> Iterator[Finding]:
    """A time-stamp is there exactly where the seal says so, of a time that its key and the time stated allow."""
    announced = str(signature.sig_object.get("/Reason", "")).endswith(STAMPED)
    stamp, certificate = signer.stamp, signer.certificate
    if announced != (stamp is not None):
        what = "says that it has a time-stamp, and has none" if announced else "has a time-stamp it does not speak of"
        yield refused("time-stamp", f"The seal {what}.")
    if stamp is None:
        return
    said = f"The time-stamp on the seal is of {stamp.at.isoformat()}"
    if stamp.at < signed_at - CLOCKS_APART:
        yield refused("time-stamp", f"{said}, before {signed_at.isoformat()}, when the seal says that it was made.")
    if not certificate.not_valid_before_utc <= stamp.at <= certificate.not_valid_after_utc:
        yield refused("time-stamp", f"{said}; the sealing certificate was not valid then.")


def _second_judge(
    signature: EmbeddedPdfSignature, signer: Signer, signed_at: datetime, authority: Authority | None
) -> Iterator[Finding]:
    """PyHanko's judgement, with the pinned certificate as the only root, at the stated time."""
    certificate = signer.certificate
    first, last = certificate.not_valid_before_utc, certificate.not_valid_after_utc
    if not first <= signed_at <= last:
        what = f"The sealing certificate was not valid at {signed_at.isoformat()}, when the seal was made: it is valid "
        yield refused("time", f"{what}from {first.isoformat()} to {last.isoformat()}.")
    root = asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER))
    context = ValidationContext(trust_roots=[root], allow_fetching=False, revocation_mode="soft-fail", moment=signed_at)
    stamping = _stamp_context(signer.stamp, authority)
    status = asyncio.run(
        async_validate_pdf_signature(
            signature, signer_validation_context=context, ts_validation_context=stamping or context
        )
    )
    if status.coverage != _WHOLE:
        yield refused("not-whole-file", "The seal does not cover the whole file.")
    if not (status.bottom_line and status.docmdp_ok):
        yield refused("altered", f"The seal does not hold: {status.summary()}.")


def _stamp_context(stamp: Stamp | None, authority: Authority | None) -> ValidationContext | None:
    """What the second judge trusts of a time-stamp: the trusted authority; else its own end, as nobody trusts it."""
    if stamp is None:
        return None
    last = authority.certificate if authority else stamp.path[-1].public_bytes(Encoding.DER)
    root = asn1_x509.Certificate.load(last)
    return ValidationContext(trust_roots=[root], allow_fetching=False, revocation_mode="soft-fail", moment=stamp.at)


def _attached(pdf: pikepdf.Pdf) -> tuple[tuple[str, str, bytes], ...]:
    """Name, relationship and content of each attachment. ValueError if AF array and name tree differ."""
    listed = [(str(spec.UF), spec.objgen) for spec in pdf.Root.get("/AF", ())]
    named = [(name, spec.obj.objgen) for name, spec in sorted(pdf.attachments.items())]
    if sorted(listed) != named:
        raise ValueError("attachments are not listed once in both places")
    return tuple(
        (name, str(spec.obj.AFRelationship), spec.get_file().read_bytes())
        for name, spec in sorted(pdf.attachments.items())
    )


def _attachment_findings(attached: tuple[tuple[str, str, bytes], ...], due: dict[str, str]) -> Iterator[Finding]:
    found = {name: relationship for name, relationship, _ in attached}
    if found != due:
        yield refused(
            "attachments",
            f"Attached: {', '.join(sorted(found)) or 'nothing'}; expected {' and '.join(due)}.",
        )


def _unsealed(data: bytes, reader: PdfFileReader) -> bytes:
    """The rendered bytes: all up to the end of the first of the two revisions."""
    end = data.index(b"%%EOF", reader.xrefs.get_startxref_for_revision(0)) + len(b"%%EOF")
    return data[: end + 1] if data[end : end + 1] == b"\n" else data[:end]


def _name(signer: Signer) -> str:
    """The organisation of the certificate."""
    named = signer.certificate.subject.get_attributes_for_oid(NameOID.ORGANIZATION_NAME)
    return str(named[0].value) if named else signer.certificate.subject.rfc4514_string()
