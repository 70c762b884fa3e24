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
from benchseal.certificate.time_stamp import Stamp, read_stamp
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
    """Who sealed, as far as the bytes say: the certificate in the seal and its fingerprint.

    stamp: what the time-stamp on it says, as far as the token shows by itself; None where there is none. token: that
    token, DER. above: the certificates of the authority that the signature names.
    """

    certificate: x509.Certificate
    fingerprint: str
    stamp: Stamp | None = None
    token: bytes = b""
    above: tuple[x509.Certificate, ...] = ()


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
    if findings:
        return findings
    return Signer(read.certificate, fingerprint(read.certificate), read.stamp, read.token, read.above)


@dataclass(frozen=True, slots=True)
class _Container:
    """A container read: its certificate, the digest it states of the file, and what is wrong with it by itself."""

    certificate: x509.Certificate
    covered: bytes
    findings: tuple[Finding, ...]
    stamp: Stamp | None
    token: bytes
    above: tuple[x509.Certificate, ...]


@lru_cache(maxsize=4)  # a campaign of changed bytes asks for the same one again and again
def _read_container(container: bytes) -> _Container | Finding:
    try:
        signed = cms.ContentInfo.load(container, strict=True)["content"]
        signer = signed["signer_infos"][0]
        attributes = {one["type"].dotted: one["values"] for one in signer["signed_attrs"]}
        named = [one["cert_hash"].native for one in attributes[_SIGNING_CERTIFICATES][0]["certs"]]
        held = _in_the_order_named(named, [one.chosen for one in signed["certificates"]])
        certificate = x509.load_der_x509_certificate(held[0].dump())
        covered = attributes["1.2.840.113549.1.9.4"][0].native
        canonical = _rebuilt(held, signer)
        findings = tuple(_container_findings(container, certificate, signer, attributes, canonical))
        if [_digest(one) for one in held] != named:
            what = "The signature names other certificates than those it carries."
            findings = (*findings, refused("container", what))
        stamp = _stamp(signer) if not findings else None
        if isinstance(stamp, str):
            findings, stamp = (refused("time-stamp", f"The time-stamp on the seal does not hold: {stamp}."),), None
        above = tuple(x509.load_der_x509_certificate(one.dump()) for one in held[1:])
        return _Container(certificate, covered, findings, stamp, _token(signer) or b"", above)
    except Exception:  # noqa: BLE001  hostile bytes may raise anything in two parsers
        return refused("container", "The signature cannot be read: it is not built as a signature is.")


def _token(signer: cms.SignerInfo) -> bytes | None:
    """The token of the time-stamp on a signature, as it lies there. ValueError for any other attribute beside it."""
    beside = signer["unsigned_attrs"]
    if not len(beside):
        return None
    (attribute,) = beside
    if attribute["type"].native != "signature_time_stamp_token":
        raise ValueError("an attribute beside the signature is no time-stamp")
    (token,) = attribute["values"]
    held: bytes = token.dump()
    return held


def _stamp(signer: cms.SignerInfo) -> Stamp | str | None:
    """What the time-stamp says, or what is wrong with it; None where there is none."""
    token = _token(signer)
    if token is None:
        return None
    try:
        return read_stamp(token, hashlib.sha256(signer["signature"].native).digest())
    except Exception as error:  # noqa: BLE001  hostile bytes may raise anything in two parsers
        return str(error) if isinstance(error, ValueError) else type(error).__name__


# DER: tags of universal types, and the two algorithms a seal uses (RFC 4055, sections 2.1 and 5).
_OCTETS, _SEQUENCE, _SET, _NULL = 0x04, 0x30, 0x31, b"\x05\x00"
_FIRST = b"\x02\x01\x01"
_DATA = bytes.fromhex("06092a864886f70d010701")
_SIGNED_DATA = bytes.fromhex("06092a864886f70d010702")
_TIME_STAMP = bytes.fromhex("060b2a864886f70d010910020e")  # RFC 3161, appendix A
# RFC 5035, 3: SHA-256 of each certificate the signature rests on, its own first.
_SIGNING_CERTIFICATES = "1.2.840.113549.1.9.16.2.47"


def _der(tag: int, *parts: bytes) -> bytes:
    """One element in DER (X.690, 8.1.3 and 10.1)."""
    body = b"".join(parts)
    if len(body) < 128:
        return bytes((tag, len(body))) + body
    length = len(body).to_bytes((len(body).bit_length() + 7) // 8, "big")
    return bytes((tag, 0x80 | len(length))) + length + body


_SHA256 = _der(_SEQUENCE, bytes.fromhex("0609608648016503040201"), _NULL)
_SHA256_RSA = _der(_SEQUENCE, bytes.fromhex("06092a864886f70d01010b"), _NULL)


def _in_the_order_named(named: list[bytes], held: list[asn1_x509.Certificate]) -> list[asn1_x509.Certificate]:
    """The certificates of the container, those that the signed attribute names first and as it names them."""
    places = {name: place for place, name in enumerate(named)}
    return sorted(held, key=lambda one: places.get(_digest(one), len(places)))


def _digest(certificate: asn1_x509.Certificate) -> bytes:
    return hashlib.sha256(certificate.dump()).digest()


def _rebuilt(certificates: list[asn1_x509.Certificate], signer: cms.SignerInfo) -> bytes:
    """The only container that these certificates, signed attributes and this signature can have."""
    own = certificates[0]
    identity = _der(_SEQUENCE, own.issuer.dump(), own["tbs_certificate"]["serial_number"].dump())
    attributes = _der(0xA0, signer["signed_attrs"].contents)  # what they hold is what the signature covers
    signature = _der(_OCTETS, signer["signature"].native)
    token = _token(signer)
    beside = (_der(0xA1, _der(_SEQUENCE, _TIME_STAMP, _der(_SET, token))),) if token is not None else ()
    info = _der(_SEQUENCE, _FIRST, identity, _SHA256, attributes, _SHA256_RSA, signature, *beside)
    carried = _der(0xA0, *sorted(one.dump() for one in certificates))  # X.690, 11.6: a set stands in this order
    content = (_der(_SET, _SHA256), _der(_SEQUENCE, _DATA), carried, _der(_SET, info))
    return _der(_SEQUENCE, _SIGNED_DATA, _der(0xA0, _der(_SEQUENCE, _FIRST, *content)))


def _container_findings(
    container: bytes, certificate: x509.Certificate, signer: cms.SignerInfo, attributes: _Attributes, canonical: bytes
) -> Iterator[Finding]:
    if canonical != container:
        yield refused("container", "The signature is not in the one form that a seal of this kind has.")
    if attributes["1.2.840.113549.1.9.3"][0].native != "data":
        yield refused("container", "The signature says that it covers something else than a document.")
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
