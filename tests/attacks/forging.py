"""What a forger has: certificates a laboratory really issued, tools for PDF files, and (an insider) its sealing key.

An outsider changes the sealed bytes. An insider changes what is rendered, and seals it with the right key.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

import pikepdf
from asn1crypto import keys as asn1_keys
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import NameOID
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter
from pyhanko.sign.signers import PdfSignatureMetadata, SimpleSigner
from pyhanko_certvalidator.registry import SimpleCertificateStore
from tests.attacks.written import as_rendered

from benchseal.certificate import seal as sealing
from benchseal.certificate.issue import seal_certificate
from benchseal.certificate.present import view_of
from benchseal.certificate.render import evidence_and_supplement, render
from benchseal.desk.keys import open_seal_key, open_tree_key
from benchseal.identity.seal_certificate import seal_certificate as certify
from benchseal.identity.seal_signer import HeldSealKey
from benchseal.records.canonical import digest
from benchseal.records.evidence import Evidence, Supplement
from benchseal.records.shape import read_record, record_bytes

if TYPE_CHECKING:
    from collections.abc import Callable

    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    from benchseal.certificate.view import CertificateView
    from benchseal.desk.site import Site
    from benchseal.verify.trust import Trust

RANGE = re.compile(rb"/ByteRange \[0 (\d+) (\d+) (\d+)\] *")


@dataclass(frozen=True)
class Issued:
    """One certificate as it was issued, and the parts it was made of."""

    pdf: bytes
    raw: bytes
    evidence: Evidence
    supplement: Supplement

    @property
    def evidence_bytes(self) -> bytes:
        return record_bytes(self.evidence)

    @property
    def at(self) -> datetime:
        return datetime.fromisoformat(self.supplement.release.statement.at)

    def view(self) -> CertificateView:
        return view_of(
            self.evidence,
            release=self.supplement.release,
            checkpoint=self.supplement.checkpoint,
            evidence_digest=digest(self.evidence_bytes),
        )

    def told(self, evidence: Evidence) -> Issued:
        """With other evidence, and a supplement that claims to belong to it."""
        own = replace(self.supplement, evidence_sha256=digest(record_bytes(evidence)))
        return replace(self, evidence=evidence, supplement=own)


def issued(pdf: bytes) -> Issued:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        files = {name: spec.get_file().read_bytes() for name, spec in opened.attachments.items()}
    end = pdf.index(b"%%EOF\n") + len(b"%%EOF\n")
    evidence = read_record(Evidence, files["evidence.json"])
    return Issued(pdf, pdf[:end], evidence, read_record(Supplement, files["supplement.json"]))


def printed(one: Issued, view: CertificateView | None = None) -> bytes:
    """The unsealed page of ``view``, with the two files of ``one``."""
    files = evidence_and_supplement(record_bytes(one.evidence), record_bytes(one.supplement))
    made = render(view or one.view(), files, one.at)
    assert isinstance(made, bytes), made
    return made


@dataclass(frozen=True)
class Forger:
    """One issued certificate, another one of the same laboratory, what its readers trust, and keys."""

    one: Issued
    other: Issued
    trust: Trust
    key: rsa.RSAPrivateKey
    certificate: x509.Certificate
    stranger: rsa.RSAPrivateKey
    strangers_certificate: x509.Certificate  # under the laboratory's name
    heads: Ed25519PrivateKey  # the ledger's, of whoever holds both keys

    # ---------------------------------------------------------------- outsiders

    def update(self, change: Callable[[IncrementalPdfFileWriter], None], pdf: bytes | None = None) -> bytes:
        """An incremental update after the seal."""
        writer = IncrementalPdfFileWriter(io.BytesIO(pdf or self.one.pdf), strict=False)
        change(writer)
        out = io.BytesIO()
        writer.write(out)  # type: ignore[no-untyped-call]
        return out.getvalue()

    def put(self, old: bytes, new: bytes, pdf: bytes | None = None) -> bytes:
        """The last place of ``old`` put otherwise; everything after it moves."""
        data = pdf or self.one.pdf
        place = data.rindex(old)
        return data[:place] + new + data[place + len(old) :]

    def gap(self, pdf: bytes | None = None) -> tuple[int, int]:
        """Where the signature's place begins and ends, both angle brackets inside."""
        found = list(RANGE.finditer(pdf or self.one.pdf))[-1]
        return int(found[1]), int(found[2])

    def in_gap(self, gap: bytes) -> bytes:
        """The file with another content of the signature's place, of the same length."""
        start, end = self.gap()
        assert len(gap) == end - start
        return self.one.pdf[:start] + gap + self.one.pdf[end:]

    def container(self, pdf: bytes | None = None) -> bytes:
        """The signature's container with the zeros after it."""
        start, end = self.gap(pdf)
        return bytes.fromhex((pdf or self.one.pdf)[start + 1 : end - 1].decode())

    def with_container(self, der: bytes) -> bytes:
        start, end = self.gap()
        room = (end - start - 2) // 2
        assert len(der) <= room
        return self.in_gap(b"<" + (der + bytes(room - len(der))).hex().upper().encode() + b">")

    # ---------------------------------------------------------------- insiders

    def sealed(self, raw: bytes, at: datetime | None = None) -> bytes:
        """Sealed as the laboratory seals."""
        return seal_certificate(raw, HeldSealKey(self.key), self.certificate, at or self.one.at)

    def redone(self, change: Callable[[pikepdf.Pdf], None]) -> bytes:
        """The rendered file changed before it was sealed, as a rogue template would."""
        with pikepdf.open(io.BytesIO(self.one.raw)) as pdf:
            change(pdf)
            return self.sealed_otherwise(as_rendered(pdf))

    def sealed_otherwise(self, raw: bytes | None = None, **told: Any) -> bytes:  # noqa: ANN401  arguments of a library
        """Sealed by the library directly: by default exactly as the laboratory seals, ``told`` being otherwise.

        ``prepared`` changes what will be written with the seal.
        """
        prepared = told.pop("prepared", lambda _: None)
        key = told.pop("key", self.key)
        certificate = told.pop("certificate", self.certificate)
        field = told.pop("field", sealing.FIELD)
        meta: dict[str, Any] = {
            "field_name": field,
            "md_algorithm": "sha256",
            "subfilter": SigSeedSubFilter.PADES,
            "certify": True,
            "reason": sealing.OF_CERTIFICATE,
            "docmdp_permissions": MDPPerm.NO_CHANGES,
        }
        signer = SimpleSigner(
            signing_cert=asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER)),
            signing_key=asn1_keys.PrivateKeyInfo.load(
                key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
            ),
            cert_registry=SimpleCertificateStore(),  # type: ignore[no-untyped-call]
            prefer_pss=told.pop("pss", False),
            embed_roots=True,
        )
        spec = told.pop("spec", SigFieldSpec(field))
        pdf_signer = _Unscrupulous(PdfSignatureMetadata(**{**meta, **told}), signer, new_field_spec=spec)
        pdf_signer.signed_at = self.one.at
        writer = sealing._UntouchedMeta(io.BytesIO(raw or self.one.raw), strict=False)  # noqa: SLF001
        prepared(writer)
        return bytes(pdf_signer.sign_pdf(writer, bytes_reserved=2 * sealing.BYTES_RESERVED).getvalue())


