"""Where figures stand on the pages this program draws, and how large they are due: on both papers, in own layouts."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import pikepdf
import pytest
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.demo_views import LONG, LOZENGE
from tests.certificate.test_own_template import tried
from tests.certificate.test_page_image import KINDS
from tests.certificate.test_render_german import on_paper
from tests.verify.test_language import LETTERHEAD

from benchseal.certificate.page_flow import drawn_flow, due_flow, flow_faults
from benchseal.certificate.page_form import form_faults
from benchseal.certificate.page_frame import frames
from benchseal.certificate.page_labels import due_figure, placed_faults
from benchseal.certificate.render import page_html, render
from benchseal.records.letterhead import Logo

if TYPE_CHECKING:
    from benchseal.certificate.view import CertificateView

CHART = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="150pt" height="120pt" viewBox="0 0 150 120"><title>A.</title>'
    '<text x="20.0" y="6.5" text-anchor="end" font-size="7.2">0.1</text></svg>'
)
LOGO = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-10 5 70 33"><path d="M-10 5h70v33h-70z" fill="#1f5560"/></svg>'
)


@pytest.mark.parametrize("view", [LOZENGE, LONG], ids=["lozenge", "long"])
def test_figures_stand_where_they_are_due_on_letter_paper(view: CertificateView) -> None:
    raw = render(view, ATTACHED, SEALED_AT, "letter")
    assert isinstance(raw, bytes), raw
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        assert list(form_faults(pdf, sealed=False)) == []
        flow = drawn_flow(pdf)
    assert None not in flow.placed
    assert len(flow.placed) > 1
    due = due_flow(page_html(view), view.logo)
    assert list(flow_faults(flow, due, view.number, view.laboratory.name)) == []


def test_a_logo_of_lines_with_units_of_its_own_is_found_in_its_size() -> None:
    _, raw = on_paper(replace(LETTERHEAD, logo=Logo("svg", LOGO, 20, "A field.")))
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        assert list(form_faults(pdf, sealed=False)) == []
        placed = drawn_flow(pdf).placed
    assert placed[0] is not None
    assert placed[0].size == pytest.approx((75.59, 35.64), abs=0.01)  # 20 mm, and 33 of 70 parts of that
    found = due_figure(
        '<svg viewBox="-10 5 70 33" style="width:20mm;height:9.43mm"><title>A field.</title></svg>', logo=True
    )
    assert list(placed_faults(placed[:1], [found])) == []
    larger = found._replace(size=(80.0, 37.7))
    assert list(placed_faults(placed[:1], [larger])) == [
        "figure 1 is drawn larger or smaller than is due, or with a part of it cut off."
    ]
    assert list(placed_faults(placed[:1], [larger], own_layout=True)) == []


@pytest.mark.parametrize(
    "style",
    [
        ".panel svg { margin-left: 4mm }",
        ".panel svg { border: 1pt solid #1c1d1f; padding: 1mm }",
        ".panel p { margin-left: 3mm }",
        ".rosette { text-align: left } .rosette svg { width: 15mm }",
    ],
)
def test_a_laboratorys_own_layout_may_set_figures_aside_and_frame_them(style: str) -> None:
    assert isinstance(tried(style=style), bytes)


def test_a_figure_that_an_own_layout_lays_at_the_edge_is_refused() -> None:
    found = tried(style=".panel svg { margin-left: 16mm }")
    assert not isinstance(found, bytes)
    assert any("a figure stands in the margin" in one.what for one in found)


def test_a_figure_in_html_is_due_in_its_size_with_its_letters() -> None:
    due = due_figure(CHART, logo=False)
    assert due.size == (200.0, 160.0)  # CSS pixels: 4 to 3 points
    assert due.units == (0.0, 0.0, 150.0, 120.0)
    assert due.texts == ((20.0, 6.5, "end", "0.1"),)
    assert due_figure('<svg viewBox="0 0 100 100"></svg>', logo=False).size == pytest.approx((79.37, 79.37), abs=0.01)


FRAME = (
    b"\nq\n10 20 30 40 re\nW\nn\n/Figure\n<</MCID 7>>\nBDC\nq\n/a1 gs\n1 0 0 1 10 20 cm\nq\nq\n1 0 0 1 0 0 cm\n"
    b"0.5 0 0 0.5 1 2 cm\nQ\n"
)


def test_a_frame_is_read_as_the_renderer_writes_it() -> None:
    assert frames(FRAME) == {7: (10.0, 20.0, 0.5, 1.0, 2.0, (10.0, 20.0, 30.0, 40.0))}


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (b"0.5 0 0 0.5", b"0.5 0 0 0.4"),
        (b"0.5 0 0 0.5", b"-0.5 0 0 0.5"),
        (b"0.5 0 0 0.5", b"0.5 0.1 0 0.5"),
        (b"1 0 0 1 0 0 cm", b"2 0 0 2 0 0 cm"),
        (b"W\nn", b"W*\nn"),
        (b"/a1 gs\n", b""),
    ],
    ids=["uneven", "mirrored", "sheared", "sized twice", "another rule of clipping", "without its state"],
)
def test_a_frame_written_otherwise_is_none(before: bytes, after: bytes) -> None:
    assert before in FRAME
    assert frames(FRAME.replace(before, after)) == {}


@pytest.mark.parametrize(
    "words", ['Two  blanks & \u201cquotes\u201d, "x" <y>', " a blank before and after ", "\u00a0no break"]
)
@pytest.mark.parametrize("kind", ["svg", "png"])
def test_the_words_of_a_logo_are_read_aloud_as_they_stand(kind: Literal["svg", "png"], words: str) -> None:
    data = LOGO if kind == "svg" else KINDS["colours"]
    _, raw = on_paper(replace(LETTERHEAD, logo=Logo(kind, data, 20, words)))
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        assert drawn_flow(pdf).told[0] == words
