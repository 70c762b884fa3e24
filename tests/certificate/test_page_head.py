"""What a file says of itself: each rule, broken in one place. Cases made here."""

from __future__ import annotations

import io
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.demo_views import LOZENGE

from benchseal.certificate.page_head import Head, drawn_head, due_head, head_faults, own_faults
from benchseal.certificate.render import page_html, render

if TYPE_CHECKING:
    from collections.abc import Iterator

OTHERWISE = "the file's metadata say something else of it than its document information."


@pytest.fixture
def pdf(raw: bytes) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(raw)) as opened:
        yield opened


@pytest.fixture(scope="module")
def due() -> Head:
    return due_head(page_html(LOZENGE))


def test_a_sound_file(pdf: pikepdf.Pdf, due: Head) -> None:
    assert list(own_faults(pdf)) == []
    assert list(head_faults(drawn_head(pdf), due)) == []
    assert all((due.title, due.author, due.subject, due.program, due.language, due.headings))


@pytest.mark.parametrize("name", ["title", "author", "subject", "program", "language"])
def test_each_line_of_the_head(pdf: pikepdf.Pdf, due: Head, name: str) -> None:
    told: Any = {one.name: getattr(drawn_head(pdf), one.name) for one in fields(Head)}
    assert list(head_faults(Head(**told | {name: "Cadmium complies"}), due)) == [
        f"the file says of itself, as its {name}, 'Cadmium complies' where {getattr(due, name)!r} is due."
    ]


def test_headings(pdf: pikepdf.Pdf, due: Head) -> None:
    told = drawn_head(pdf)
    fault = "its bookmarks are not the headings of the page, one by one: "
    few, other, turned = told.headings[:-1], (*told.headings[:-1], "comply"), told.headings[::-1]
    assert list(head_faults(replace(told, headings=few), due)) == [f"{fault}''."]
    assert list(head_faults(replace(told, headings=other), due)) == [f"{fault}'comply'."]
    assert list(head_faults(replace(told, headings=turned), due)) == [f"{fault}''."]


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("/Keywords", "complies", "/Keywords"),
        ("/CreationDate", "yesterday", "times"),
        ("/ModDate", "D:20260119092218+01'00", "times"),
        ("/Producer", "complies", "times"),
    ],
)
def test_the_document_information(pdf: pikepdf.Pdf, name: str, value: str, said: str) -> None:
    pdf.docinfo[name] = value
    assert list(own_faults(pdf)) == [f"the file says more of itself than a certificate does, or otherwise ({said})."]


@pytest.mark.parametrize("name", ["/Title", "/Author", "/Subject", "/Creator"])
def test_the_document_information_alone(pdf: pikepdf.Pdf, name: str) -> None:
    pdf.docinfo[name] = "other"
    assert list(own_faults(pdf)) == [OTHERWISE]


@pytest.mark.parametrize("name", ["/CreationDate", "/ModDate"])
def test_another_time(pdf: pikepdf.Pdf, name: str) -> None:
    pdf.docinfo[name] = "D:20200101000000Z"
    assert list(own_faults(pdf)) == [OTHERWISE]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("Certificate of analysis", "Cadmium complies"),
        ("</rdf:RDF>", '<rdf:Description rdf:about=""><dc:title>more</dc:title></rdf:Description></rdf:RDF>'),
        ("</rdf:RDF>", "<!-- complies --></rdf:RDF>"),
        ("<x:xmpmeta", '<!DOCTYPE x [<!ENTITY a "complies">]><x:xmpmeta'),
        ("dc:creator", "dc:publisher"),
        ('pdfaid:part="3"', 'pdfaid:part="1"'),
        ("<dc:title>", '<dc:title a="complies">'),
        ("x-default", "de"),
    ],
)
def test_the_metadata(pdf: pikepdf.Pdf, old: str, new: str) -> None:
    told = pdf.Root.Metadata.read_bytes()
    assert old.encode() in told
    pdf.Root.Metadata.write(told.replace(old.encode(), new.encode()))
    assert list(own_faults(pdf)) == [OTHERWISE]


def test_author_and_subject_exchanged_in_the_metadata(pdf: pikepdf.Pdf) -> None:
    told = pdf.Root.Metadata.read_bytes()
    author, subject = (str(pdf.docinfo[name]).encode() for name in ("/Author", "/Subject"))
    pdf.Root.Metadata.write(told.replace(author, b"?").replace(subject, author).replace(b">?<", b">" + subject + b"<"))
    assert list(own_faults(pdf)) == [OTHERWISE]


def test_no_metadata(pdf: pikepdf.Pdf) -> None:
    del pdf.Root.Metadata
    assert list(own_faults(pdf)) == [OTHERWISE]


def test_signs_of_markup_are_told_alike() -> None:
    view = replace(LOZENGE, item=replace(LOZENGE.item, lot="A & \"B\" <1>'2'"))
    raw = render(view, ATTACHED, SEALED_AT)
    assert isinstance(raw, bytes), raw
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        assert "A & " in str(pdf.docinfo["/Subject"])
        assert list(own_faults(pdf)) == []
        assert list(head_faults(drawn_head(pdf), due_head(page_html(view)))) == []
