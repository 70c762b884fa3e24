"""Archive material of one certificate in one zip file: what it is checked with, kept beside it for years.

A plain zip, nothing packed: the sealed PDF; the certificates of its seal and of its time-stamp, the token; answers of
authorities on revocation where the laboratory gave any; the trust file of then; and ``manifest.json``, canonical, with
the digest of each file and of each document the results rest on. Certificates and token are those of the PDF, byte for
byte, so the zip is checked by making it again from the PDF. It is not signed: the seal is what holds.
"""

from __future__ import annotations

import io
import re
import zipfile
from typing import TYPE_CHECKING, Any, Final, cast

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from benchseal.certificate.read_pdf import SealedPdf, open_certificate
from benchseal.certificate.revocation import read_answers
from benchseal.certificate.seal_bytes import Frame, Signer, cut_at_seal, read_signer
from benchseal.records.canonical import canonical_bytes, digest, parse_canonical, parse_json
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.contents import read_contents
from benchseal.verify.report import Check
from benchseal.verify.trust import Trust, follows, read_trust

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import datetime

    from benchseal.records.canonical import Json
    from benchseal.verify.report import Report

SCHEMA: Final = "certificate-archive/1"
MANIFEST, PDF, TRUST = "manifest.json", "certificate.pdf", "trust.json"
REVOCATION: Final = "revocation/"
MOST_ANSWERS: Final = 16
_LARGEST: Final = 256 * 1024 * 1024
_MOST_FILES: Final = 64
_MEMBERS: Final = frozenset({"schema", "laboratory", "ledger", "number", "at", "program", "files", "documents"})
_ANSWER: Final = re.compile(r"revocation/[0-9]{2}\.(crl|ocsp)")
_MOMENT: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")
_UNIX: Final = 3
_SAME_TIME: Final = (1980, 1, 1, 0, 0, 0)  # the first a zip can state: the manifest says when it was made


def material_of(pdf: bytes, trust: Trust) -> dict[str, bytes]:
    """What the seal of a certificate rests on, out of its PDF: name in the zip to bytes. Raises ValueError."""
    signer = _signer(pdf)
    found = {f"seal/{at:02d}.der": _der(one) for at, one in enumerate((signer.certificate, *signer.above), start=1)}
    if signer.stamp is not None:
        found["time-stamp/token.der"] = signer.token
        path = list(signer.stamp.path)
        opened = open_certificate(pdf, {signer.fingerprint}, trust.authorities)
        if isinstance(opened, SealedPdf) and opened.authority is not None:
            path.append(x509.load_der_x509_certificate(opened.authority.certificate))
        named = dict.fromkeys(path)
        found |= {f"time-stamp/{at:02d}.der": _der(one) for at, one in enumerate(named, start=1)}
    return found


def documents_of(pdf: bytes, trust: Trust) -> list[Json]:
    """Identifier, version and digest of each document the results rest on, as the evidence names them."""
    opened = open_certificate(pdf, trust.fingerprints, trust.authorities)
    evidence = read_contents(opened.evidence, opened.supplement)[0] if isinstance(opened, SealedPdf) else None
    if evidence is None:
        raise ValueError("its evidence cannot be read")
    named = {("specification", evidence.specification_ref)} | {("method", run.facts.method) for run in evidence.runs}
    listed = sorted(named, key=lambda one: (one[0], one[1].id, one[1].version))
    return [{"kind": kind, "id": one.id, "version": one.version, "sha256": one.digest} for kind, one in listed]


def sealed_at(pdf: bytes, trust: Trust) -> datetime:
    """When it was sealed: by its time-stamp, else as the seal states. Raises ValueError."""
    opened = open_certificate(pdf, trust.fingerprints, trust.authorities)
    if not isinstance(opened, SealedPdf):
        raise ValueError(opened[0].what)  # noqa: TRY004  a fault of the file, not of a caller
    return opened.stamp.at if opened.stamp and opened.authority else opened.signed_at


def revocation_faults(name: str, data: bytes, certificates: list[x509.Certificate], at: datetime) -> Iterator[str]:
    """What a file of revocation says against a seal made ``at``. It must be later than the seal to say anything."""
    try:
        answers = read_answers(data, certificates)
    except ValueError as fault:
        yield f"{name}: {fault}."
        return
    for one in answers:
        if one.said_at < at:
            yield f"{name}: it is of {one.said_at:%Y-%m-%d %H:%M}Z, before the file was sealed ({at:%Y-%m-%d %H:%M}Z)."
        elif one.revoked_at is not None and one.revoked_at <= at:
            yield f"{name}: the certificate of {one.name} was revoked at {one.revoked_at:%Y-%m-%d %H:%M}Z, before."


