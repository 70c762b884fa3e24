"""A certificate whose reviewer also approved: good only by an exception two people signed, in force on that day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.verify.making import LEDGER, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.certificate.present import with_printed
from benchseal.identity.statements import sign_statement
from benchseal.records.canonical import digest
from benchseal.records.exceptions import SignedException, SiteException
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Meaning, Signature, SignatureStatement

if TYPE_CHECKING:
    from benchseal.records.evidence import Evidence

BOTH = "p-jonas.lind"
PEOPLE = (
    (Meaning.PERFORMED, "p-ines.falkner"),
    (Meaning.REVIEWED, BOTH),
    (Meaning.APPROVED, BOTH),
    (Meaning.RELEASED, BOTH),
)
GOOD = SiteException(
    schema="exception/1",
    exception="E-0001",
    kind="reviewer_is_approver",
    person=BOTH,
    since="2026-03-01",
    until="2026-03-04",
    compensating_check="a colleague elsewhere reads every tenth certificate",
    reason="there are two of us",
)


def signature(person: str, role: str, **changes: str) -> Signature:
    values = {"meaning": "approved", "subject": "exception/E-0001", "digest": digest(record_bytes(GOOD))} | changes
    name = person.removeprefix("p-").replace(".", " ").title()
    at, zone = "2026-03-01T09:00:00.000Z", "Europe/Berlin"
    ledger = values.pop("ledger", LEDGER)
    statement = SignatureStatement(ledger, person, name, role, version=1, at=at, zone=zone, **values)
    return Signature(statement, sign_statement(statement))


TWO = (signature(BOTH, "approver"), signature("p-runa.voss", "administrator"))


def plan(exception: SiteException = GOOD, signatures: tuple[Signature, ...] = TWO) -> Plan:
    def carries(evidence: Evidence) -> Evidence:
        return with_printed(replace(evidence, exceptions=(SignedException(exception, signatures),)))

    return Plan(people=PEOPLE, content=carries)


def own(exception: SiteException) -> tuple[Signature, ...]:
    """Both signatures on this very exception."""
    name = digest(record_bytes(exception))
    return signature(BOTH, "approver", digest=name), signature("p-runa.voss", "administrator", digest=name)


@pytest.mark.clause("P11 11.10(g)")
def test_a_reviewer_approves_by_a_signed_exception_and_the_page_says_so() -> None:
    made = make(plan())
    report = report_on(made)
    assert report.word == "GENUINE", report.lines()
    (said,) = [check.said for check in report.checks if check.name == "separate people"]
    assert "by exception E-0001" in said
    signed = "By exception E-0001, signed by Jonas Lind and Runa Voss and valid until 4 March 2026, "
    instead = "one person may review and approve here. Instead: a colleague elsewhere reads every tenth certificate."
    assert made.view().notes == (signed + instead,)


@pytest.mark.refuses("P11 11.10(g)")
def test_a_page_that_leaves_the_exception_out_is_found() -> None:
    made = make(plan())
    (page,) = made.pages()
    without = page.replace("By exception E-0001", "")
    assert without != page
    assert "printed words" in failed(report_on(made, (without,)))


def _other(**changes: str) -> Plan:
    exception = replace(GOOD, **changes)  # type: ignore[arg-type]  # texts for texts
    return plan(exception, own(exception))


@pytest.mark.refuses("P11 11.10(g)")
@pytest.mark.parametrize(
    "told",
    [
        pytest.param(_other(person="p-maren.oduya"), id="for somebody else"),
        pytest.param(_other(kind="administrator_with_content_role"), id="of another kind"),
        pytest.param(_other(until="2026-03-03"), id="ended the day before"),
        pytest.param(_other(since="2026-03-05"), id="begun the day after"),
        pytest.param(plan(replace(GOOD, until="2027-03-01")), id="lengthened after it was signed"),
        pytest.param(plan(signatures=TWO[:1]), id="signed by one"),
        pytest.param(plan(signatures=(TWO[0], TWO[0])), id="signed twice by one"),
        pytest.param(plan(signatures=(TWO[0], signature(BOTH, "administrator"))), id="both roles one person"),
        pytest.param(plan(signatures=(TWO[0], signature("p-runa.voss", "reviewer"))), id="no administrator"),
        pytest.param(
            plan(signatures=(TWO[0], signature("p-runa.voss", "administrator", subject="exception/E-0002"))),
            id="a signature on another exception",
        ),
        pytest.param(
            plan(signatures=(TWO[0], signature("p-runa.voss", "administrator", meaning="returned"))),
            id="a signature of another meaning",
        ),
        pytest.param(
            plan(signatures=(TWO[0], signature("p-runa.voss", "administrator", ledger="bs-0000000000000000"))),
            id="a signature of another ledger",
        ),
        pytest.param(plan(signatures=(TWO[0], replace(TWO[1], signature="00" * 32))), id="a signature made up"),
    ],
)
def test_what_lets_nobody_through(told: Plan) -> None:
    assert "separate people" in failed(report_on(make(told)))


@pytest.mark.refuses("P11 11.10(g)")
def test_no_exception_lets_an_analyst_through() -> None:
    exception = replace(GOOD, person="p-ines.falkner")
    people = tuple((meaning, "p-ines.falkner") for meaning, _ in PEOPLE)
    told = replace(plan(exception, own(exception)), people=people)
    assert "both measured and reviewed" in failed(report_on(make(told)))["separate people"]
