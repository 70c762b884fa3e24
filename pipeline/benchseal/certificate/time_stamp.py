"""Time-stamps of a third party on a seal (RFC 3161; PAdES B-T, ETSI EN 319 142-1): asked for, read, and judged.

The authority is told the SHA-256 of the seal's signature and nothing else. Its token is brought into one form before it
is put into a file: what its own signature protects, the certificate that signed it, and those above it; nothing
beside. So no byte of a token in a sealed file can change unnoticed (an ECDSA signature has a second form, r and n - s,
which says the same).

Everything a token says by itself is judged by ``read_stamp``; whether the authority is one that is trusted, by
``trusted_by``. No network and no clock here.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from asn1crypto import cms, core, tsp
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric.ec import ECDSA, EllipticCurvePublicKey
from cryptography.hazmat.primitives.asymmetric.padding import PKCS1v15
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from datetime import datetime

LARGEST_TOKEN: Final = 8192  # bytes in the one form; room for one is kept in the seal
CLOCKS_APART: Final = timedelta(minutes=5)  # of laboratory and authority; common practice, no source
_HASHES: Final[dict[str, type[hashes.SHA256 | hashes.SHA384 | hashes.SHA512]]] = {
    "sha256": hashes.SHA256,
    "sha384": hashes.SHA384,
    "sha512": hashes.SHA512,
}
_WEAK: Final = frozenset({"md5", "sha1", "sha224"})
_LEAST_RSA_BITS: Final = 2048
_LONGEST_PATH: Final = 4
_ESS_V1, _ESS_V2 = "1.2.840.113549.1.9.16.2.12", "1.2.840.113549.1.9.16.2.47"
_CONTENT_TYPE, _DIGEST = "1.2.840.113549.1.9.3", "1.2.840.113549.1.9.4"


@dataclass(frozen=True, slots=True)
class Authority:
    """A time-stamp authority that is trusted. certificate: DER, its own or one above it. policy: dotted; empty: any."""

    certificate: bytes
    policy: str = ""


@dataclass(frozen=True, slots=True)
class Stamp:
    """What a token says: the time the seal's signature was there, under which policy, and the certificates behind it.

    at: aware, UTC. path: the certificate that signed it, then those above it, as far as the token carries them.
    """

    at: datetime
    policy: str
    serial: int
    path: tuple[x509.Certificate, ...]

    @property
    def name(self) -> str:
        """Whom the signing certificate names."""
        return self.path[0].subject.rfc4514_string()


def request_bytes(signature_sha256: bytes, nonce: int, policy: str = "") -> bytes:
    """What the authority is sent: digest, nonce, policy (RFC 3161, 2.4.1)."""
    wanted = {
        "version": "v1",
        "message_imprint": {"hash_algorithm": {"algorithm": "sha256"}, "hashed_message": signature_sha256},
        "nonce": nonce,
        "cert_req": True,
    }
    if policy:
        wanted["req_policy"] = policy
    asked: bytes = tsp.TimeStampReq(wanted).dump()
    return asked


def token_of(reply: bytes, signature_sha256: bytes, nonce: int) -> bytes:
    """The token in an answer, in its one form. Raises ValueError with what is wrong with it.

    Imprint, nonce and status are those of the request (RFC 3161, 2.4.2); the rest is for ``read_stamp``.
    """
    try:
        answer = tsp.TimeStampResp.load(reply, strict=True)
        status = answer["status"]["status"].native
    except (ValueError, TypeError, KeyError):
        raise ValueError("its answer cannot be read: it is not built as one") from None
    if status not in {"granted", "granted_with_mods"}:
        said = answer["status"]["status_string"].native or answer["status"]["fail_info"].native or ""
        raise ValueError(f"it answered {status} {said}".rstrip())
    try:
        token = answer["time_stamp_token"]
        info = _info(token)
        found, imprint = info["nonce"].native, info["message_imprint"]["hashed_message"].native
    except (ValueError, TypeError, KeyError):
        raise ValueError("its token cannot be read: it is not built as one") from None
    if imprint != signature_sha256:
        raise ValueError("its token is on another imprint than the one that was sent")
    if found != nonce:
        raise ValueError("its token answers another request: the nonce differs")
    made = normal_form(token)
    if len(made) > LARGEST_TOKEN:
        raise ValueError(f"its token has {len(made)} bytes; at most {LARGEST_TOKEN} find room in a seal")
    return made


def normal_form(token: cms.ContentInfo) -> bytes:
    """The one form of a token: what is signed, its signature, and the certificates it rests on. Raises ValueError."""
    try:
        return _rebuilt(token)
    except (ValueError, TypeError, KeyError, IndexError, UnsupportedAlgorithm) as fault:
        raise ValueError(f"its token cannot be read ({fault})") from None


def read_stamp(token: bytes, signature_sha256: bytes) -> Stamp:
    """What a token in its one form says of a seal's signature. Raises ValueError with what is wrong with it."""
    parsed = cms.ContentInfo.load(token, strict=True)
    if normal_form(parsed) != token:
        raise ValueError("it is not in the one form a token has here")
    info, signer = _info(parsed), parsed["content"]["signer_infos"][0]
    path = _path(parsed["content"])
    stamp = Stamp(info["gen_time"].native, info["policy"].dotted, info["serial_number"].native, path)
    faults = [*_token_faults(parsed, info, signer, signature_sha256), *_path_faults(stamp)]
    if faults:
        raise ValueError("; ".join(faults))
    return stamp


