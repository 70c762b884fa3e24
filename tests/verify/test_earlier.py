"""Certificates sealed by earlier versions verify as they did. See fixtures/certificates/SOURCE.md."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchseal.records.canonical import parse_json
from benchseal.records.printed_form import USUAL_FORM
from benchseal.verify.certificate import verify_certificate
from benchseal.verify.contents import read_contents
from benchseal.verify.trust import Trust, read_trust

KEPT = Path(__file__).parents[2] / "fixtures" / "certificates"
FILES = sorted(KEPT.glob("*.pdf"))
LANGUAGES = {
    "wording-3-english": "English, decimals after a full stop, as the evidence says.",
    "wording-4-german": "German, decimals after a comma, as the evidence says.",
}


def trust_of(path: Path) -> Trust:
    found = read_trust(parse_json(path.with_suffix(".trust.json").read_bytes()))
    assert isinstance(found, Trust), found
    return found


def test_there_are_some() -> None:
    assert [path.stem for path in FILES] == ["wording-3-english", "wording-4-german"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_certificate_of_an_earlier_version_is_genuine_word_by_word(path: Path) -> None:
    report = verify_certificate(path.read_bytes(), trust_of(path))
    assert report.word == "GENUINE", report.lines()
    said = {check.name: check.said for check in report.checks}
    assert said["printed words"] == "names, numbers, conclusion and signatures on the page fit."
    assert said["nothing else printed"] == "every word of the pages, in order, follows from the evidence."
    assert said["printed language"] == LANGUAGES[path.stem]


def test_evidence_of_before_there_were_forms_names_none_and_reads_back_to_its_bytes() -> None:
    path = KEPT / "wording-3-english.pdf"
    from benchseal.certificate.read_pdf import SealedPdf, open_certificate  # noqa: PLC0415

    opened = open_certificate(path.read_bytes(), trust_of(path).fingerprints)
    assert isinstance(opened, SealedPdf)
    found, _, checks = read_contents(opened.evidence, opened.supplement)
    assert found is not None
    assert all(check.holds for check in checks)
    assert (found.form, found.letterhead) == (USUAL_FORM, ())
    written = parse_json(opened.evidence)
    assert isinstance(written, dict)
    assert not {"form", "form_ref", "letterhead", "letterhead_ref"} & written.keys()
