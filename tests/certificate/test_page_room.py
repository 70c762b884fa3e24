"""Room on the page: heads of long names and addresses, results and methods in one line, columns of checks apart."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.demo_views import LOZENGE, WARE

from benchseal.certificate.language import Words
from benchseal.certificate.long_papers import crowds
from benchseal.certificate.page_drawing import Drawing
from benchseal.certificate.page_form import form_faults
from benchseal.certificate.page_letters import said as letters_said
from benchseal.certificate.page_words import said_of
from benchseal.certificate.render import render
from benchseal.certificate.view import CheckLine, standing_cautions
from benchseal.records.letterhead import Logo
from benchseal.records.printed_form import PrintedForm

if TYPE_CHECKING:
    from benchseal.certificate.view import CertificateView
    from benchseal.records.site_rules import Paper

GERMAN = Words(PrintedForm("de", ",", "", "d. MMMM y"))
NAME = "Tern Quay Laboratory"
ADDRESS = (
    *("Gemeinsames Prüflaboratorium", "4 Tern Quay", "Sandling Harbour", "SH1 4TQ", "Telephone 01 23 45 67"),
    *("lab@ternquay.example", "www.ternquay.example", "Register 12345 of Sandling"),
)
LINES = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 30"><path d="M0 0 L60 30 Z" fill="#1f5560"/></svg>'


def headed(name: str, address: tuple[str, ...], logo_mm: int = 0) -> CertificateView:
    logo = Logo("svg", LINES, logo_mm, "A line falling.") if logo_mm else None
    return replace(WARE, laboratory=replace(WARE.laboratory, name=name, address=address), logo=logo)


def faults(view: CertificateView, paper: Paper = "") -> list[str]:
    raw = render(view, ATTACHED, SEALED_AT, paper)
    assert isinstance(raw, bytes), raw
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        return list(form_faults(pdf, sealed=False))


@pytest.mark.parametrize("paper", ["", "letter"])
@pytest.mark.parametrize("logo_mm", [0, 40])
def test_a_head_carries_an_address_of_eight_lines(logo_mm: int, paper: Paper) -> None:
    """Name and address beside each other would have lines of two sizes meet, which the check of the page refuses."""
    assert faults(headed(NAME, ADDRESS, logo_mm), paper) == []


@pytest.mark.parametrize(("name", "address"), [("W" * 120, ADDRESS), (NAME, ("M" * 200,)), (f"{NAME} & " * 4, ADDRESS)])
def test_a_head_breaks_a_word_without_an_end(name: str, address: tuple[str, ...]) -> None:
    assert faults(headed(name, address, 16)) == []


def test_name_and_address_stand_side_by_side_where_one_line_holds_them() -> None:
    assert not crowds(NAME, "4 Tern Quay, 27570 Seehafen", 40)
    assert crowds(NAME, ", ".join(ADDRESS))
    assert crowds(NAME, "4 Tern Quay, 27570 Seehafen" * 2, 70)


def said(view: CertificateView, paper: Paper = "") -> list[str]:
    raw = render(view, ATTACHED, SEALED_AT, paper)
    assert isinstance(raw, bytes), raw
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        return [text for page in pdf.pages for text, in_figure, _ in said_of(Drawing(page)) if not in_figure]


def test_result_and_method_of_a_common_length_are_not_broken() -> None:
    row = replace(
        WARE.results[0],
        value="0.0207",
        expanded="0.0014",
        unit="mg/dm²",
        coverage="k = 2",
        limit="90.0 to 110.0 % of claim",
        method="cadmium-flame-ware@1",
    )
    words = said(replace(WARE, results=(row,)))
    assert "cadmium-flame-ware@1" in words
    assert "(k = 2)" in " ".join(words)
    assert not [text for text in words if text.endswith((" (k", " (k ="))]
    narrow = replace(row, expanded="0.00000000014", value="0.00000000207")
    broken = said(replace(WARE, results=(narrow,)))
    assert "(k = 2)" in broken, "where it does not fit, what stands in brackets goes to the next line whole"


def test_columns_of_checks_in_german_stand_apart() -> None:
    checks = (
        CheckLine("Kontrolllösung, 4", "96,2 bis 101 %", "90 bis 110 %", "erfüllt", "complies"),
        CheckLine("Wiederfindung, 2", "95,1 bis 96,2 %", "75 bis 125 %", "nicht erfüllt", "fails"),
    )
    runs = tuple(replace(LOZENGE.runs[0], checks=checks) for _ in range(6))
    view = replace(LOZENGE, runs=runs, words=GERMAN, limits_and_cautions=standing_cautions(GERMAN))
    raw = render(view, (), SEALED_AT, "letter")
    assert isinstance(raw, bytes), raw
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        drawn = [Drawing(page) for page in pdf.pages]
    runs_of = [
        (letters_said(run, letters).strip(), word)
        for one in drawn
        for (run, letters, _), word in zip(one.lettered, one.words, strict=True)
    ]
    texts = [text for text, _ in runs_of]
    bases = [{(round(word.base, 1)) for text, word in runs_of if text == half} for half in ("90 bis", "110 %")]
    assert bases[0], "both rows of panels"
    assert bases[0] == bases[1], "an interval that has room is not broken"
    assert not [text for text in texts if text.endswith("erfüll")]
    names = [word for text, word in runs_of if text in {"Kontrolllösung,", "Wiederfindung,"}]
    assert len(names) == 12
    for name in names:
        after = min(word.begin for _, word in runs_of if word.base == name.base and word.begin > name.end)
        assert after - name.end > 1.8 * 0.2 * name.height, "words of one text stand 0.2 of their height apart"
