"""A seal key from a PKCS#12 file (RFC 7292): the key, its certificate and those of the authority, or what is wrong.

What a seal's certificate must be. RSA of 3072 bits or more: a named elliptic curve would raise the sealed file to PDF
2.0 and break its claim to PDF/A-3. Key usage with contentCommitment, for signing and not for issuing (RFC 5280,
4.2.1.3 and 4.2.1.9). Where an extended key usage is given, one that is meant for documents: documentSigning (RFC
9336), emailProtection, or any. Every certificate up to the self-signed one of the authority in the same file, each
signed by the next.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeVar

from asn1crypto import pkcs12 as asn1_pkcs12
from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey, RSAPublicKey
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.hazmat.primitives.serialization.pkcs12 import load_pkcs12
from cryptography.x509.oid import ExtendedKeyUsageOID

from benchseal.identity.keys import SEAL_BITS
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

LARGEST_FILE: Final = 1024 * 1024
LONGEST_CHAIN: Final = 5  # a seal's certificate and those of its authority must find room in the file
_DOCUMENT_SIGNING: Final = x509.ObjectIdentifier("1.3.6.1.5.5.7.3.36")
_FOR_DOCUMENTS: Final = frozenset(
    {_DOCUMENT_SIGNING, ExtendedKeyUsageOID.EMAIL_PROTECTION, ExtendedKeyUsageOID.ANY_EXTENDED_KEY_USAGE}
)
_WEAK_HASHES: Final = frozenset({"md5", "sha1", "sha224"})
_Wanted = TypeVar("_Wanted", x509.BasicConstraints, x509.KeyUsage, x509.ExtendedKeyUsage)
_ASK: Final = "Ask the authority for a certificate that is meant for seals on documents."


@dataclass(frozen=True, slots=True)
class SealFile:
    """A seal key with its certificate and those above it, from the one that issued it to the self-signed one.

    chain: empty where the certificate is signed with its own key.
    """

    private: RSAPrivateKey
    certificate: x509.Certificate
    chain: tuple[x509.Certificate, ...]


def read_seal_file(data: bytes, passphrase: str, name: str) -> SealFile | tuple[Problem, ...]:
    """The seal key in a PKCS#12 file, or everything that speaks against it. name: the file's, for problems.

    Whether the certificates are valid now is asked by ``life_problems``: this function knows no time.
    """
    if len(data) > LARGEST_FILE or not _is_pkcs12(data):
        what = f"it is no PKCS#12 file of at most {LARGEST_FILE} bytes."
        return (_bad("unreadable", name, what, "Give the file the authority made: it often ends in .p12 or .pfx."),)
    try:
        found = load_pkcs12(data, passphrase.encode("utf-8"))
    except UnsupportedAlgorithm as fault:
        return (
            _bad("unreadable", name, f"it is closed in a way not known here ({fault}).", "Make it again with AES."),
        )
    except ValueError:
        what = "its password is wrong, or the file is damaged; the two cannot be told apart."
        return (_bad("password", name, what, "Type the password of the file again."),)
    problems = []
    if found.key is None:
        problems.append(_bad("no-key", name, "it holds no private key.", "Export key and certificate together."))
    if found.cert is None:
        what = "it holds no certificate of its key."
        problems.append(_bad("no-certificate", name, what, "Export key and certificate together."))
    if found.key is None or found.cert is None:
        return tuple(problems)
    key, certificate = found.key, found.cert.certificate
    if not isinstance(key, RSAPrivateKey):
        what = f"its key is no RSA key, and a seal needs one of {SEAL_BITS} bits or more."
        return (_bad("weak", name, what, "Let an RSA key of 3072 or 4096 bits be certified."),)
    chain = chain_of(certificate, [one.certificate for one in found.additional_certs])
    if certificate.public_key() != key.public_key():
        what = "its certificate is of another key."
        problems.append(_bad("no-certificate", name, what, "Export key and certificate together."))
    problems += certificate_problems(name, certificate, chain)
    return tuple(problems) or SealFile(key, certificate, chain or ())


def chain_of(certificate: x509.Certificate, others: Sequence[x509.Certificate]) -> tuple[x509.Certificate, ...] | None:
    """The certificates above one, each having issued the one before, up to a self-signed one; None where it breaks."""
    chain: list[x509.Certificate] = []
    last = certificate
    while not issued(last, last):
        above = next((one for one in others if one not in chain and _is_authority(one) and issued(one, last)), None)
        if above is None or len(chain) == LONGEST_CHAIN:
            return None
        chain.append(above)
        last = above
    return tuple(chain)


def issued(issuer: x509.Certificate, certificate: x509.Certificate) -> bool:
    """Whether one certificate names the other as issuer and is signed with its key."""
    try:
        certificate.verify_directly_issued_by(issuer)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm):
        return False
    return True


def life_problems(name: str, certificates: Sequence[x509.Certificate], at: datetime) -> tuple[Problem, ...]:
    """Which of the certificates are not valid ``at`` (aware)."""
    return tuple(
        _bad(
            "expired",
            name,
            f"the certificate of {subject_of(one)} is valid from {one.not_valid_before_utc:%Y-%m-%d %H:%M}Z to "
            f"{one.not_valid_after_utc:%Y-%m-%d %H:%M}Z, now it is {at:%Y-%m-%d %H:%M}Z.",
            "Ask the authority for one that is valid; if the dates are right, look at this machine's clock.",
        )
        for one in certificates
        if not one.not_valid_before_utc <= at <= one.not_valid_after_utc
    )


def der_of(certificate: x509.Certificate) -> bytes:
    """The certificate's bytes."""
    return certificate.public_bytes(Encoding.DER)


