"""Answers of an authority on whether it revoked a certificate: lists (CRL, RFC 5280, 5), single ones (OCSP, RFC 6960).

They are given as files: no network here. An answer counts only with the signature of the authority that issued the
certificate, or, of OCSP, of a responder that authority certified for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from asn1crypto.keys import PublicKeyInfo
from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ec import ECDSA, EllipticCurvePublicKey
from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey
from cryptography.hazmat.primitives.hashes import SHA1, SHA256, Hash
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from cryptography.x509 import ocsp
from cryptography.x509.oid import ExtendedKeyUsageOID

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

LARGEST_ANSWER: Final = 8 * 1024 * 1024
_HASHES: Final = {"sha1": SHA1, "sha256": SHA256}


@dataclass(frozen=True, slots=True)
class Answer:
    """What an authority said of one certificate, as of ``said_at``; revoked_at: when it was revoked, None where not."""

    certificate: x509.Certificate
    said_at: datetime
    revoked_at: datetime | None

    @property
    def name(self) -> str:
        """Whom the certificate names."""
        return self.certificate.subject.rfc4514_string()


def read_answers(data: bytes, certificates: Sequence[x509.Certificate]) -> tuple[Answer, ...]:
    """What a file says of the certificates it is about. Raises ValueError where it is no answer on any of them."""
    if len(data) > LARGEST_ANSWER:
        raise ValueError(f"it has {len(data)} bytes; at most {LARGEST_ANSWER} are read")
    found = tuple(_of_list(data, certificates) if is_list(data) else _of_response(data, certificates))
    if not found:
        raise ValueError("it is about none of the certificates of this seal, or another authority signed it")
    return found


def is_list(data: bytes) -> bool:
    """Whether the bytes are a list of revoked certificates."""
    try:
        _crl(data)
    except ValueError:
        return False
    return True


def _crl(data: bytes) -> x509.CertificateRevocationList:
    return x509.load_pem_x509_crl(data) if data.startswith(b"-----") else x509.load_der_x509_crl(data)


def _of_list(data: bytes, certificates: Sequence[x509.Certificate]) -> Iterator[Answer]:
    crl = _crl(data)
    for issuer, one in _issued(certificates):
        if crl.issuer == issuer.subject and _signs_lists(issuer) and _list_signed(crl, issuer):
            row = crl.get_revoked_certificate_by_serial_number(one.serial_number)
            yield Answer(one, crl.last_update_utc, row.revocation_date_utc if row else None)


def _list_signed(crl: x509.CertificateRevocationList, issuer: x509.Certificate) -> bool:
    try:
        return crl.is_signature_valid(issuer.public_key())  # type: ignore[arg-type]
    except (TypeError, ValueError, UnsupportedAlgorithm):
        return False


def _of_response(data: bytes, certificates: Sequence[x509.Certificate]) -> Iterator[Answer]:
    try:
        response = ocsp.load_der_ocsp_response(data)
    except ValueError:
        raise ValueError("it is no list (CRL) and no answer (OCSP) that can be read") from None
    if response.response_status != ocsp.OCSPResponseStatus.SUCCESSFUL:
        raise ValueError(f"the authority answered {response.response_status.name.lower()}")
    for issuer, one in _issued(certificates):
        if response.serial_number != one.serial_number or not _same_issuer(response, issuer):
            continue
        if response.certificate_status == ocsp.OCSPCertStatus.UNKNOWN:
            raise ValueError(f"the authority does not know the certificate of {one.subject.rfc4514_string()}")
        if _answer_signed(response, issuer):
            yield Answer(one, response.this_update_utc, response.revocation_time_utc)


def _same_issuer(response: ocsp.OCSPResponse, issuer: x509.Certificate) -> bool:
    kind = _HASHES.get(response.hash_algorithm.name)
    if kind is None:
        return False
    made = Hash(kind())
    made.update(_key_bits(issuer))
    return made.finalize() == response.issuer_key_hash


def _key_bits(certificate: x509.Certificate) -> bytes:
    """The public key as RFC 6960, 4.1.1 hashes it: the bit string without tag, length and unused bits."""
    der = certificate.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    held: bytes = PublicKeyInfo.load(der)["public_key"].contents
    return held[1:]


def _answer_signed(response: ocsp.OCSPResponse, issuer: x509.Certificate) -> bool:
    """By the issuer, or by a responder it certified for that (RFC 6960, 4.2.2.2)."""
    responders = [one for one in response.certificates if _is_responder(one) and issued_by(issuer, one)]
    return any(_signature_holds(response, one) for one in (issuer, *responders))


def _signature_holds(response: ocsp.OCSPResponse, signer: x509.Certificate) -> bool:
    key, hashed = signer.public_key(), response.signature_hash_algorithm
    try:
        if hashed is None:
            return False
        if isinstance(key, RSAPublicKey):
            key.verify(response.signature, response.tbs_response_bytes, PKCS1v15(), hashed)
        elif isinstance(key, EllipticCurvePublicKey):
            key.verify(response.signature, response.tbs_response_bytes, ECDSA(hashed))
        else:
            return False
    except (InvalidSignature, UnsupportedAlgorithm):
        return False
    return True


def _is_responder(certificate: x509.Certificate) -> bool:
    try:
        usage = certificate.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    except x509.ExtensionNotFound:
        return False
    return ExtendedKeyUsageOID.OCSP_SIGNING in usage


def _signs_lists(certificate: x509.Certificate) -> bool:
    try:
        return certificate.extensions.get_extension_for_class(x509.KeyUsage).value.crl_sign
    except x509.ExtensionNotFound:
        return True


def _issued(certificates: Sequence[x509.Certificate]) -> Iterator[tuple[x509.Certificate, x509.Certificate]]:
    """Each certificate that another of them issued, after that other one."""
    for one in certificates:
        for issuer in certificates:
            if issuer != one and issued_by(issuer, one):
                yield issuer, one


def issued_by(issuer: x509.Certificate, certificate: x509.Certificate) -> bool:
    """Whether one certificate names the other as issuer and is signed with its key."""
    try:
        certificate.verify_directly_issued_by(issuer)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm):
        return False
    return True
