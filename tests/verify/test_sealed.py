"""The outside check on sealed files: the real page, the real seal, and what no other customer may find in them."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pikepdf
import pytest
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import Encoding
from tests.verify.making import OTHER_READINGS, OURS, SECRETS, Made, Plan, make, one_reading_changed, trust

from benchseal.certificate.issue import render_certificate, seal_certificate
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.render import evidence_and_supplement, render
from benchseal.identity.seal_certificate import fingerprint
from benchseal.identity.seal_certificate import seal_certificate as certify
from benchseal.identity.seal_signer import HeldSealKey
from benchseal.problems import Problem
from benchseal.verify.certificate import verify_certificate, verify_certificates
from benchseal.verify.report import Report, exit_code_of
from benchseal.verify.trust import Trust, TrustedSeal

if TYPE_CHECKING:
    from cryptography import x509


@dataclass(frozen=True)
class Seal:
    key: rsa.RSAPrivateKey
    certificate: x509.Certificate

    def of(self, made: Made, raw: bytes) -> bytes:
        return seal_certificate(raw, HeldSealKey(self.key), self.certificate, moment(made))

    def trusted(self) -> Trust:
        der = self.certificate.public_bytes(Encoding.DER)
        return replace(trust(), seals=(TrustedSeal(fingerprint(self.certificate), der),))


def moment(made: Made) -> datetime:
    return datetime.fromisoformat(made.supplement.release.statement.at)


def rendered(made: Made) -> bytes:
    raw = render_certificate(made.evidence_bytes, made.supplement_bytes)
    assert isinstance(raw, bytes), raw
    return raw


@pytest.fixture(scope="module")
def made() -> Made:
    return make()


@pytest.fixture(scope="module")
def seal(made: Made) -> Seal:
    key = rsa.generate_private_key(65537, 3072)
    at = moment(made)
    certificate = certify(
        key,
        organisation="Tern Quay Laboratory",
        serial=4711,
        not_before=at - timedelta(days=30),
        not_after=at + timedelta(days=3650),
    )
    return Seal(key, certificate)


@pytest.fixture(scope="module")
def raw(made: Made) -> bytes:
    return rendered(made)


@pytest.fixture(scope="module")
def sealed(made: Made, seal: Seal, raw: bytes) -> bytes:
    return seal.of(made, raw)


def failed(report: Report) -> set[str]:
    return {check.name for check in report.checks if check.holds is False}


@pytest.mark.clause("P11 11.30", "P11 11.50(b)")
def test_a_genuine_certificate_is_genuine(sealed: bytes, seal: Seal, made: Made) -> None:
    report = verify_certificate(sealed, seal.trusted())
    assert (report.word, report.exit_code) == ("GENUINE", 0), report.lines()
    assert report.lines()[0].startswith("GENUINE")
    assert report.number == made.evidence.certificate.number
    assert report.evidence_sha256 == made.supplement.evidence_sha256
    assert report.rosette is not None


def test_rendering_again_gives_the_same_bytes(made: Made, raw: bytes, sealed: bytes) -> None:
    assert rendered(made) == raw
    assert sealed.startswith(raw)


def test_without_trust_it_is_unknown(sealed: bytes) -> None:
    report = verify_certificate(sealed, None)
    assert (report.word, report.exit_code) == ("UNKNOWN", 3)
    assert "No trust file" in report.lines()[-1]


@pytest.mark.refuses("P11 11.30")
def test_a_seal_of_a_stranger_is_unknown(sealed: bytes) -> None:
    stranger = replace(trust(), seals=(TrustedSeal("0" * 64, b""),))
    report = verify_certificate(sealed, stranger)
    assert report.word == "UNKNOWN"
    assert [check.name for check in report.checks if check.holds is None] == ["sealing key"]


def test_a_batch_has_the_exit_code_of_its_worst_file(sealed: bytes, raw: bytes, seal: Seal) -> None:
    reports = verify_certificates([sealed, raw, sealed[:-1]], seal.trusted())
    assert [report.word for report in reports] == ["GENUINE", "UNKNOWN", "ALTERED"]
    assert [exit_code_of(reports[:count]) for count in range(4)] == [3, 0, 3, 6]


@pytest.mark.refuses("P11 11.30")
def test_no_changed_byte_goes_unnoticed(sealed: bytes, seal: Seal) -> None:
    trusted = seal.trusted()
    for place in range(7, len(sealed), len(sealed) // 150):
        changed = bytearray(sealed)
        changed[place] ^= 1 << place % 8
        report = verify_certificate(bytes(changed), trusted)
        assert report.word != "GENUINE", place
        assert report.checks[0].said


@pytest.mark.parametrize("rubbish", [b"", b"%PDF-1.7\n", b"PK\x03\x04", b"%PDF-1.7\n/ByteRange [0 1 2 3]"])
def test_rubbish_is_never_genuine_and_never_a_traceback(rubbish: bytes, seal: Seal) -> None:
    assert verify_certificate(rubbish, seal.trusted()).exit_code in {3, 6}


@pytest.mark.clause("17025 7.5")
@pytest.mark.refuses("P11 11.10(a)", "17025 7.5")
def test_one_reading_changed_and_everything_signed_and_sealed_again(seal: Seal) -> None:
    """Whoever holds every key still cannot make the readings give another result."""
    told = make(Plan(filed=one_reading_changed))
    report = verify_certificate(seal.of(told, rendered(told)), seal.trusted())
    assert (report.word, failed(report)) == ("ALTERED", {"recalculation"})


@pytest.mark.refuses("P11 11.50(b)")
def test_a_page_that_says_otherwise_under_a_right_seal(made: Made, seal: Seal) -> None:
    view = made.view()
    lead = replace(view.results[0], value="0.149")
    told = replace(view, results=(lead, *view.results[1:]))
    raw = render(told, evidence_and_supplement(made.evidence_bytes, made.supplement_bytes), moment(made))
    assert isinstance(raw, bytes)
    report = verify_certificate(seal.of(made, raw), seal.trusted())
    assert (report.word, failed(report)) == ("ALTERED", {"printed rows", "nothing else printed"})


@pytest.mark.refuses("P11 11.30")
def test_a_third_attachment_under_a_right_seal(made: Made, seal: Seal, monkeypatch: pytest.MonkeyPatch) -> None:
    two = evidence_and_supplement(made.evidence_bytes, made.supplement_bytes)
    raw = render(made.view(), (*two, replace(two[1], name="more.json")), moment(made))
    assert isinstance(raw, bytes)
    monkeypatch.setattr("benchseal.certificate.seal._demand_whole", lambda _: None)
    report = verify_certificate(seal.of(made, raw), seal.trusted())
    assert report.word == "ALTERED"
    assert "attachments" in failed(report)


def test_the_supplement_of_another_certificate_is_not_rendered(made: Made) -> None:
    other = make(Plan(content=lambda evidence: replace(evidence, program="benchseal 0.0.9")))
    problems = render_certificate(made.evidence_bytes, other.supplement_bytes)
    assert isinstance(problems, tuple)
    assert isinstance(problems[0], Problem)
    assert problems[0].code == "certificate.evidence-unreadable"


def _everything(data: bytes) -> bytes:
    """The file as it lies, every stream unpacked (attachments and object streams too), and the text of its pages."""
    parts = [data]
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for item in pdf.objects:
            if isinstance(item, pikepdf.Stream):
                parts.append(item.read_bytes())
            parts.append(repr(item).encode("utf-8"))
        parts += [text.encode("utf-8") for text in page_texts(pdf)]
    return b"\n".join(parts)


def test_no_trace_of_the_other_customer(sealed: bytes) -> None:
    """Two customers share the lead run. Of the other's label, lot, sample, names and readings nothing leaves."""
    everything = _everything(sealed)
    assert [text for text in (*SECRETS, *OTHER_READINGS) if text.encode() in everything] == []
    assert OURS.encode() in everything
    assert b"T-A1/1" in everything
    assert b"Alder & Finch" in everything
