"""Who sampled: one reading of the register's words for the page and for what is due, so that they never disagree."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.verify.making import Made, make

from benchseal.certificate.due import due_problems
from benchseal.certificate.present import view_of
from benchseal.certificate.sampler import sampler
from benchseal.records.printed_form import USUAL_FORM
from benchseal.records.registers import Customer

if TYPE_CHECKING:
    from benchseal.certificate.view import CertificateView
    from benchseal.records.evidence import Evidence

LABORATORY = "Tern Quay Laboratory"
CUSTOMER = Customer("alder", "Alder Lozenge Works", "1 Mill Lane", "")
OURS = (
    "Tern Quay Laboratory",
    "Tern Quay laboratory",
    "  tern  quay\tLABORATORY ",
    "Tern Quay Lab",
    "Tern Quay Laboratory Ltd.",
    "Maren Holt, Tern Quay Laboratory",
    "Maren Holt (the laboratory)",
    "the laboratory",
    "The Laboratory.",
    "laboratory",
    "lab",
    "by the laboratory",
    "staff of the laboratory",
    "our own laboratory",
    "das Labor",
    "durch das Labor",
    "Labor",
    "us",
)
RECEIVED = "die Ergebnisse gelten für die Probe, wie sie eingegangen ist."
THEIRS = (
    "the customer",
    "The customer",
    "customer",
    "der Auftraggeber",
    "Kunde",
    "alder",
    "ALDER",
    "alder lozenge works",
)
OTHERS = ("Harbour Control", "the customer's laboratory", "laboratory of the harbour", "Tern Quay Harbour")
NOBODY = ("", "  ", "-", "?", "n/a", "unknown")


@pytest.fixture(scope="module")
def made() -> Made:
    return make()


def told(made: Made, wording: int = 4, **row: str) -> Evidence:
    facts = made.evidence.certificate
    sample = replace(facts.sample, row=replace(facts.sample.row, **row))
    return replace(made.evidence, wording=wording, certificate=replace(facts, sample=sample))


def page(evidence: Evidence) -> CertificateView:
    return view_of(evidence, release=None, checkpoint=None, evidence_digest="", draft=True)


@pytest.mark.parametrize(
    ("texts", "means"), [(OURS, "laboratory"), (THEIRS, "customer"), (OTHERS, "other"), (NOBODY, "unrecorded")]
)
def test_words_of_the_register_are_read(texts: tuple[str, ...], means: str) -> None:
    assert {text: sampler(text, LABORATORY, CUSTOMER) for text in texts} == dict.fromkeys(texts, means)


def test_a_customer_named_like_the_laboratory_of_another_name_is_the_customer() -> None:
    works = replace(CUSTOMER, name="Tern Quay Laboratory Supplies")
    assert sampler("Tern Quay Laboratory supplies", LABORATORY, works) == "customer"
    assert sampler("Tern Quay Laboratory", LABORATORY, replace(CUSTOMER, name=LABORATORY)) == "laboratory"


@pytest.mark.refuses("17025 7.8.2.1")
@pytest.mark.parametrize("text", OURS)
def test_sampled_by_the_laboratory_in_any_words_plan_and_date_are_due(made: Made, text: str) -> None:
    bare = told(made, sampled_by=text, sampled_on="", sampling_plan="")
    view = page(bare)
    assert view.item.sampling == "Sampled by the laboratory."
    assert {problem.where for problem in due_problems(view, bare)} == {"item.sampling", "item.sampled_on"}


@pytest.mark.clause("17025 7.8.2.2")
@pytest.mark.parametrize("text", OURS)
def test_the_date_of_its_own_sampling_is_not_called_the_customers(made: Made, text: str) -> None:
    own = told(made, sampled_by=text, sampled_on="2026-01-08", sampling_plan="SP-3, five of each carton")
    view = page(own)
    assert view.item.sampling == "Sampled by the laboratory: SP-3, five of each carton."
    assert view.item.sampled_on
    assert view.item.stated_by_customer == "product, lot and designation of the sample"
    assert not list(due_problems(view, own))


@pytest.mark.parametrize("text", [*THEIRS, *OTHERS, *NOBODY])
def test_sampled_by_others_nothing_of_sampling_is_due(made: Made, text: str) -> None:
    theirs = told(made, sampled_by=text, sampled_on="", sampling_plan="")
    assert not list(due_problems(page(theirs), theirs))
    assert "by the laboratory" not in page(theirs).item.sampling


@pytest.mark.clause("17025 7.8.2.2")
@pytest.mark.parametrize(
    ("language", "words"),
    [
        ("en", "Who sampled is not on record; the results apply to the sample as received."),
        (
            "de",
            f"Wer die Probe genommen hat, ist nicht festgehalten; {RECEIVED}",
        ),
    ],
)
def test_nothing_on_record_is_said_as_that(made: Made, language: str, words: str) -> None:
    form = replace(USUAL_FORM, language=language)  # type: ignore[arg-type]
    assert page(replace(told(made, sampled_by=""), form=form)).item.sampling == words


def test_a_page_of_form_3_says_what_it_said(made: Made) -> None:
    """Sealed certificates are compared word for word with what their own form said."""
    said = {
        text: page(told(made, 3, sampled_by=text, sampled_on="2026-01-08", sampling_plan="")).item
        for text in ("", "the laboratory", LABORATORY, "the customer")
    }
    assert said[""].sampling == "The laboratory did not sample; the results apply to the sample as received."
    assert said["the laboratory"].sampling.startswith("Sampled by the laboratory; the results apply")
    assert said[LABORATORY].sampling == "Sampled by the laboratory."
    assert said["the customer"].sampling.startswith("Sampled by the customer; ")
    assert {one.stated_by_customer for one in said.values()} == {
        "product, lot, designation of the sample and date of sampling"
    }
