"""The archive material of an issued certificate: gathered from its sealed file and what the laboratory gives beside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal import __version__
from benchseal.certificate.revocation import is_list
from benchseal.desk.acting import as_json
from benchseal.desk.clock import stamp
from benchseal.desk.key_records import trust_bytes, trust_value
from benchseal.problems import Problem, Refusal, Stopped
from benchseal.verify.archive import (
    MANIFEST,
    MOST_ANSWERS,
    PDF,
    REVOCATION,
    TRUST,
    certificates_of,
    documents_of,
    manifest_of,
    material_of,
    revocation_faults,
    sealed_at,
    zipped,
)
from benchseal.verify.trust import read_trust

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.store.sqlite import SqliteReading


def make_archive(site: Site, view: SqliteReading, number: str, answers: Mapping[str, bytes]) -> bytes:
    """The zip of a certificate. answers: file name to bytes of what authorities said on revocation. Raises Stopped."""
    row = view.row("certificate", number=number)
    if row is None or not row["sealed"]:
        remedy = "See `benchseal certificate list`."
        raise Stopped(Refusal("certificate.not-issued", number, "it is not issued.", remedy))
    trust = read_trust(as_json(trust_value(view, site.ledger)))
    if isinstance(trust, tuple):
        raise Stopped(*trust)
    pdf = view.bytes_of(row["sealed"])
    material = material_of(pdf, trust)
    certificates, at = certificates_of(material), sealed_at(pdf, trust)
    faults = [one for name, data in answers.items() for one in revocation_faults(name, data, certificates, at)]
    if len(answers) > MOST_ANSWERS:
        faults.append(f"{len(answers)} files are given; an archive holds at most {MOST_ANSWERS}.")
    if faults:
        remedy = "Give answers of the authority that issued the certificates, made after the file was sealed."
        raise Stopped(*(Problem("archive.revocation", number, one, remedy) for one in faults))
    kept = {
        f"{REVOCATION}{place:02d}.{'crl' if is_list(one) else 'ocsp'}": one
        for place, one in enumerate(answers.values(), start=1)
    }
    files = {PDF: pdf, TRUST: trust_bytes(view, site.ledger), **material, **kept}
    about: dict[str, Json] = {
        "laboratory": trust.laboratory,
        "ledger": site.ledger,
        "number": number,
        "at": stamp(site.clock()),
        "program": __version__,
    }
    return zipped({**files, MANIFEST: manifest_of(files, about, documents_of(pdf, trust))})