def zipped(files: Mapping[str, bytes]) -> bytes:
    """The files as a zip, in order of their names, nothing packed; the same bytes for the same files."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as whole:
        for name in sorted(files):
            one = zipfile.ZipInfo(name, _SAME_TIME)
            one.create_system, one.external_attr = _UNIX, 0o644 << 16  # the same on every system
            whole.writestr(one, files[name])
    return made.getvalue()


def manifest_of(files: Mapping[str, bytes], about: Mapping[str, Json], documents: list[Json]) -> bytes:
    """The list of a zip. about: laboratory, ledger, number, at, program."""
    listed: dict[str, Json] = {
        name: {"bytes": len(data), "sha256": digest(data)} for name, data in files.items() if name != MANIFEST
    }
    return canonical_bytes({"schema": SCHEMA, **about, "files": listed, "documents": documents})


def check_archive(data: bytes, trust: Trust | None) -> tuple[Check, ...]:
    """Every check of a zip. trust: got by another way; without it the one inside is used, and that is left open."""
    try:
        files = _unzipped(data)
        manifest = _manifest(files)
        inside = read_trust(parse_json(files[TRUST]))
        if isinstance(inside, tuple):
            raise ValueError(f"its trust file: {inside[0].what}")  # noqa: TRY301, TRY004
    except Exception as fault:  # noqa: BLE001  a hostile file can break any reader; saying so is the point
        return (Check("archive", holds=False, said=f"it cannot be read: {fault}."),)
    used = trust or inside
    report = verify_certificate(files[PDF], used)
    return (
        Check("archive", holds=True, said=f"{len(files)} files, as its list names them, of {manifest['at']}."),
        _trusted(trust, inside),
        *report.checks,
        _named(manifest, report),
        *_kept(files, manifest, used),
    )


def _named(manifest: dict[str, Any], report: Report) -> Check:
    """Whether the list calls the certificate what it calls itself, and was made after it."""
    if not report.number:
        return Check("list", holds=None, said="what it says of the certificate cannot be compared with it.")
    due = {"number": report.number, "laboratory": report.laboratory, "ledger": report.ledger}
    wrong = [
        f"it names {name} {manifest[name]}, the certificate {known}."
        for name, known in due.items()
        if known != manifest[name]
    ]
    if manifest["at"][:19] < report.sealed_at[:19]:
        wrong.append(f"it was made at {manifest['at']}, before the file was sealed, at {report.sealed_at}.")
    return Check(
        "list", holds=not wrong, said=" ".join(wrong) or "number, laboratory and ledger are the certificate's."
    )


def _kept(files: Mapping[str, bytes], manifest: dict[str, Any], trust: Trust) -> Iterator[Check]:
    try:
        material, documents = material_of(files[PDF], trust), documents_of(files[PDF], trust)
        at = sealed_at(files[PDF], trust)
    except ValueError as fault:
        yield Check("material", holds=None, said=f"it cannot be compared with the seal: {fault}.")
        return
    others = {name for name in files if name not in {MANIFEST, PDF, TRUST} and not _ANSWER.fullmatch(name)}
    fits = others == material.keys() and all(files[name] == one for name, one in material.items())
    said = (
        "certificates and token are those of the seal." if fits else "certificates or token are not those of the seal."
    )
    yield Check("material", holds=fits, said=said)
    same = manifest["documents"] == documents
    said = f"{len(documents)} digests, as in the evidence." if same else "their digests are not those of the evidence."
    yield Check("documents named", holds=same, said=said)
    certificates = certificates_of(material)
    answers = {name: one for name, one in files.items() if _ANSWER.fullmatch(name)}
    faults = [
        fault for name, one in sorted(answers.items()) for fault in revocation_faults(name, one, certificates, at)
    ]
    if answers:
        good = f"{len(answers)} later answers, and none says that a certificate was revoked before the file was sealed."
        yield Check("revocation", holds=not faults, said=" ".join(faults) or good)


def certificates_of(material: Mapping[str, bytes]) -> list[x509.Certificate]:
    """The certificates among the material of a seal."""
    ders = [data for name, data in material.items() if not name.endswith("token.der")]
    return [x509.load_der_x509_certificate(one) for one in ders]


def _trusted(trust: Trust | None, inside: Trust) -> Check:
    if trust is None:
        what = "no trust file was given beside it. The one inside came with what it is to prove: compare it with yours."
        return Check("trust", holds=None, said=what)
    other = follows(inside, trust) is not None and follows(trust, inside) is not None
    said = "the one inside does not fit the one given." if other else "the one inside fits the one given."
    return Check("trust", holds=not other, said=said)


def _unzipped(data: bytes) -> dict[str, bytes]:
    if len(data) > _LARGEST:
        raise ValueError(f"it has {len(data)} bytes, more than {_LARGEST}")
    with zipfile.ZipFile(io.BytesIO(data)) as whole:
        infos = whole.infolist()
        names = [one.filename for one in infos]
        if len(infos) > _MOST_FILES or len(set(names)) != len(names):
            raise ValueError("it holds too many files, or one name twice")
        if any(one.compress_type != zipfile.ZIP_STORED or one.file_size > len(data) for one in infos):
            raise ValueError("a file in it is packed")
        files = {name: whole.read(name) for name in names}
    if zipped(files) != data:
        raise ValueError("it is not in the one form an archive has")
    return files


def _manifest(files: Mapping[str, bytes]) -> dict[str, Any]:
    value = parse_canonical(files[MANIFEST])
    if not isinstance(value, dict) or value.keys() != _MEMBERS or value["schema"] != SCHEMA:
        raise ValueError(f"its list is not of form {SCHEMA}")
    about = {name: value[name] for name in _MEMBERS - {"schema", "files", "documents"}}
    if not all(isinstance(one, str) and one for one in about.values()) or not _MOMENT.fullmatch(str(about["at"])):
        raise ValueError("its list does not say in words what it is of, and when it was made")
    if manifest_of(files, about, cast("list[Json]", value["documents"])) != files[MANIFEST]:
        raise ValueError("its list does not name the files it holds, by their digests")
    return value


def _signer(pdf: bytes) -> Signer:
    frame = cut_at_seal(pdf)
    signer = read_signer(frame) if isinstance(frame, Frame) else (frame,)
    if not isinstance(signer, Signer):
        raise ValueError(signer[0].what)  # noqa: TRY004  a fault of the file, not of a caller
    return signer


def _der(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(Encoding.DER)
