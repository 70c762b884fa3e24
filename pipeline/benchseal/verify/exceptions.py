"""Exceptions a certificate carries: signed by an approver and an administrator, two people, and in force then."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from benchseal.identity.statements import check_statement
from benchseal.records.people import Role
from benchseal.records.shape import record_digest
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.records.exceptions import SignedException
    from benchseal.records.signatures import SignatureStatement
    from benchseal.verify.contents import Case, Faults

_SIGNING = [Role.ADMINISTRATOR.value, Role.APPROVER.value]


def exceptions(case: Case) -> Faults:
    """Each exception is signed as it must be; one that does not lets nobody through."""
    for signed in case.evidence.exceptions:
        for fault in _faults(case, signed):
            yield f"exception {signed.exception.exception}: {fault}"


def permitted(case: Case, person: str) -> bool:
    """Whether a good exception lets ``person`` approve what they reviewed, on every day they signed it."""
    days = [_day(each) for each in _approvals(case) if each.person == person]
    return any(
        signed.exception.person == person
        and signed.exception.kind == "reviewer_is_approver"
        and all(signed.exception.since <= day <= signed.exception.until for day in days)
        and not list(_faults(case, signed))
        for signed in case.evidence.exceptions
    )


def _faults(case: Case, signed: SignedException) -> Faults:
    record = signed.exception
    due = (f"exception/{record.exception}", record_digest(record), Meaning.APPROVED.value, case.evidence.ledger)
    statements = [one.statement for one in signed.signatures]
    for one in signed.signatures:
        finding = check_statement(one.statement, one.signature)
        if finding is not None:
            yield finding.what
        if (one.statement.subject, one.statement.digest, one.statement.meaning, one.statement.ledger) != due:
            yield f"the signature of {one.statement.person} signs something else."
    if sorted(one.role for one in statements) != _SIGNING or len({one.person for one in statements}) != len(_SIGNING):
        yield "it is not signed by an approver and an administrator who are two people."


def _approvals(case: Case) -> list[SignatureStatement]:
    approved = [one.statement for one in case.evidence.signatures if one.statement.meaning == Meaning.APPROVED]
    return [*approved, case.supplement.release.statement]


def _day(statement: SignatureStatement) -> str:
    """The day of a signature in the laboratory's zone."""
    return datetime.fromisoformat(statement.at).astimezone(ZoneInfo(statement.zone)).date().isoformat()