def trusted_by(stamp: Stamp, authorities: Iterable[Authority]) -> Authority | None:
    """The trusted authority behind a token, its certificate valid at the token's time and its policy met."""
    last = stamp.path[-1]
    for one in authorities:
        trusted = x509.load_der_x509_certificate(one.certificate)
        behind = trusted in stamp.path or _issued(trusted, last)
        if behind and _valid(trusted, stamp.at) and one.policy in {"", stamp.policy}:
            return one
    return None


def _info(token: cms.ContentInfo) -> tsp.TSTInfo:
    if token["content_type"].native != "signed_data":
        raise ValueError("it is no signed data")
    held = token["content"]["encap_content_info"]
    if held["content_type"].native != "tst_info":
        raise ValueError("it holds no time-stamp")
    return tsp.TSTInfo.load(bytes(held["content"]), strict=True)


def _attributes(signer: cms.SignerInfo) -> dict[str, cms.CMSAttribute]:
    return {one["type"].dotted: one["values"] for one in signer["signed_attrs"]}


def _rebuilt(token: cms.ContentInfo) -> bytes:
    signed = token["content"]
    (signer,) = signed["signer_infos"]
    held = bytes(signed["encap_content_info"]["content"])
    _info(token)
    path = _path(signed)
    own = _parsed(path[0])
    hashed = signer["digest_algorithm"]["algorithm"].native
    kind = "rsa" if isinstance(path[0].public_key(), RSAPublicKey) else "ecdsa"
    if hashed not in _HASHES:
        raise ValueError(f"it is signed with {hashed}")
    identity = cms.IssuerAndSerialNumber({"issuer": own.issuer, "serial_number": own.serial_number})
    info = {
        "version": "v1",
        "sid": cms.SignerIdentifier({"issuer_and_serial_number": identity}),
        "digest_algorithm": {"algorithm": hashed},
        "signed_attrs": cms.CMSAttributes.load(signer["signed_attrs"].untag().dump(force=True)),
        "signature_algorithm": {"algorithm": f"{hashed}_{kind}"},
        "signature": signer["signature"].native,
    }
    content = {
        "version": "v3",
        "digest_algorithms": [{"algorithm": hashed}],
        "encap_content_info": cms.EncapsulatedContentInfo(
            {"content_type": "tst_info", "content": core.ParsableOctetString(held)}
        ),
        "certificates": [cms.CertificateChoices(name="certificate", value=_parsed(one)) for one in path],
        "signer_infos": [info],
    }
    made: bytes = cms.ContentInfo({"content_type": "signed_data", "content": cms.SignedData(content)}).dump()
    return made


