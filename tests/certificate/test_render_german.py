"""A German certificate on paper: read back from the PDF, in its language and signs, under its letterhead. Invented."""

from __future__ import annotations

import io
from base64 import b64encode
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.pictures.test_logo import png
from tests.verify.making import Made, Plan, make, trust
from tests.verify.test_language import LETTERHEAD, headed

from benchseal.certificate.issue import render_certificate
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.view import row_is_printed
from benchseal.pictures.logo import png_bytes
from benchseal.records.letterhead import Letterhead, Logo
from benchseal.verify.certificate import contents_checks
from benchseal.verify.report import Report

if TYPE_CHECKING:
    from benchseal.records.evidence import Evidence

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 30"><path d="M0 0 L60 30 Z" fill="#1f5560"/></svg>'
WITH_SVG = replace(LETTERHEAD, logo=Logo("svg", SVG, 20, "A line falling."))
WITH_PNG = replace(LETTERHEAD, logo=Logo("png", png(), 20, "A black field."))


def on_paper(letterhead: Letterhead) -> tuple[Made, bytes]:
    def content(evidence: Evidence) -> Evidence:
        return headed(evidence, letterhead)

    made = make(Plan(content=content))
    raw = render_certificate(made.evidence_bytes, made.supplement_bytes)
    assert isinstance(raw, bytes), raw
    return made, raw


@pytest.fixture(scope="module")
def german() -> tuple[Made, bytes]:
    return on_paper(WITH_SVG)


def pages_of(raw: bytes) -> tuple[str, ...]:
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        return page_texts(pdf)


def test_the_page_read_back_from_paper_is_what_the_evidence_says(german: tuple[Made, bytes]) -> None:
    made, raw = german
    pages = pages_of(raw)
    assert all(row_is_printed(row, pages) for row in made.view().results)
    report = Report(contents_checks(made.evidence_bytes, made.supplement_bytes, pages, trust()))
    assert report.word == "GENUINE", report.lines()


def test_the_file_says_its_language_and_counts_its_pages_in_it(german: tuple[Made, bytes]) -> None:
    _, raw = german
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        assert str(pdf.Root.Lang) == "de"
    pages = pages_of(raw)
    for number, page in enumerate(pages, start=1):
        assert f"Seite {number} von {len(pages)}" in page
        assert "Tern Quay, erfunden" in page


def test_no_word_of_a_check_is_broken(german: tuple[Made, bytes]) -> None:
    _, raw = german
    text = " ".join(" ".join(pages_of(raw)).split())
    assert "erfüllt" in text
    for word in ("erfül", "Wiederfindu", "Kontrolllösu"):
        assert text.count(word) == text.count({"erfül": "erfüllt"}.get(word, f"{word}ng"))


@pytest.mark.parametrize("letterhead", [LETTERHEAD, WITH_SVG, WITH_PNG], ids=["none", "svg", "png"])
def test_a_letterhead_is_the_same_paper_every_time_and_fetches_nothing(letterhead: Letterhead) -> None:
    _, raw = on_paper(letterhead)
    assert on_paper(letterhead)[1] == raw
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        images = [one for one in pdf.objects if isinstance(one, pikepdf.Stream) and one.get("/Subtype") == "/Image"]
        assert len(pdf.pages) >= 1
        fonts = {str(font.BaseFont).partition("+")[2] for page in pdf.pages for font in page.Resources.Font.values()}
    assert all(font.startswith("Certificate") for font in fonts), fonts
    assert bool(images) == (letterhead.logo.kind == "png")


def test_a_logo_that_is_not_taken_is_never_printed() -> None:
    """Evidence made by somebody else may hold anything; the page is refused, not drawn."""
    bad = b64encode(png_bytes(png()).replace(b"IEND", b"tEXt")).decode()
    for logo in (Logo("png", bad, 20, "x"), Logo("svg", SVG.replace("path", "image"), 20, "x")):
        made = make(Plan(content=lambda evidence, logo=logo: headed(evidence, replace(LETTERHEAD, logo=logo))))  # type: ignore[misc]
        found = render_certificate(made.evidence_bytes, made.supplement_bytes)
        assert isinstance(found, tuple)
        assert [one.code for one in found] == ["certificate.logo-unfit"]
