"""The organisation's seal: one RSA signature over the whole file, the last act on a certificate.

PAdES B-B or B-T through pyHanko, certifying, no change permitted afterwards, invisible (the page already prints who
signed). RSA and not an elliptic curve, because a named curve would raise the file to PDF 2.0 and break its claim
to PDF/A-3. The seal is an incremental update: the sealed file starts with the bytes that were rendered.
"""

from __future__ import annotations

import asyncio
import io
from dataclasses import dataclass
from datetime import UTC
from typing import TYPE_CHECKING, Final

from asn1crypto import cms, tsp
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.attributes import CMSAttributeProvider, SignedAttributeProviderSpec
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter
from pyhanko.sign.general import as_signing_certificate_v2
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, Signer
from pyhanko.sign.timestamps.api import TimeStamper
from pyhanko_certvalidator.registry import SimpleCertificateStore

from benchseal.certificate.time_stamp import LARGEST_TOKEN

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import datetime

    from cryptography import x509
    from pyhanko.pdf_utils.writer import BasePdfFileWriter
    from pyhanko.sign.signers.pdf_signer import PdfSigningSession

    from benchseal.records.seal_signer import SealSigner

FIELD: Final = "Seal"
OF_CERTIFICATE: Final = "Seal of the laboratory on a released certificate"
OF_NOTICE: Final = "Seal of the laboratory on a notice of withdrawal"
STAMPED: Final = ", with a time-stamp"
LEAST_KEY_BITS: Final = 3072
# Room for the signature container; a certificate with long names needs about 2500 bytes.
BYTES_RESERVED: Final = 4096
# What a sealed file carries, by its names in order: a certificate, or a notice of withdrawal.
_WHOLE: Final = (["evidence.json", "supplement.json"], ["notice.json", "proof.json"])


@dataclass(frozen=True, slots=True)
class SealKey:
    """What signs with the sealing key, and its certificate. Raises ValueError for a weak key or a foreign one.

    chain: the certificates of the authority above it; empty for one signed with its own key.
    """

    signer: SealSigner
    certificate: x509.Certificate
    chain: tuple[x509.Certificate, ...] = ()

    def __post_init__(self) -> None:
        certified = self.certificate.public_key()
        if not isinstance(certified, RSAPublicKey) or certified.key_size < LEAST_KEY_BITS:
            raise ValueError(f"a sealing key is RSA with at least {LEAST_KEY_BITS} bits")
        if certified.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo) != self.signer.public:
            raise ValueError("the certificate belongs to another key")


def fingerprint(certificate: x509.Certificate) -> str:
    """SHA-256 of the certificate, hexadecimal: what a customer pins."""
    return certificate.fingerprint(hashes.SHA256()).hex()


def seal(
    raw: bytes, key: SealKey, signed_at: datetime, reason: str, stamp: Callable[[bytes], bytes] | None = None
) -> bytes:
    """``raw`` with the seal appended; the result starts with ``raw``.

    stamp: SHA-256 of the seal's signature to the token of a time-stamp on it, DER (``time_stamp.token_of``); without
    it the seal carries none. What it raises comes through. The reason then ends with ``STAMPED``: a token lies outside
    what the seal signs, and without that word it could be left out unnoticed.
    signed_at: aware; outside the certificate's life a ValueError, because no reader would accept the seal.
    Raises RuntimeError if ``raw`` is no whole certificate or notice (both attachments, nothing else): that is our bug.
    """
    _demand_time(key, signed_at)
    writer = _UntouchedMeta(io.BytesIO(raw), strict=True)
    _demand_whole(writer)
    meta = PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm="sha256",
        subfilter=SigSeedSubFilter.PADES,
        reason=f"{reason}{STAMPED}" if stamp else reason,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
    )
    timestamper = _Stamper(stamp) if stamp else None
    signer = _AtStatedTime(meta, _SealSigner(key), timestamper=timestamper, new_field_spec=SigFieldSpec(FIELD))
    signer.signed_at = signed_at.astimezone(UTC)  # one way to write a moment, which the check demands
    signed = asyncio.run(
        signer.async_sign_pdf(writer, bytes_reserved=2 * (_room(key) + (LARGEST_TOKEN if stamp else 0)))
    )
    sealed: bytes = signed.getvalue()
    if not sealed.startswith(raw):
        raise RuntimeError("the seal changed the rendered bytes")
    return sealed


