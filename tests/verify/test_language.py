"""A certificate in German: genuine as it is, and every tampering with its language, signs or order named. Invented."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.verify.making import Made, Plan, make
from tests.verify.test_contents import failed, report_on

from benchseal.certificate.present import with_printed
from benchseal.certificate.words_de import DE
from benchseal.certificate.words_en import EN
from benchseal.records.canonical import digest
from benchseal.records.letterhead import LETTERHEAD_ID, Letterhead, LetterheadWords, Logo
from benchseal.records.printed_form import USUAL_FORM, PrintedForm, in_order
from benchseal.records.run import DocumentRef
from benchseal.records.shape import record_bytes

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.records.evidence import Evidence

GERMAN = PrintedForm("de", ",", "", "d. MMMM y")
LETTERHEAD = Letterhead(
    kind="letterhead",
    id=LETTERHEAD_ID,
    title="Letterhead",
    laboratory="Tern Quay Laboratory",
    address="4 Tern Quay\n27570 Seehafen",
    logo=Logo("none", "", 20, ""),
    words=(
        LetterheadWords("en", "Not accredited; invented.", "Tern Quay, invented"),
        LetterheadWords("de", "Nicht akkreditiert; erfunden.", "Tern Quay, erfunden"),
    ),
)


def printed_as(form: PrintedForm) -> Callable[[Evidence], Evidence]:
    return lambda content: with_printed(replace(content, form=form))


@pytest.fixture(scope="module")
def german() -> Made:
    return make(Plan(content=printed_as(GERMAN)))


def test_a_german_certificate_is_genuine_and_speaks_german(german: Made) -> None:
    report = report_on(german)
    assert report.word == "GENUINE", report.lines()
    (said,) = [check.said for check in report.checks if check.name == "printed language"]
    assert said == "German, decimals after a comma, as the evidence says."
    lead, cadmium = german.view().results
    assert (lead.substance, lead.phrase, lead.limit) == ("Blei", "0,249 ± 0,031 µg/g (k = 2)", "höchstens 0,50")
    assert lead.detail == "Teilproben 0,250 und 0,248 µg/g"
    assert (cadmium.phrase, cadmium.verdict) == ("< 0,050 µg/g", "entspricht")
    assert german.view().title == "Analysenzertifikat"
    assert german.view().item.measured_on == "2. März 2026"


def test_no_english_word_of_the_catalogue_stands_on_a_german_page(german: Made) -> None:
    (page,) = german.pages()
    english = make().view()
    for text in (english.title, english.uncertainty, english.conformity.conclusion, english.conformity.decision_rule):
        assert text not in page
    parts = [part.strip(" .:;,") for text in EN.values() for part in re.split(r"\{[a-z_]+\}", text)]
    english_words = {part for part in parts if len(part) > 12 and part not in "".join(DE.values())}
    assert len(english_words) > 100
    assert {part for part in english_words if part in page} == set()


def test_the_record_of_the_conclusion_stays_the_same_in_any_language(german: Made) -> None:
    assert german.evidence.certificate.conclusion == make().evidence.certificate.conclusion


def test_a_page_in_the_other_language_than_its_evidence_is_named(german: Made) -> None:
    english = make().pages()
    found = failed(report_on(german, english))
    assert "the page has a title in English; the evidence names German." in found["printed language"]
    assert found.keys() == {"printed language", "printed rows", "printed words"}


def test_evidence_whose_language_is_swapped_after_signing_is_named(german: Made) -> None:
    swapped = make(Plan(content=printed_as(GERMAN), evidence=lambda one: replace(one, form=USUAL_FORM)))
    found = failed(report_on(swapped, german.pages()))
    assert {"signatures", "printed language", "printed rows", "printed words"} <= found.keys()
    assert "nobody signed" in found["signatures"] or "due is" in found["signatures"]


def test_rows_of_a_swapped_language_are_not_those_that_follow(german: Made) -> None:
    """The liar also writes the page anew: the rows in the evidence still are those of the other language."""
    swapped = make(Plan(content=lambda one: replace(with_printed(one), form=GERMAN)))
    assert "printed rows" in failed(report_on(swapped, german.pages()))


@pytest.mark.parametrize(
    ("old", "new"),
    [("0,249 ± 0,031", "0.249 ± 0.031"), ("0,249 ±", "0.249 ±"), ("höchstens 0,50", "höchstens 0.50")],
)
def test_an_altered_decimal_sign_is_named(german: Made, old: str, new: str) -> None:
    (page,) = german.pages()
    found = failed(report_on(german, (page.replace(old, new, 1),)))
    assert "stands on the page, but with another sign in a number." in found["printed rows"]


@pytest.mark.parametrize(
    ("old", "new", "check"),
    [
        ("0,249", "0,149", "printed rows"),
        ("Blei", "Zink", "printed rows"),
        ("entspricht", "entspricht nicht", "printed rows"),
        ("beide Ergebnisse entsprechen der Spezifikation", "alle Ergebnisse gut", "printed words"),
        ("2. März 2026", "3. März 2026", "printed words"),
        ("Ich genehmige", "Ich empfehle", "printed words"),
        ("Die Ergebnisse beziehen sich nur", "Die Ergebnisse beziehen sich", "printed words"),
    ],
)
def test_an_altered_german_page_is_named(german: Made, old: str, new: str, check: str) -> None:
    (page,) = german.pages()
    assert old.casefold() in page.casefold()
    altered = page.replace(old, new).replace(old[:1].upper() + old[1:], new)
    assert check in failed(report_on(german, (altered,)))


@pytest.mark.parametrize("form", [GERMAN, replace(GERMAN, group="."), replace(GERMAN, date="dd.MM.y", decimal=".")])
def test_each_form_is_compared_in_its_own_signs(form: PrintedForm) -> None:
    made = make(Plan(content=printed_as(form)))
    assert report_on(made).word == "GENUINE"
    other = replace(form, decimal="," if form.decimal == "." else ".", group="")
    lied = make(Plan(content=printed_as(other)))
    assert "printed rows" in failed(report_on(made, lied.pages()))


def test_signs_that_can_be_read_in_two_ways_are_named() -> None:
    found = failed(report_on(make(Plan(content=printed_as(replace(GERMAN, group=","))))))
    assert "for both decimals and groups" in found["printed language"]


# The customer's order


def ordered(content: Evidence, order: tuple[str, ...]) -> Evidence:
    form = replace(GERMAN, order=order)
    results = tuple(in_order(content.results, lambda one: one.result.element, order))
    return with_printed(replace(content, form=form, results=results))


def test_results_stand_in_the_order_the_customer_named() -> None:
    made = make(Plan(content=lambda content: ordered(content, ("Cd",))))
    assert [row.substance for row in made.view().results] == ["Cadmium", "Blei"]
    assert report_on(made).word == "GENUINE"


def test_another_order_than_the_one_named_is_named() -> None:
    lied = make(Plan(content=lambda content: replace(ordered(content, ("Cd",)), form=GERMAN)))
    assert "results asked for" in failed(report_on(lied))


def test_those_without_a_place_follow_as_they_stood() -> None:
    assert in_order(["Zn", "Pb", "Cd", "Pb"], str, ("Cd", "As")) == ["Cd", "Zn", "Pb", "Pb"]
    assert in_order(["Zn", "Pb"], str, ()) == ["Zn", "Pb"]


# The letterhead


def headed(content: Evidence, letterhead: Letterhead = LETTERHEAD, sha256: str = "") -> Evidence:
    ref = DocumentRef(LETTERHEAD_ID, 1, sha256 or digest(record_bytes(letterhead)))
    return with_printed(replace(content, form=GERMAN, letterhead=(letterhead,), letterhead_ref=(ref,)))


def test_the_words_of_the_letterhead_stand_on_the_page_in_its_language() -> None:
    made = make(Plan(content=headed))
    assert (made.view().accreditation, made.view().foot) == ("Nicht akkreditiert; erfunden.", "Tern Quay, erfunden")
    assert report_on(made).word == "GENUINE"
    (page,) = made.pages()
    found = failed(report_on(made, (page.replace("Nicht akkreditiert", "Akkreditiert"),)))
    assert "accreditation 'Nicht akkreditiert; erfunden.'" in found["printed words"]


@pytest.mark.parametrize(
    ("lie", "said"),
    [
        (lambda content: headed(content, sha256="00" * 32), "not the version named"),
        (lambda content: replace(headed(content), letterhead_ref=()), "not the version named"),
        (lambda content: headed(content, replace(LETTERHEAD, laboratory="Another Laboratory")), "Another Laboratory"),
    ],
    ids=["digest", "no version", "another laboratory"],
)
def test_a_letterhead_that_was_not_approved_is_named(lie: Callable[[Evidence], Evidence], said: str) -> None:
    assert said in failed(report_on(make(Plan(content=lie))))["documents"]
