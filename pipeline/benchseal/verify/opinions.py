"""Opinions a certificate prints: each signed by the approver whose it is, on results that stand in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.identity.statements import check_statement
from benchseal.records.people import Role
from benchseal.records.shape import record_digest
from benchseal.records.signatures import Meaning

if TYPE_CHECKING:
    from benchseal.records.opinions import SignedOpinion
    from benchseal.verify.contents import Case, Faults


def opinions(case: Case) -> Faults:
    """What is wrong with each opinion."""
    cited = {record_digest(basis) for basis in case.evidence.results}
    for signed in case.evidence.opinions:
        yield from (f"opinion {signed.opinion.opinion}: {fault}" for fault in _faults(case, signed, cited))


def _faults(case: Case, signed: SignedOpinion, cited: set[str]) -> Faults:
    record, statement = signed.opinion, signed.signature.statement
    finding = check_statement(statement, signed.signature.signature)
    if finding is not None:
        yield finding.what
    due = (f"opinion/{record.opinion}", record_digest(record), case.evidence.ledger)
    if (statement.subject, statement.digest, statement.ledger) != due:
        yield f"the signature of {statement.person} signs something else."
    if (statement.person, statement.role, statement.meaning) != (record.person, Role.APPROVER, Meaning.APPROVED):
        yield f"it is of {record.person}, and {statement.person} signed as {statement.role}, {statement.meaning}."
    if record.sample != case.evidence.certificate.sample.sample:
        yield f"it is on sample {record.sample}."
    if not record.results or not set(record.results) <= cited:
        yield "it is about results that do not stand in this certificate."
    if not record.text.strip() or not record.basis.strip():
        yield "it does not say what it is, or what it is based on."
