"""The seal as bytes: where it lies in the file, and that its bytes could be no others.

A PDF signature leaves a gap for itself, and what lies in the gap is not covered by its own digest. So the gap is
held to one form: upper-case hexadecimal of one CMS container, DER, then zeros. The container is rebuilt from the
parts that the signature does protect (signed attributes, signature, pinned certificate) and must come out equal.
Then no byte of a sealed file can change unnoticed, and nothing is unpacked before the seal is known to hold.

Sources: ISO 32000-1, 12.8.1 (byte range); RFC 5652, 5 (signed data); RFC 5035 (signing certificate).
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from asn1crypto import cms, core
from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey

from benchseal.certificate.seal import LEAST_KEY_BITS, fingerprint
from benchseal.problems import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from asn1crypto import x509 as asn1_x509

LARGEST_FILE: Final = 64 * 1024 * 1024
LARGEST_GAP: Final = 64 * 1024  # eight times what a seal takes: nothing larger is parsed
_BYTE_RANGE: Final = re.compile(rb"/ByteRange\s*\[\s*(\d{1,10})\s+(\d{1,10})\s+(\d{1,10})\s+(\d{1,10})\s*\]")
_GAP: Final = re.compile(rb"<(?:[0-9A-F]{2})+>")
_Attributes: TypeAlias = "dict[str, Any]"  # number of a kind to its values
_ASK = "Ask the laboratory for the file it issued; do not use this one."


@dataclass(frozen=True, slots=True)
class Frame:
    """A file cut at its seal: ``container`` is the DER of the CMS, ``covered`` the SHA-256 of everything else."""

    container: bytes
    covered: bytes


@dataclass(frozen=True, slots=True)
class Signer:
    """Who sealed, as far as the bytes say: the certificate in the seal and its fingerprint."""

    certificate: x509.Certificate
    fingerprint: str


def refused(code: str, what: str, remedy: str = _ASK) -> Finding:
    """A finding about the sealed file as a whole."""
    return Finding(code=f"seal.{code}", where="the file", what=what, remedy=remedy)


def cut_at_seal(data: bytes) -> Frame | Finding:
    """Find the one byte range, demand that it leaves out the signature and nothing else, and unpack the gap."""
    if len(data) > LARGEST_FILE:
        return refused("too-large", f"The file has {len(data)} bytes, more than {LARGEST_FILE}.")
    if not data.startswith(b"%PDF-"):
        return refused("not-a-pdf", "The file does not begin as a PDF does.")
    ranges = _BYTE_RANGE.findall(data)
    if len(ranges) != 1:
        code = "several" if ranges else "missing"
        return refused(code, f"The file carries {len(ranges)} seals; a certificate carries exactly one.")
    start, before, after, rest = (int(number) for number in ranges[0])
    if start != 0 or not before < after or after + rest != len(data):
        return refused("not-whole-file", f"The seal does not cover the whole file of {len(data)} bytes.")
    container = _container(data, before, after)
    if container is None:
        return refused("gap", "The place of the signature does not hold one signature, then zeros, and nothing else.")
    covered = hashlib.sha256(data[:before])
    covered.update(data[after:])
    return Frame(container, covered.digest())


def _container(data: bytes, before: int, after: int) -> bytes | None:
    """The DER element in the gap, if the gap is in the one form and only zeros follow the element."""
    if after - before > LARGEST_GAP or not _GAP.fullmatch(data, before, after):
        return None
    gap = bytes.fromhex(data[before + 1 : after - 1].decode("ascii"))
    try:
        length = len(core.Any.load(gap).dump())
    except ValueError:
        return None
    return gap[:length] if length and not any(gap[length:]) else None


def read_signer(frame: Frame) -> Signer | tuple[Finding, ...]:
    """The signer, if container, digest and signature agree; otherwise every reason why not."""
    read = _read_container(frame.container)
    if not isinstance(read, _Container):
        return (read,)
    altered = refused("altered", "The file is not the one that was sealed: its digest differs.")
    findings = (*([altered] if read.covered != frame.covered else []), *read.findings)
    return findings or Signer(read.certificate, fingerprint(read.certificate))


@dataclass(frozen=True, slots=True)
class _Container:
    """A container read: its certificate, the digest it states of the file, and what is wrong with it by itself."""

    certificate: x509.Certificate
    covered: bytes
    findings: tuple[Finding, ...]


@lru_cache(maxsize=4)  # a campaign of changed bytes asks for the same one again and again
def _read_container(container: bytes) -> _Container | Finding:
    try:
        signed = cms.ContentInfo.load(container, strict=True)["content"]
        own = signed["certificates"][0].chosen
        certificate = x509.load_der_x509_certificate(own.dump())
        signer = signed["signer_infos"][0]
        attributes = {one["type"].dotted: one["values"] for one in signer["signed_attrs"]}
        covered = attributes["1.2.840.113549.1.9.4"][0].native
        canonical = _rebuilt(own, signer)
        return _Container(
            certificate, covered, tuple(_container_findings(container, certificate, signer, attributes, canonical))
        )
    except Exception as error:  # noqa: BLE001  hostile bytes may raise anything in two parsers
        return refused("container", f"The signature cannot be read ({type(error).__name__}).")


# DER: tags of universal types, and the two algorithms a seal uses (RFC 4055, sections 2.1 and 5).
_OCTETS, _SEQUENCE, _SET, _NULL = 0x04, 0x30, 0x31, b"\x05\x00"
_FIRST = b"\x02\x01\x01"
_DATA = bytes.fromhex("06092a864886f70d010701")
_SIGNED_DATA = bytes.fromhex("06092a864886f70d010702")


def _der(tag: int, *parts: bytes) -> bytes:
    """One element in DER (X.690, 8.1.3 and 10.1)."""
    body = b"".join(parts)
    if len(body) < 128:
        return bytes((tag, len(body))) + body
    length = len(body).to_bytes((len(body).bit_length() + 7) // 8, "big")
    return bytes((tag, 0x80 | len(length))) + length + body


_SHA256 = _der(_SEQUENCE, bytes.fromhex("0609608648016503040201"), _NULL)
_SHA256_RSA = _der(_SEQUENCE, bytes.fromhex("06092a864886f70d01010b"), _NULL)


def _rebuilt(own: asn1_x509.Certificate, signer: cms.SignerInfo) -> bytes:
    """The only container that this certificate, these signed attributes and this signature can have."""
    identity = _der(_SEQUENCE, own.issuer.dump(), own["tbs_certificate"]["serial_number"].dump())
    attributes = _der(0xA0, signer["signed_attrs"].contents)  # what they hold is what the signature covers
    signature = _der(_OCTETS, signer["signature"].native)
    info = _der(_SEQUENCE, _FIRST, identity, _SHA256, attributes, _SHA256_RSA, signature)
    content = (_der(_SET, _SHA256), _der(_SEQUENCE, _DATA), _der(0xA0, own.dump()), _der(_SET, info))
    return _der(_SEQUENCE, _SIGNED_DATA, _der(0xA0, _der(_SEQUENCE, _FIRST, *content)))


def _container_findings(
    container: bytes, certificate: x509.Certificate, signer: cms.SignerInfo, attributes: _Attributes, canonical: bytes
) -> Iterator[Finding]:
    if canonical != container:
        yield refused("container", "The signature is not in the one form that a seal of this kind has.")
    if attributes["1.2.840.113549.1.9.3"][0].native != "data":
        yield refused("container", "The signature says that it covers something else than a document.")
    bound = attributes["1.2.840.113549.1.9.16.2.47"][0]["certs"][0]["cert_hash"].native
    if bound.hex() != fingerprint(certificate):
        yield refused("container", "The signature names another certificate than the one it carries.")
    if not _holds(certificate, signer):
        yield refused("altered", "The signature does not hold under the key of the certificate it carries.")


def _holds(certificate: x509.Certificate, signer: cms.SignerInfo) -> bool:
    key = certificate.public_key()
    if not isinstance(key, RSAPublicKey) or key.key_size < LEAST_KEY_BITS:
        return False
    try:
        key.verify(signer["signature"].native, signer["signed_attrs"].untag().dump(), PKCS1v15(), hashes.SHA256())
    except InvalidSignature:
        return False
    return True
