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
from typing import TYPE_CHECKING, Final

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

LARGEST_FILE: Final = 64 * 1024 * 1024
_BYTE_RANGE: Final = re.compile(rb"/ByteRange\s*\[\s*(\d{1,10})\s+(\d{1,10})\s+(\d{1,10})\s+(\d{1,10})\s*\]")
_GAP: Final = re.compile(rb"<(?:[0-9A-F]{2})+>")
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
    if not _GAP.fullmatch(data, before, after):
        return None
    gap = bytes.fromhex(data[before + 1 : after - 1].decode("ascii"))
    try:
        length = len(core.Any.load(gap).dump())
    except ValueError:
        return None
    return gap[:length] if length and not any(gap[length:]) else None


def read_signer(frame: Frame) -> Signer | tuple[Finding, ...]:
    """The signer, if container, digest and signature agree; otherwise every reason why not."""
    try:
        signed = cms.ContentInfo.load(frame.container, strict=True)["content"]
        signer = signed["signer_infos"][0]
        first, *above = _in_the_order_named(signer, list(signed["certificates"]))
        certificate = x509.load_der_x509_certificate(first.chosen.dump())
        canonical = _rebuilt((first, *above), signer)
        findings = tuple(_signature_findings(frame, certificate, signer, canonical))
        if [_digest(one) for one in (first, *above)] != _named(signer):
            what = "The signature names other certificates than those it carries."
            findings = (*findings, refused("container", what))
    except Exception as error:  # noqa: BLE001  hostile bytes may raise anything in two parsers
        return (refused("container", f"The signature cannot be read ({type(error).__name__})."),)
    if findings:
        return findings
    stamp = _stamp(signer)
    if isinstance(stamp, str):
        return (refused("time-stamp", f"The time-stamp on the seal does not hold: {stamp}."),)
    others = tuple(x509.load_der_x509_certificate(one.chosen.dump()) for one in above)
    return Signer(certificate, fingerprint(certificate), stamp, _token(signer) or b"", others)


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


def _in_the_order_named(signer: cms.SignerInfo, held: list[cms.CertificateChoices]) -> list[cms.CertificateChoices]:
    """The certificates of the container, those that the signed attribute names first and as it names them."""
    places = {name: place for place, name in enumerate(_named(signer))}
    return sorted(held, key=lambda one: places.get(_digest(one), len(places)))


def _named(signer: cms.SignerInfo) -> list[bytes]:
    """SHA-256 of each certificate the signature rests on, its own first (RFC 5035, 3)."""
    return [one["cert_hash"].native for one in _attributes(signer)["1.2.840.113549.1.9.16.2.47"][0]["certs"]]


def _digest(certificate: cms.CertificateChoices) -> bytes:
    return hashlib.sha256(certificate.chosen.dump()).digest()


def _attributes(signer: cms.SignerInfo) -> dict[str, cms.CMSAttribute]:
    return {one["type"].dotted: one["values"] for one in signer["signed_attrs"]}


def _rebuilt(certificates: tuple[cms.CertificateChoices, ...], signer: cms.SignerInfo) -> bytes:
    """The only container that these certificates, signed attributes and this signature can have."""
    sha256 = {"algorithm": "sha256"}
    own = certificates[0].chosen
    identity = cms.IssuerAndSerialNumber({"issuer": own.issuer, "serial_number": own.serial_number})
    info = {
        "version": "v1",
        "sid": cms.SignerIdentifier({"issuer_and_serial_number": identity}),
        "digest_algorithm": sha256,
        "signed_attrs": cms.CMSAttributes.load(signer["signed_attrs"].untag().dump(force=True)),
        "signature_algorithm": {"algorithm": "sha256_rsa"},
        "signature": signer["signature"].native,
    }
    token = _token(signer)
    if token is not None:
        attribute = {"type": "signature_time_stamp_token", "values": [cms.ContentInfo.load(token)]}
        info["unsigned_attrs"] = cms.CMSAttributes([cms.CMSAttribute(attribute)])
    content = {
        "version": "v1",
        "digest_algorithms": [sha256],
        "encap_content_info": {"content_type": "data"},
        "certificates": certificates,
        "signer_infos": [info],
    }
    container: bytes = cms.ContentInfo({"content_type": "signed_data", "content": cms.SignedData(content)}).dump()
    return container


def _signature_findings(
    frame: Frame, certificate: x509.Certificate, signer: cms.SignerInfo, canonical: bytes
) -> Iterator[Finding]:
    if canonical != frame.container:
        yield refused("container", "The signature is not in the one form that a seal of this kind has.")
    attributes = _attributes(signer)
    if attributes["1.2.840.113549.1.9.4"][0].native != frame.covered:
        yield refused("altered", "The file is not the one that was sealed: its digest differs.")
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
