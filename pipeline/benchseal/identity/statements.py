r"""Signature statements: what a person signs, its digest, and how it is shown to people.

Signature = SHA-256 over "benchseal-signature/1\n" || canonical {ledger, person, printed_name, role, meaning, subject,
version, digest, at, zone} (decision record 0003). It is bound to the person by the ledger entry that carries it and by
the password asked for at that act, not by a key of the person's own.
"""

from __future__ import annotations

import re
from dataclasses import asdict
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from benchseal.problems import Finding
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.people import Role
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.records.canonical import Digest
    from benchseal.records.signatures import SignatureStatement

FIGURES_SHOWN = 8

_SIGNED = b"benchseal-signature/1\n"
_TIME = "%Y-%m-%dT%H:%M:%S.%fZ"
_TIME_FORM = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_SIGNING_ROLES = frozenset(Role) - {Role.SERVICE}
_MEANING_WORDS = {
    Meaning.PERFORMED: "performed: I did this work and entered it completely and as it happened",
    Meaning.REVIEWED: "reviewed: I checked this record against its readings and found it right",
    Meaning.APPROVED: "approved: I accept this for use",
    Meaning.RELEASED: "released: I release these results to the customer",
    Meaning.RETURNED: "returned: I send this back for correction",
    Meaning.CANCELLED: "cancelled: I end this without a result",
    Meaning.WITHDRAWN: "withdrawn: I take back what was released",
}
# Signing a certificate itself: the sentence that stands above the name on its page.
_CERTIFICATE_APPROVED = "approved: I approve these results for this certificate"
_RUNS = "packet/"
_REVIEWED_WITHOUT_READINGS = "reviewed: I looked at all it covers and stand by what it says"
_ROLE_WORDS = {Role.APPROVER: "quality approver", Role.SERVICE: "service identity"}


def statement_bytes(statement: SignatureStatement) -> bytes:
    """The bytes a signature covers. Raises ValueError where a field has no canonical form."""
    return _SIGNED + canonical_bytes(asdict(statement))


def sign_statement(statement: SignatureStatement) -> Digest:
    """The signature of a statement. A statement that says nothing definite is a fault of this program."""
    if _defect(statement) is not None:
        raise AssertionError(f"no statement to sign: {_defect(statement)}")
    return digest(statement_bytes(statement))


def check_statement(statement: SignatureStatement, signature: Digest) -> Finding | None:
    """Whether ``signature`` is that of ``statement``. The caller compares the digest signed with the subject's."""
    where = f"signature of {statement.person} on {statement.subject}, version {statement.version}"
    defect = _defect(statement)
    if defect is not None:
        return _not_held(where, f"it is no signature this program makes: {defect}.")
    found = digest(statement_bytes(statement))
    if found == signature:
        return None
    return _not_held(where, f"what it states has digest {found[:16]}…, signed was {signature[:16]}…")


def shown(statement: SignatureStatement, signature: Digest, kind: str = "") -> tuple[str, ...]:
    """A signature for people, four lines: who and as what, meaning, when, first eight figures.

    kind: of the entry that carries it.

    21 CFR 11.50(a) asks for printed name, date and time, and meaning; the figures find it in the ledger.
    """
    return (
        f"{statement.printed_name} ({statement.person}), {role_words(statement.role)}",
        meaning_words(statement.meaning, statement.subject, kind),
        local_time(statement.at, statement.zone),
        f"signature {signature[:FIGURES_SHOWN]}",
    )


def meaning_words(meaning: str, subject: str = "", kind: str = "") -> str:
    """A meaning in plain words: the word itself, then what signing it says of ``subject``.

    A certificate approved says what its page says; one justified is signed as approved too, and accepts it. Readings
    lie behind packets of runs alone; a trail, a list of accounts, an investigation is looked at as it is.
    """
    if meaning == Meaning.REVIEWED and subject and not subject.startswith(_RUNS):
        return _REVIEWED_WITHOUT_READINGS
    if meaning == Meaning.APPROVED and kind == "certificate.approved":
        return _CERTIFICATE_APPROVED
    return next((words for known, words in _MEANING_WORDS.items() if known == meaning), meaning)


def role_words(role: str) -> str:
    """A role as it is printed."""
    return next((words for known, words in _ROLE_WORDS.items() if known == role), role)


def local_time(at: str, zone: str) -> str:
    """``2026-03-04 15:02:11 Europe/Berlin (UTC+01:00)``; in UTC where this machine does not know the zone."""
    moment = _moment(at)
    if moment is None:
        return f"{at} {zone}"
    try:
        local = moment.astimezone(ZoneInfo(zone))
    except (KeyError, ValueError, OSError, OverflowError):  # no such zone, no zone name, a folder of zones, year 0
        return f"{_without_offset(moment)} UTC (zone {zone} is not known here)"
    offset = local.isoformat(timespec="seconds")[len("2026-03-04T15:02:11") :]
    return f"{_without_offset(local)} {zone} (UTC{offset})"


def _without_offset(moment: datetime) -> str:
    return moment.replace(tzinfo=None).isoformat(sep=" ", timespec="seconds")


def _moment(at: str) -> datetime | None:
    try:
        return datetime.strptime(at, _TIME).replace(tzinfo=UTC)
    except ValueError:
        return None


def _defect(statement: SignatureStatement) -> str | None:
    """What keeps a statement from being one this program makes; None for a sound one."""
    named = (statement.ledger, statement.person, statement.printed_name, statement.subject, statement.zone)
    checks = (
        (statement.meaning in set(Meaning), f"meaning {statement.meaning!r} is not one of the fixed list"),
        (statement.role in _SIGNING_ROLES, f"role {statement.role!r} does not sign"),
        (all(named), "a field is empty"),
        (_DIGEST.fullmatch(statement.digest), "what it signs is not named by a SHA-256 digest"),
        (_TIME_FORM.fullmatch(statement.at) and _moment(statement.at), f"{statement.at!r} is not a time"),
    )
    wrong = next((what for holds, what in checks if not holds), None)
    if wrong is not None:
        return wrong
    try:
        statement_bytes(statement)
    except ValueError as fault:
        return str(fault)
    return None


def _not_held(where: str, what: str) -> Finding:
    return Finding(
        "integrity.signature",
        where,
        what,
        "Nothing that rests on this signature stands. Stop work, keep this copy, and find the entry in a backup.",
    )
