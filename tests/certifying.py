"""An invented authority for tests: certificates of every good and bad kind, PKCS#12 files. Never used outside tests.

Keys are made once in a process: an RSA key takes a moment. Names are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding
from cryptography.hazmat.primitives.serialization.pkcs12 import serialize_key_and_certificates
from cryptography.x509 import ocsp
from cryptography.x509.oid import NameOID

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
LATER = NOW + timedelta(days=3650)
PASSPHRASE = "a lantern on the weir"


@cache
def rsa_key(name: str, bits: int = 3072) -> RSAPrivateKey:  # noqa: ARG001  the name tells one from another
    """The key of this name, the same one for the whole process."""
    return rsa.generate_private_key(65537, bits)


@dataclass(frozen=True)
class Wish:
    """What a certificate is to be like. extended: dotted names of extended key usages; none leaves it out.

    unknown: carries a critical extension that nobody knows.
    """

    name: str
    issuer: str = ""
    authority: bool = False
    first: datetime = NOW - timedelta(days=30)
    last: datetime = LATER
    commitment: bool = True
    usage: bool = True
    extended: tuple[str, ...] = ()
    extended_critical: bool = False
    unknown: bool = False
    path_length: int | None = None
    serial: int = field(default=1)


def certified(
    wish: Wish, key: RSAPrivateKey | EllipticCurvePrivateKey, by: RSAPrivateKey | EllipticCurvePrivateKey
) -> x509.Certificate:
    """A certificate as wished for, of ``key``, signed ``by`` another."""
    usage = x509.KeyUsage(
        digital_signature=not wish.authority,
        content_commitment=wish.commitment and not wish.authority,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=wish.authority,
        crl_sign=wish.authority,
        encipher_only=False,
        decipher_only=False,
    )
    made = (
        x509.CertificateBuilder()
        .subject_name(_name(wish.name))
        .issuer_name(_name(wish.issuer or wish.name))
        .public_key(key.public_key())
        .serial_number(wish.serial)
        .not_valid_before(wish.first)
        .not_valid_after(wish.last)
        .add_extension(x509.BasicConstraints(ca=wish.authority, path_length=wish.path_length), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(by.public_key()), critical=False)
    )
    if wish.usage:
        made = made.add_extension(usage, critical=True)
    if wish.extended:
        extended = x509.ExtendedKeyUsage([x509.ObjectIdentifier(one) for one in wish.extended])
        made = made.add_extension(extended, critical=wish.extended_critical)
    if wish.unknown:
        unknown = x509.UnrecognizedExtension(x509.ObjectIdentifier("2.999.1"), bytes.fromhex("0500"))
        made = made.add_extension(unknown, critical=True)
    return made.sign(by, SHA256())


def _name(text: str) -> x509.Name:
    return x509.Name(
        [x509.NameAttribute(NameOID.ORGANIZATION_NAME, text), x509.NameAttribute(NameOID.COMMON_NAME, text)]
    )


ROOT = Wish("Weir Lane Trust Root", authority=True)
MIDDLE = Wish("Weir Lane Trust Seals", issuer=ROOT.name, authority=True, serial=2)
LEAF = Wish("Heron Ford Laboratory", issuer=MIDDLE.name, serial=3)


def chain(root: Wish = ROOT, middle: Wish = MIDDLE) -> tuple[x509.Certificate, x509.Certificate]:
    """The certificates above a seal: the one that issued it, and the self-signed one."""
    return certified(middle, rsa_key("middle"), rsa_key("root")), certified(root, rsa_key("root"), rsa_key("root"))


def leaf(wish: Wish = LEAF, key: RSAPrivateKey | EllipticCurvePrivateKey | None = None) -> x509.Certificate:
    """A seal's certificate of the invented authority."""
    return certified(wish, key or rsa_key("leaf"), rsa_key("middle"))


def pkcs12(
    key: RSAPrivateKey | EllipticCurvePrivateKey | None = None,
    certificate: x509.Certificate | None = None,
    above: tuple[x509.Certificate, ...] | None = None,
    passphrase: str = PASSPHRASE,
) -> bytes:
    """A file as an authority hands it out."""
    held = key or rsa_key("leaf")
    others = chain() if above is None else above
    encryption = BestAvailableEncryption(passphrase.encode())
    return serialize_key_and_certificates(b"seal", held, certificate or leaf(key=held), others, encryption)


def curve_key() -> EllipticCurvePrivateKey:
    return ec.generate_private_key(ec.SECP256R1())


def with_leaf(**changed: object) -> bytes:
    """A PKCS#12 file whose seal certificate differs in what is named."""
    return pkcs12(certificate=leaf(replace(LEAF, **changed)))  # type: ignore[arg-type]


def lasting(now: datetime) -> bytes:
    """A PKCS#12 file whose certificates are valid from a day before ``now`` for ten years."""
    first, last = now - timedelta(days=1), now + timedelta(days=3650)
    root, middle, own = (replace(wish, first=first, last=last) for wish in (ROOT, MIDDLE, LEAF))
    return pkcs12(certificate=leaf(own), above=chain(root, middle))


def lasting_certificates(now: datetime) -> bytes:
    """The same certificates in PEM: that of the key "leaf", then those above it."""
    first, last = now - timedelta(days=1), now + timedelta(days=3650)
    root, middle, own = (replace(wish, first=first, last=last) for wish in (ROOT, MIDDLE, LEAF))
    return b"".join(one.public_bytes(Encoding.PEM) for one in (leaf(own), *chain(root, middle)))


def revocation_list(issuer: x509.Certificate, key: str, at: datetime, revoked: dict[int, datetime]) -> bytes:
    """A CRL of the invented authority, DER. revoked: serial number to when."""
    made = x509.CertificateRevocationListBuilder().issuer_name(issuer.subject).last_update(at)
    made = made.next_update(at + timedelta(days=9))
    for serial, when in revoked.items():
        row = x509.RevokedCertificateBuilder().serial_number(serial).revocation_date(when).build()
        made = made.add_revoked_certificate(row)
    return made.sign(rsa_key(key), SHA256()).public_bytes(Encoding.DER)


def response(  # noqa: PLR0917  what an answer consists of
    certificate: x509.Certificate,
    issuer: x509.Certificate,
    responder: x509.Certificate,
    key: str,
    at: datetime,
    revoked: datetime | None = None,
) -> bytes:
    """An OCSP answer on one certificate, DER, signed by ``responder``, which stands in it."""
    good = ocsp.OCSPCertStatus.GOOD if revoked is None else ocsp.OCSPCertStatus.REVOKED
    made = ocsp.OCSPResponseBuilder().add_response(
        certificate, issuer, SHA256(), good, at, at + timedelta(days=9), revoked, None
    )
    made = made.responder_id(ocsp.OCSPResponderEncoding.HASH, responder).certificates([responder])
    return made.sign(rsa_key(key), SHA256()).public_bytes(Encoding.DER)
