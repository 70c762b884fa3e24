"""What a laboratory's own template may hold, before any paper is made of it: each rule, broken in one place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from benchseal import shipped
from benchseal.certificate.layout_rules import page_faults, style_faults
from benchseal.certificate.present import view_of
from benchseal.certificate.render import page_html
from benchseal.certificate.trial import invented
from benchseal.records.certificate_template import CertificateTemplate

if TYPE_CHECKING:
    from benchseal.certificate.view import CertificateView

BODY = shipped.template("certificate_body.html.jinja")


@pytest.fixture(scope="module")
def view() -> CertificateView:
    evidence, supplement = invented()
    return view_of(
        evidence,
        release=supplement.release,
        checkpoint=supplement.checkpoint,
        evidence_digest=supplement.evidence_sha256,
    )


def told(view: CertificateView, page: str) -> str:
    template = CertificateTemplate("certificate_template", "CERTIFICATE", "tried", page, "")
    return " ".join(page_faults(page_html(view, (template,)), page_html(view)))


def test_the_programs_own_page_and_blocks_around_it_are_taken(view: CertificateView) -> None:
    assert told(view, BODY) == ""
    blocks = BODY.replace('<section class="found">', '<section class="found"><div class="own">')
    assert told(view, blocks.replace("</section>", "</div></section>", 1)) == ""


@pytest.mark.refuses("17025 7.8.2.1")
@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("row, before_em in part.rows -%}", "row, before_em in part.rows | reverse -%}", "a row of a table"),
        ("<td>{{ row.limit }}</td>", "<td></td><td>{{ row.limit }}</td>", "a row of a table"),
        ("{% if picture %}{{ figures.calibration(picture) }}{% endif %}", "", "its figures"),
        ('<section class="found">', '<section class="found"><style>h1 { top: 0 }</style>', "<style>"),
        ('<section class="found">', '<section class="found" style="position: relative; top: 9mm">', "position"),
        ('<tr><th scope="row">', '<tr dir="rtl"><th scope="row">', "dir"),
    ],
    ids=["reordered", "moved a column", "figure dropped", "another style", "moved", "turned round"],
)
def test_what_a_page_may_not_hold(view: CertificateView, before: str, after: str, said: str) -> None:
    assert before in BODY, "the sample would change nothing"
    assert said in told(view, BODY.replace(before, after))


@pytest.mark.refuses("17025 7.8.2.1")
@pytest.mark.parametrize(
    ("style", "said"),
    [
        ("h1 { display: none }", "display"),
        (".results tr { position: relative; top: -5mm }", "position"),
        (".results { p\\6fsition: relative }", "position"),
        (".results/**/{ transform/**/: scale(2) }", "transform"),
        (".results { margin-top: -9mm }", "below zero"),
        (".results { margin-top: calc(0mm - 9mm) }", "a function"),
        ("p::after { content: 'all complies' }", "content"),
        ("@page { margin: 2mm }", "@page"),
        ("@font-face { font-family: x; src: url(benchseal:fonts/SourceSans3-Regular.ttf) }", "@font-face"),
        ("@media print { .results { color: #fff } }", "@media"),
        ("@import url(https://a.b/c);", "@import"),
        (".found { background-color: url(https://example.org/x) }", "an address"),
        ("} h1 {", "cannot be read"),
    ],
)
def test_what_a_style_may_not_hold(style: str, said: str) -> None:
    assert said in " ".join(style_faults(style))


def test_a_style_of_looks_is_taken() -> None:
    assert [
        *style_faults(".found { border-top: 1pt solid #1f5560; padding-top: 3mm } .results td { font-size: 10pt }")
    ] == []
