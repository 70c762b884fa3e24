from __future__ import annotations

import asyncio
import hashlib
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko_certvalidator import CertificateValidator, ValidationContext

from benchseal.identity.seal_certificate import fingerprint, organisation_problems, seal_certificate

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

NAME = "Tern Quay Laboratory"
FROM = datetime(2026, 3, 1, 0, 0, 0, 123456, tzinfo=UTC)
UNTIL = datetime(2029, 3, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def certificate(seal_key: RSAPrivateKey) -> x509.Certificate:
    return seal_certificate(seal_key, organisation=NAME, serial=2**159 - 1, not_before=FROM, not_after=UNTIL)


def test_it_says_who_and_when(certificate: x509.Certificate) -> None:
    assert certificate.subject == certificate.issuer
    assert certificate.subject.rfc4514_string() == f"CN={NAME},O={NAME}"
    assert certificate.not_valid_before_utc == FROM.replace(microsecond=0)
    assert certificate.not_valid_after_utc == UNTIL
    assert certificate.serial_number == 2**159 - 1
    assert certificate.version is x509.Version.v3


def test_it_may_seal_and_nothing_else(certificate: x509.Certificate) -> None:
    """RFC 5280 section 4.2.1.3: digitalSignature is bit 0, contentCommitment bit 1; parsed by another library."""
    parsed = asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER))
    assert parsed.key_usage_value.native == {"digital_signature", "non_repudiation"}
    assert parsed.basic_constraints_value.native == {"ca": False, "path_len_constraint": None}
    assert parsed.critical_extensions == {"key_usage", "basic_constraints"}
    assert parsed.key_identifier == parsed.authority_key_identifier == parsed.public_key.sha1


def test_its_signature_is_its_own(certificate: x509.Certificate) -> None:
    certificate.verify_directly_issued_by(certificate)


def test_a_path_validator_takes_it_as_its_own_anchor(certificate: x509.Certificate) -> None:
    """pyhanko-certvalidator, as a recipient who pinned this certificate would."""
    parsed = asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER))
    context = ValidationContext(trust_roots=[parsed], moment=FROM + timedelta(days=1), allow_fetching=False)
    validator = CertificateValidator(parsed, validation_context=context)
    usage = {"digital_signature", "non_repudiation"}
    asyncio.run(validator.async_validate_usage(usage))  # type: ignore[no-untyped-call]


def test_the_fingerprint_is_sha_256_of_the_der(certificate: x509.Certificate) -> None:
    der = certificate.public_bytes(Encoding.DER)
    assert fingerprint(certificate) == hashlib.sha256(der).hexdigest()


def test_the_same_arguments_give_the_same_certificate(certificate: x509.Certificate, seal_key: RSAPrivateKey) -> None:
    """RSA PKCS #1 v1.5 is deterministic, so nothing random is inside."""
    again = seal_certificate(seal_key, organisation=NAME, serial=2**159 - 1, not_before=FROM, not_after=UNTIL)
    assert fingerprint(again) == fingerprint(certificate)


def test_times_of_another_zone_are_the_same_times(seal_key: RSAPrivateKey) -> None:
    elsewhere = FROM.astimezone(timezone(timedelta(hours=9)))
    made = seal_certificate(seal_key, organisation=NAME, serial=1, not_before=elsewhere, not_after=UNTIL)
    assert made.not_valid_before_utc == FROM.replace(microsecond=0)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        pytest.param("", "empty", id="nothing"),
        pytest.param("  ", "empty", id="blanks"),
        pytest.param("Tern ", "blank at an end", id="blank at the end"),
        pytest.param("T" * 65, "65 characters", id="longer than X.509 allows"),
        pytest.param("Tern\nQuay", "control", id="line end"),
        pytest.param("Tern\u200bQuay", "invisible", id="zero-width space"),
    ],
)
def test_organisation_names_refused(name: str, words: str) -> None:
    (problem,) = organisation_problems(name)
    assert problem.code == "identity.organisation-name"
    assert words in problem.what


@pytest.mark.parametrize("name", ["Tern Quay Laboratory", "Labor für Spurenanalytik GmbH", "T" * 64, "研究所"])
def test_organisation_names_accepted(name: str) -> None:
    assert organisation_problems(name) == ()


@pytest.mark.parametrize(
    "change",
    [
        pytest.param({"serial": 0}, id="serial zero"),
        pytest.param({"serial": 2**159}, id="serial of more than 20 octets"),
        pytest.param({"organisation": ""}, id="no name"),
        pytest.param({"not_after": FROM}, id="valid for no time"),
        pytest.param({"not_before": FROM.replace(tzinfo=None)}, id="time without a zone"),
    ],
)
def test_a_certificate_that_cannot_be_is_our_bug(seal_key: RSAPrivateKey, change: dict[str, Any]) -> None:
    whole: dict[str, Any] = {"organisation": NAME, "serial": 1, "not_before": FROM, "not_after": UNTIL}
    with pytest.raises(AssertionError):
        seal_certificate(seal_key, **{**whole, **change})
