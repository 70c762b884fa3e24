from __future__ import annotations

import hashlib
from dataclasses import fields, replace
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from benchseal.certificate.language import ENGLISH
from benchseal.identity.statements import check_statement, local_time, meaning_words, shown, sign_statement
from benchseal.problems import EXIT_INTEGRITY, exit_code
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning, SignatureStatement

STATEMENT = SignatureStatement(
    ledger="tern-quay-1",
    person="p-ines.brandt",
    printed_name="Inés Brandt",
    role="reviewer",
    meaning="reviewed",
    subject="packet/K-0007",
    version=2,
    digest=hashlib.sha256(b"packet").hexdigest(),
    at="2026-03-04T14:02:11.250Z",
    zone="Europe/Berlin",
)


def test_the_signature_is_the_digest_written_down() -> None:
    """Architecture section 3 and decision record 0003; canonical form by the RFC 8785 reference library."""
    members: dict[str, Any] = {
        "ledger": "tern-quay-1",
        "person": "p-ines.brandt",
        "printed_name": "Inés Brandt",
        "role": "reviewer",
        "meaning": "reviewed",
        "subject": "packet/K-0007",
        "version": 2,
        "digest": hashlib.sha256(b"packet").hexdigest(),
        "at": "2026-03-04T14:02:11.250Z",
        "zone": "Europe/Berlin",
    }
    covered = b"benchseal-signature/1\n" + rfc8785.dumps(members)
    assert sign_statement(STATEMENT) == hashlib.sha256(covered).hexdigest()
    assert {each.name for each in fields(SignatureStatement)} == set(members)


@pytest.mark.clause("P11 11.70")
def test_a_signature_holds_for_its_statement() -> None:
    assert check_statement(STATEMENT, sign_statement(STATEMENT)) is None


CHANGES: dict[str, Any] = {
    "ledger": "tern-quay-2",
    "person": "p-ines.brand",
    "printed_name": "Ines Brandt",
    "role": "approver",
    "meaning": "approved",
    "subject": "packet/K-0008",
    "version": 3,
    "digest": hashlib.sha256(b"another").hexdigest(),
    "at": "2026-03-04T14:02:11.251Z",
    "zone": "Europe/Paris",
}


@pytest.mark.refuses("P11 11.70", "A11 14")
@pytest.mark.parametrize("field", CHANGES)
def test_every_field_is_covered(field: str) -> None:
    finding = check_statement(replace(STATEMENT, **{field: CHANGES[field]}), sign_statement(STATEMENT))
    assert finding is not None
    assert finding.code == "integrity.signature"
    assert sign_statement(STATEMENT)[:16] in finding.what
    assert exit_code((finding,)) == EXIT_INTEGRITY


@pytest.mark.refuses("P11 11.70")
@given(place=st.integers(0, 63))
def test_every_figure_of_the_signature_counts(place: int) -> None:
    signature = sign_statement(STATEMENT)
    other = "0" if signature[place] != "0" else "1"
    assert check_statement(STATEMENT, signature[:place] + other + signature[place + 1 :]) is not None


DEFECTS = [
    pytest.param({"meaning": "noticed"}, "meaning 'noticed'", id="meaning not of the list"),
    pytest.param({"role": "visitor"}, "role 'visitor' does not sign", id="unknown role"),
    pytest.param({"role": "service"}, "role 'service' does not sign", id="a service identity never signs"),
    pytest.param({"printed_name": ""}, "a field is empty", id="no name"),
    pytest.param({"ledger": ""}, "a field is empty", id="no ledger"),
    pytest.param({"digest": "0" * 63}, "not named by a SHA-256", id="digest too short"),
    pytest.param({"digest": "A" * 64}, "not named by a SHA-256", id="digest in capitals"),
    pytest.param({"at": "2026-03-04T14:02:11Z"}, "is not a time", id="time without milliseconds"),
    pytest.param({"at": "2026-02-30T14:02:11.000Z"}, "is not a time", id="30 February"),
    pytest.param({"at": "2026-03-04T14:02:11.000+01:00"}, "is not a time", id="time not in UTC"),
    pytest.param({"printed_name": "Ine\u0301s"}, "not in Unicode form NFC", id="name not NFC"),
    pytest.param({"version": 2**53}, "integer beyond", id="version beyond exact integers"),
]


@pytest.mark.refuses("P11 11.50(a)")
@pytest.mark.parametrize(("change", "words"), DEFECTS)
def test_what_is_not_definite_is_never_signed_and_never_holds(change: dict[str, Any], words: str) -> None:
    statement = replace(STATEMENT, **change)
    with pytest.raises(AssertionError, match="no statement to sign"):
        sign_statement(statement)
    finding = check_statement(statement, sign_statement(STATEMENT))
    assert finding is not None
    assert words in finding.what


