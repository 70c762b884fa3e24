"""The organisation's own X.509 certificate for the seal (RFC 5280): self-issued, one key, no authority behind it.

A reader of PDF files shows "unknown signer" for it; whoever relies on a seal compares the fingerprint, handed out by
another way. A laboratory with a certificate from an authority uses that one instead.
"""

from __future__ import annotations

import hashlib
import unicodedata
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import NameOID

from benchseal.problems import Problem

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

    from benchseal.records.canonical import Digest

LONGEST_ORGANISATION = 64  # ub-organization-name and ub-common-name, RFC 5280 appendix A.1

_LARGEST_SERIAL = 2**159 - 1  # RFC 5280 section 4.1.2.2: positive, at most 20 octets


def organisation_problems(organisation: str) -> tuple[Problem, ...]:
    """Everything that speaks against this organisation name in a certificate."""
    found = []
    if not organisation.strip() or organisation != organisation.strip():
        found.append("it is empty or has a blank at an end.")
    if len(organisation) > LONGEST_ORGANISATION:
        found.append(f"it has {len(organisation)} characters; a certificate holds at most {LONGEST_ORGANISATION}.")
    if any(unicodedata.category(letter)[0] == "C" for letter in organisation):
        found.append("it holds control or invisible characters.")
    return tuple(
        Problem("identity.organisation-name", "organisation name", f"It cannot be used: {what}", "Change the name.")
        for what in found
    )


def seal_certificate(
    key: RSAPrivateKey, *, organisation: str, serial: int, not_before: datetime, not_after: datetime
) -> x509.Certificate:
    """Self-issued certificate of the seal key: subject and issuer are the organisation.

    serial: random, positive, at most 159 bits. not_before, not_after: aware; whole seconds are kept. Key usage is
    digitalSignature and contentCommitment, critical; it is no authority (CA false).
    """
    if organisation_problems(organisation) or not 0 < serial <= _LARGEST_SERIAL:
        raise AssertionError("check the organisation name and the serial first")
    if not_before.tzinfo is None or not_after.tzinfo is None or not_after - not_before < timedelta(seconds=1):
        raise AssertionError("a certificate is valid from one aware time to a later one")
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, organisation),
            x509.NameAttribute(NameOID.COMMON_NAME, organisation),
        ]
    )
    unsigned = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(serial)
        .not_valid_before(not_before.replace(microsecond=0))
        .not_valid_after(not_after.replace(microsecond=0))
    )
    for extension, critical in _extensions(key):
        unsigned = unsigned.add_extension(extension, critical=critical)
    return unsigned.sign(key, SHA256())


def fingerprint(certificate: x509.Certificate) -> Digest:
    """SHA-256 of the certificate's DER, in hex: what customers compare."""
    return hashlib.sha256(certificate.public_bytes(Encoding.DER)).hexdigest()


def _extensions(key: RSAPrivateKey) -> tuple[tuple[x509.ExtensionType, bool], ...]:
    key_identifier = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    return (
        (x509.BasicConstraints(ca=False, path_length=None), True),
        (usage, True),
        (key_identifier, False),
        (x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(key_identifier), False),
    )