def _path(signed: cms.SignedData) -> tuple[x509.Certificate, ...]:
    """The certificate that signed, then each that issued the one before; self-signed ones above it are left out."""
    held = [x509.load_der_x509_certificate(one.chosen.dump()) for one in signed["certificates"]]
    named = _named(signed["signer_infos"][0])
    first = next((one for one in held if named in {_digest(one, "sha256"), _digest(one, "sha1")}), None)
    if first is None:
        raise ValueError("the certificate that signed it is not in it")
    path = [first]
    while len(path) < _LONGEST_PATH:
        above = next(
            (one for one in held if one not in path and not _issued(one, one) and _issued(one, path[-1])), None
        )
        if above is None:
            break
        path.append(above)
    return tuple(path)


def _named(signer: cms.SignerInfo) -> bytes:
    """The digest by which the signature names its certificate (RFC 5035; RFC 2634 in older tokens, with SHA-1)."""
    found = _attributes(signer)
    values = found.get(_ESS_V2) or found.get(_ESS_V1)
    if values is None:
        raise ValueError("it does not name the certificate that signed it")
    named: bytes = values[0]["certs"][0]["cert_hash"].native
    return named


def _digest(certificate: x509.Certificate, name: str) -> bytes:
    return certificate.fingerprint(hashes.SHA256() if name == "sha256" else hashes.SHA1())  # noqa: S303  RFC 2634


def _token_faults(
    token: cms.ContentInfo, info: tsp.TSTInfo, signer: cms.SignerInfo, signature_sha256: bytes
) -> Iterator[str]:
    imprint = info["message_imprint"]
    if imprint["hash_algorithm"]["algorithm"].native != "sha256":
        yield "its imprint is not of SHA-256"
    if imprint["hashed_message"].native != signature_sha256:
        yield "its imprint is not that of this seal's signature"
    attributes = _attributes(signer)
    held = bytes(token["content"]["encap_content_info"]["content"])
    hashed = signer["digest_algorithm"]["algorithm"].native
    if attributes[_CONTENT_TYPE][0].native != "tst_info":
        yield "its signature says that it covers something else than a time-stamp"
    if attributes[_DIGEST][0].native != hashlib.new(hashed, held).digest():
        yield "what it says is not what was signed"
    certificate = _path(token["content"])[0]
    if not _signed(certificate, signer, hashed):
        yield "its signature does not hold under the key of its certificate"


def _signed(certificate: x509.Certificate, signer: cms.SignerInfo, hashed: str) -> bool:
    key, data, made = certificate.public_key(), signer["signed_attrs"].untag().dump(), signer["signature"].native
    try:
        if isinstance(key, RSAPublicKey) and key.key_size >= _LEAST_RSA_BITS:
            key.verify(made, data, PKCS1v15(), _HASHES[hashed]())
        elif isinstance(key, EllipticCurvePublicKey):
            key.verify(made, data, ECDSA(_HASHES[hashed]()))
        else:
            return False
    except InvalidSignature:
        return False
    return True


def _path_faults(stamp: Stamp) -> Iterator[str]:
    own = stamp.path[0]
    try:
        usage = own.extensions.get_extension_for_class(x509.ExtendedKeyUsage)
    except x509.ExtensionNotFound:
        usage = None
    if usage is None or not usage.critical or list(usage.value) != [ExtendedKeyUsageOID.TIME_STAMPING]:
        yield "the certificate that signed it is not one for time-stamps alone"  # RFC 3161, 2.3
    for one in stamp.path:
        name = one.subject.rfc4514_string()
        if not _valid(one, stamp.at):
            life = f"{one.not_valid_before_utc:%Y-%m-%d} to {one.not_valid_after_utc:%Y-%m-%d}"
            yield f"the certificate of {name} is valid from {life}, the time-stamp is of {stamp.at:%Y-%m-%d}"
        hashed = one.signature_hash_algorithm
        if hashed is not None and hashed.name in _WEAK:
            yield f"the certificate of {name} is signed with {hashed.name}"


def _valid(certificate: x509.Certificate, at: datetime) -> bool:
    return certificate.not_valid_before_utc <= at <= certificate.not_valid_after_utc


def _issued(issuer: x509.Certificate, certificate: x509.Certificate) -> bool:
    try:
        certificate.verify_directly_issued_by(issuer)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm):
        return False
    return True


def _parsed(certificate: x509.Certificate) -> asn1_x509.Certificate:
    return asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER))
