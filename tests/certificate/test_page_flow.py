"""Every word of a page, in order, comes out of its view; one word more, fewer or elsewhere does not."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.demo_views import LONG, LOZENGE, WARE

from benchseal.certificate.complete import printable
from benchseal.certificate.page_flow import Flow, drawn_flow, due_flow, flow_faults
from benchseal.certificate.page_form import form_faults
from benchseal.certificate.render import page_html, render
from benchseal.certificate.view import Change, Relation

if TYPE_CHECKING:
    from benchseal.certificate.view import CertificateView

MANY_ROWS = replace(LOZENGE, results=LOZENGE.results * 12)
MANY_NOTES = replace(LOZENGE, notes=tuple(f"Note {number} of many. " * 9 for number in range(1, 40)))
MANY_CHANGES = replace(
    LOZENGE,
    relation=Relation("This certificate replaces C-2026-00003.", "C-2026-00003"),
    changes=tuple(Change(f"place {number}", "before " * 9, "after " * 20) for number in range(60)),
)
LETTERS = [chr(code) for code in range(0x21, 0x2300) if printable(chr(code))]  # a hair space among them
EVERY_LETTER = " ".join("".join(LETTERS[at : at + 9]) for at in range(0, len(LETTERS), 9))
VIEWS = {
    "lozenge": LOZENGE,
    "ware": WARE,
    "long": LONG,
    "twice as long": replace(LONG, runs=LONG.runs * 2, results=LONG.results * 2, signatures=LONG.signatures * 3),
    "rows over pages": MANY_ROWS,
    "notes over pages": MANY_NOTES,
    "changes over pages": MANY_CHANGES,
    "one run": replace(LOZENGE, runs=LOZENGE.runs[:1], results=LOZENGE.results[:1]),
    "every letter the type has": replace(LOZENGE, notes=(EVERY_LETTER, "AV To Ta Te P. T. Y,")),
    "blanks in names": replace(
        LOZENGE,
        laboratory=replace(LOZENGE.laboratory, name="Two  blanks and\u00a0none"),
        runs=(replace(LOZENGE.runs[0], heading=" Zinc,\u00a0 213.9\u00a0nm "), *LOZENGE.runs[1:]),
    ),
    "signs of markup": replace(LOZENGE, notes=("Below 5 < 6 > 4 & more; <b>not bold</b>.",)),
}


def opened(view: CertificateView) -> pikepdf.Pdf:
    raw = render(view, ATTACHED, SEALED_AT)
    assert isinstance(raw, bytes), raw
    return pikepdf.open(io.BytesIO(raw))


def faults(flow: Flow, view: CertificateView) -> list[str]:
    return list(flow_faults(flow, due_flow(page_html(view), view.logo), view.number, view.laboratory.name))


@pytest.mark.parametrize("name", VIEWS)
def test_pages_say_what_their_view_says(name: str) -> None:
    with opened(VIEWS[name]) as pdf:
        assert faults(drawn_flow(pdf), VIEWS[name]) == []
        seals_alone = "0 form fields"  # it is not sealed here
        assert [fault for fault in form_faults(pdf) if seals_alone not in fault] == []


@pytest.fixture(scope="module")
def flow() -> Flow:
    with opened(LOZENGE) as pdf:
        return drawn_flow(pdf)


def test_a_word_more_on_the_last_page(flow: Flow) -> None:
    told = replace(flow, pages=(*flow.pages[:-1], "more" + flow.pages[-1]))
    assert "where the evidence makes it say" in faults(told, LOZENGE)[0]


def test_a_page_less(flow: Flow) -> None:
    assert faults(replace(flow, pages=flow.pages[:-1]), LOZENGE)


def test_a_page_twice(flow: Flow) -> None:
    assert faults(replace(flow, pages=(*flow.pages, flow.pages[-1])), LOZENGE)


def test_pages_exchanged(flow: Flow) -> None:
    assert faults(replace(flow, pages=flow.pages[::-1]), LOZENGE)


def test_a_letter_more_in_a_figure(flow: Flow) -> None:
    assert faults(replace(flow, figures=(flow.figures[0] + "9", *flow.figures[1:])), LOZENGE) == [
        "the figures hold other letters than those that belong to them."
    ]


def test_the_end_left_out(flow: Flow) -> None:
    end = LOZENGE.number + "".join(LOZENGE.laboratory.name.split())
    kept, margin = flow.pages[-1].rsplit(end, 1)
    told = replace(flow, pages=(*flow.pages[:-1], kept[:-30] + end + margin))
    assert "do not say" in faults(told, LOZENGE)[0]