def _demand_time(key: SealKey, signed_at: datetime) -> None:
    if signed_at.tzinfo is None:
        raise ValueError("signed_at must be aware")
    certificate = key.certificate
    if not certificate.not_valid_before_utc <= signed_at <= certificate.not_valid_after_utc:
        raise ValueError("the sealing certificate is not valid at the time of sealing")


def _demand_whole(writer: IncrementalPdfFileWriter) -> None:
    names = writer.root.get("/AF", ())
    found = sorted(str(part.get_object()["/UF"]) for part in names)
    if found not in _WHOLE:
        raise RuntimeError(f"only a whole certificate or notice is sealed; attached: {found}")


def _room(key: SealKey) -> int:
    """Bytes of the signature container; each certificate stands in it whole, and once more by its digest and name."""
    return BYTES_RESERVED + sum(2 * len(one.public_bytes(Encoding.DER)) for one in key.chain)


class _UntouchedMeta(IncrementalPdfFileWriter):
    """Leaves Info and XMP as rendered, so that they stay equal, as PDF/A-3 wants (pyHanko would change one)."""

    def _update_meta(self) -> None:
        pass


class _AtStatedTime(PdfSigner):
    """Signs at the time it is told: the library would read the clock."""

    signed_at: datetime

    def init_signing_session(self, pdf_out: BasePdfFileWriter, existing_fields_only: bool = False) -> PdfSigningSession:
        session = super().init_signing_session(pdf_out, existing_fields_only=existing_fields_only)
        session.system_time = self.signed_at
        return session


class _SealSigner(Signer):
    """Signs with a key that is open already, here or in a token: the library would read it for every signature."""

    def __init__(self, key: SealKey) -> None:
        own, *above = (_parsed(one) for one in (key.certificate, *key.chain))
        others = SimpleCertificateStore()  # type: ignore[no-untyped-call]
        others.register_multiple(above)
        super().__init__(signing_cert=own, cert_registry=others, embed_roots=True)
        self.signed_attr_prov_spec = _NamesCertificates((own, *above))
        self._signer = key.signer

    async def async_sign_raw(self, data: bytes, digest_algorithm: str, dry_run: bool = False) -> bytes:  # noqa: ARG002  the library's signature
        """PKCS #1 v1.5 with SHA-256, the algorithm that the signature names."""
        if digest_algorithm != "sha256":
            raise RuntimeError(f"the seal uses SHA-256, not {digest_algorithm}")
        return self._signer.sign(data)


class _Stamper(TimeStamper):
    """Hands the library a token that was got elsewhere: this room meets no network."""

    def __init__(self, stamp: Callable[[bytes], bytes]) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        self._stamp = stamp

    async def async_timestamp(self, message_digest: bytes, md_algorithm: str) -> cms.ContentInfo:
        """The token on the signature whose digest this is."""
        if md_algorithm != "sha256":
            raise RuntimeError(f"a time-stamp is on a SHA-256 digest, not on one of {md_algorithm}")
        return cms.ContentInfo.load(self._stamp(message_digest))


class _NamesCertificates(SignedAttributeProviderSpec):
    """Signed attributes of a seal: the certificates it rests on, by digest, so that none can be changed or left out.

    Source: RFC 5035, 3 and 4: the first is that of the signer, the others those its validation uses.
    """

    def __init__(self, certificates: tuple[asn1_x509.Certificate, ...]) -> None:
        self.certificates = certificates

    def signed_attr_providers(self, data_digest: bytes, digest_algorithm: str) -> Iterable[CMSAttributeProvider]:  # noqa: ARG002  the library's signature
        """One attribute; type and digest of the message the library adds itself."""
        yield _CertificatesNamed(self.certificates)


class _CertificatesNamed(CMSAttributeProvider):
    attribute_type = "signing_certificate_v2"

    def __init__(self, certificates: tuple[asn1_x509.Certificate, ...]) -> None:
        self.certificates = certificates

    async def build_attr_value(self, dry_run: bool = False) -> tsp.SigningCertificateV2:  # noqa: ARG002
        named = [as_signing_certificate_v2(one)["certs"][0] for one in self.certificates]
        return tsp.SigningCertificateV2({"certs": named})


def _parsed(certificate: x509.Certificate) -> asn1_x509.Certificate:
    return asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER))