@pytest.mark.clause("P11 11.50(a)", "P11 11.50(b)")
def test_shown_to_people() -> None:
    signature = sign_statement(STATEMENT)
    assert shown(STATEMENT, signature) == (
        "Inés Brandt (p-ines.brandt), reviewer",
        "reviewed: I checked this record against its readings and found it right",
        "2026-03-04 15:02:11 Europe/Berlin (UTC+01:00)",
        f"signature {signature[:8]}",
    )


def test_every_meaning_has_plain_words_that_begin_with_it() -> None:
    for meaning in Meaning:
        assert meaning_words(meaning).startswith(f"{meaning}: I ")


def test_a_certificate_approved_says_everywhere_what_its_page_says() -> None:
    """One signature has one meaning (21 CFR 11.50(a)(3)); to justify a certificate is another act."""
    page = ENGLISH.say("signed/approved").rstrip(".")
    statement = replace(STATEMENT, meaning=Meaning.APPROVED, subject="certificate/C-2026-00001")
    assert shown(statement, "", "certificate.approved")[1] == f"approved: {page}"
    assert shown(statement, "", "certificate.justified")[1] == "approved: I accept this for use"
    released = replace(statement, meaning=Meaning.RELEASED)
    assert shown(released, "")[1] == f"released: {ENGLISH.say('signed/released').rstrip('.')}"


def test_only_a_review_of_runs_speaks_of_readings() -> None:
    """A trail, accounts, an investigation have none: the words say what was signed (21 CFR 11.50(a)(3))."""
    assert "against its readings" in meaning_words(Meaning.REVIEWED, "packet/0123456789abcdef")
    for subject in ("run/R-00001", "access/72cc6d85", "investigation/I-00001", "periodic/93-cb17f32c"):
        words = shown(replace(STATEMENT, meaning=Meaning.REVIEWED, subject=subject), "")[1]
        assert words.startswith("reviewed: I ")
        assert "readings" not in words


def test_the_approver_is_called_by_the_trades_word() -> None:
    assert shown(replace(STATEMENT, role=Role.APPROVER), "")[0].endswith(", quality approver")


@pytest.mark.parametrize(
    ("at", "zone", "expected"),
    [
        pytest.param(
            "2026-07-04T14:02:11.000Z", "Europe/Berlin", "2026-07-04 16:02:11 Europe/Berlin (UTC+02:00)", id="summer"
        ),
        pytest.param(
            "2026-10-25T00:30:00.000Z",
            "Europe/Berlin",
            "2026-10-25 02:30:00 Europe/Berlin (UTC+02:00)",
            id="first 02:30",
        ),
        pytest.param(
            "2026-10-25T01:30:00.000Z",
            "Europe/Berlin",
            "2026-10-25 02:30:00 Europe/Berlin (UTC+01:00)",
            id="second 02:30",
        ),
        pytest.param(
            "2026-03-04T23:00:00.000Z",
            "Asia/Kathmandu",
            "2026-03-05 04:45:00 Asia/Kathmandu (UTC+05:45)",
            id="next day",
        ),
        pytest.param(
            "2026-03-04T14:02:11.000Z",
            "America/St_Johns",
            "2026-03-04 10:32:11 America/St_Johns (UTC-03:30)",
            id="west",
        ),
        pytest.param("2026-03-04T14:02:11.000Z", "UTC", "2026-03-04 14:02:11 UTC (UTC+00:00)", id="UTC"),
        pytest.param(
            "2026-03-04T14:02:11.000Z",
            "Sea/Tern",
            "2026-03-04 14:02:11 UTC (zone Sea/Tern is not known here)",
            id="unknown",
        ),
        pytest.param(
            "2026-03-04T14:02:11.000Z", "../x", "2026-03-04 14:02:11 UTC (zone ../x is not known here)", id="a path"
        ),
        pytest.param(
            "2026-03-04T14:02:11.000Z",
            "Europe",
            "2026-03-04 14:02:11 UTC (zone Europe is not known here)",
            id="a folder",
        ),
        pytest.param("yesterday", "Europe/Berlin", "yesterday Europe/Berlin", id="no time at all"),
        pytest.param(
            "0001-01-01T00:00:00.000Z", "America/New_York", "0001-01-01 00:00:00 UTC", id="before the calendar begins"
        ),
    ],
)
def test_local_time(at: str, zone: str, expected: str) -> None:
    """Offsets: IANA time zone database; Berlin's double hour in October 2026: last Sunday (Directive 2000/84/EC)."""
    assert local_time(at, zone).startswith(expected)