def subject_of(certificate: x509.Certificate) -> str:
    """Whom a certificate names."""
    return certificate.subject.rfc4514_string() or "nobody"


def read_certificates(data: bytes) -> tuple[x509.Certificate, ...]:
    """Certificates in PEM, or one in DER; none where it is neither."""
    if len(data) > LARGEST_FILE:
        return ()
    try:
        if b"-----BEGIN " in data:
            return tuple(x509.load_pem_x509_certificates(data))
        return (x509.load_der_x509_certificate(data),)
    except ValueError:
        return ()


def certificate_problems(
    name: str, certificate: x509.Certificate, chain: tuple[x509.Certificate, ...] | None
) -> tuple[Problem, ...]:
    """Everything that speaks against a seal under this certificate. chain: as ``chain_of`` gives it."""
    return tuple(_faults(name, certificate, chain))


def _faults(name: str, certificate: x509.Certificate, chain: tuple[x509.Certificate, ...] | None) -> Iterator[Problem]:
    key = certificate.public_key()
    if not isinstance(key, RSAPublicKey) or key.key_size < SEAL_BITS:
        found = f"an RSA key of {key.key_size} bits" if isinstance(key, RSAPublicKey) else "no RSA key"
        what = f"its certificate is of {found}, and a seal needs RSA of {SEAL_BITS} bits or more."
        yield _bad("weak", name, what, "Let a key of 3072 or 4096 bits be certified.")
    for one in (certificate, *(chain or ())[:-1]):
        hashed = one.signature_hash_algorithm
        if hashed is None or hashed.name in _WEAK_HASHES:
            what = f"the certificate of {subject_of(one)} is signed with {hashed.name if hashed else 'no hash known'}."
            yield _bad("weak", name, what, "Ask the authority for one signed with SHA-256 or better.")
    if wrong := _usage(certificate):
        yield _bad("usage", name, wrong, _ASK)
    if chain is None:
        issuer = certificate.issuer.rfc4514_string()
        what = f"the certificates from {issuer} up to a self-signed one are not all in it, or do not fit together."
        yield _bad("chain", name, what, "Export or give all certificates of the authority together.")


def _usage(certificate: x509.Certificate) -> str:
    """What a certificate is not meant for; empty where a seal is what it is meant for."""
    if _is_authority(certificate):
        return "its certificate is that of an authority, which issues certificates and seals nothing."
    usage = _extension(certificate, x509.KeyUsage)
    if usage is None or not usage.content_commitment:
        return "the key usage of its certificate does not name contentCommitment (once nonRepudiation)."
    if usage.key_cert_sign or usage.crl_sign:
        return "the key usage of its certificate is that of an authority."
    extended = _extension(certificate, x509.ExtendedKeyUsage)
    if extended is not None and not _FOR_DOCUMENTS & set(extended):
        return "the extended key usage of its certificate is not for documents."
    return ""


def _is_authority(certificate: x509.Certificate) -> bool:
    constraints = _extension(certificate, x509.BasicConstraints)
    return constraints is not None and constraints.ca


def _extension(certificate: x509.Certificate, kind: type[_Wanted]) -> _Wanted | None:
    try:
        return certificate.extensions.get_extension_for_class(kind).value
    except x509.ExtensionNotFound:
        return None


def _is_pkcs12(data: bytes) -> bool:
    try:
        version: object = asn1_pkcs12.Pfx.load(data, strict=True)["version"].native
    except (ValueError, TypeError):
        return False
    return version == "v3"


def _bad(code: str, name: str, what: str, remedy: str) -> Problem:
    return Problem(f"keys.file-{code}", name, what, remedy)