class _Unscrupulous(sealing._AtStatedTime):  # noqa: SLF001
    """Signs what it is given, whatever an earlier signature permits."""

    def _enforce_certification_constraints(self, reader: object) -> None:
        pass


def forger_of(site: Site, trust: Trust, numbers: tuple[str, ...]) -> Forger:
    one, other = (issued((site.certificates / f"{number}.pdf").read_bytes()) for number in numbers[:2])
    with site.store.reading() as view:
        row = view.rows("site")[0]
        key_id, tree_key_id = row["seal_key_id"], row["tree_key_id"]
    certificate = x509.load_der_x509_certificate(trust.seals[-1].certificate)
    stranger = rsa.generate_private_key(65537, 3072)
    named = named_like(certificate, stranger)
    held = open_seal_key(site.private, key_id)
    assert isinstance(held, HeldSealKey)
    heads = open_tree_key(site.private, tree_key_id)
    return Forger(one, other, trust, held.private, certificate, stranger, named, heads)


def named_like(certificate: x509.Certificate, key: rsa.RSAPrivateKey) -> x509.Certificate:
    """A certificate of another key that says of itself all that the laboratory's says."""
    return certify(
        key,
        organisation=str(certificate.subject.get_attributes_for_oid(NameOID.ORGANIZATION_NAME)[0].value),
        serial=certificate.serial_number,
        not_before=certificate.not_valid_before_utc,
        not_after=certificate.not_valid_after_utc,
    )
