"""Opinions a certificate carries: good ones verify and are printed as such; every lie about one is named."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from tests.verify.making import LEDGER, OURS, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.certificate.present import with_printed
from benchseal.identity.statements import sign_statement
from benchseal.records.canonical import digest
from benchseal.records.opinions import Opinion, SignedOpinion
from benchseal.records.shape import record_bytes
from benchseal.records.signatures import Signature, SignatureStatement

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.evidence import Evidence

WHOSE = "p-jonas.lind"


def opinion(content: Evidence, statement: dict[str, Any] | None = None, **changes: Any) -> SignedOpinion:  # noqa: ANN401
    """A good opinion, but for ``changes`` of it before it is signed and of its statement."""
    usual = Opinion(
        schema="opinion/1",
        opinion="O-0001",
        sample=OURS,
        person=WHOSE,
        text="The lead comes from the colour",
        basis="cobalt stands beside it",
        results=(digest(record_bytes(content.results[0])),),
    )
    record = replace(usual, **changes)
    said: dict[str, Any] = {
        "ledger": LEDGER,
        "person": WHOSE,
        "printed_name": "Jonas Lind",
        "role": "approver",
        "meaning": "approved",
        "subject": "opinion/O-0001",
        "version": 1,
        "digest": digest(record_bytes(record)),
        "at": "2026-03-04T09:00:00.000Z",
        "zone": "Europe/Lisbon",
    }
    stated = SignatureStatement(**(said | (statement or {})))
    return SignedOpinion(record, Signature(stated, sign_statement(stated)))


def with_opinion(**changes: Any) -> Callable[[Evidence], Evidence]:  # noqa: ANN401
    return lambda content: with_printed(replace(content, opinions=(opinion(content, **changes),)))


@pytest.mark.clause("17025 7.8.7")
def test_a_good_opinion_is_genuine_and_stands_on_the_page_with_whose_it_is() -> None:
    made = make(Plan(content=with_opinion()))
    report = report_on(made)
    assert report.word == "GENUINE", report.lines()
    assert made.view().opinions == (
        (
            "The lead comes from the colour. Based on: cobalt stands beside it. "
            "Expressed by Jonas Lind, quality approver, on 4 March 2026."
        ),
    )


@pytest.mark.refuses("17025 7.8.7")
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        pytest.param({"statement": {"role": "reviewer"}}, "signed as reviewer", id="of somebody not authorised"),
        pytest.param({"statement": {"meaning": "reviewed"}}, "approver, reviewed", id="another meaning"),
        pytest.param({"person": "p-maren.oduya"}, "it is of p-maren.oduya", id="put in another's mouth"),
        pytest.param({"statement": {"digest": "ab" * 32}}, "signs something else", id="signed otherwise"),
        pytest.param({"statement": {"subject": "opinion/O-0002"}}, "signs something else", id="of another opinion"),
        pytest.param({"statement": {"ledger": "ab" * 16}}, "signs something else", id="of another site"),
        pytest.param({"sample": "S-00009"}, "it is on sample S-00009", id="on another sample"),
        pytest.param({"results": ("cd" * 32,)}, "results that do not stand", id="about other results"),
        pytest.param({"basis": " "}, "what it is based on", id="no basis"),
    ],
)
def test_a_lie_about_an_opinion_is_named(changes: dict[str, Any], words: str) -> None:
    found = failed(report_on(make(Plan(content=with_opinion(**changes)))))
    assert words in found["signatures"], found


@pytest.mark.refuses("17025 7.8.7")
def test_an_opinion_changed_after_it_was_signed_is_named() -> None:
    def changed(content: Evidence) -> Evidence:
        good = opinion(content)
        other = replace(good, opinion=replace(good.opinion, text="The lead comes from the clay"))
        return with_printed(replace(content, opinions=(other,)))

    assert "signs something else" in failed(report_on(make(Plan(content=changed))))["signatures"]


@pytest.mark.refuses("17025 7.8.7")
@pytest.mark.parametrize(("part", "instead"), [("Based on", "Proven by"), ("Jonas Lind, quality approver, on", "X on")])
def test_a_page_that_says_otherwise_is_named(part: str, instead: str) -> None:
    made = make(Plan(content=with_opinion()))
    (page,) = made.pages()
    assert part in page
    assert failed(report_on(made, (page.replace(part, instead),))).keys() == {"printed words"}
