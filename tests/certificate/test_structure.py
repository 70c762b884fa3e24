"""The points of structure hold of every page this room makes; each point is found where it is broken."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.certificate.conftest import ATTACHED, SEALED_AT
from tests.certificate.demo_views import LONG, LOZENGE, WARE
from tests.certificate.structure import Thing, elements, every_fault

from benchseal import shipped
from benchseal.certificate import wording
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.render import render
from benchseal.certificate.view import Relation

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from benchseal.certificate.view import CertificateView

MANY = replace(
    LOZENGE,
    results=tuple(replace(LOZENGE.results[at % 6], quantity=f"portion {at}") for at in range(90)),
)
AMENDED = replace(
    LOZENGE,
    relation=Relation("Replaces certificate TQ-2025-0999, because the mass was wrong.", "TQ-2025-0999"),
    opinions=("The lot is like the one before.",),
)
VIEWS = {"lozenge": LOZENGE, "ware": WARE, "long texts": LONG, "ninety results": MANY, "amended": AMENDED}


def made(view: CertificateView) -> bytes:
    data = render(view, () if view.unsealed_mark else ATTACHED, SEALED_AT)
    assert isinstance(data, bytes), data
    return data


@pytest.mark.parametrize("name", VIEWS)
def test_a_certificate_is_built_as_an_archive_file_with_tags(name: str) -> None:
    assert every_fault(made(VIEWS[name])) == []


@pytest.mark.parametrize("mark", ["DRAFT", "PRELIMINARY"])
def test_so_is_an_unsealed_paper(mark: str) -> None:
    assert every_fault(made(replace(LOZENGE, unsealed_mark=mark, signatures=()))) == []  # type: ignore[arg-type]


def test_the_seal_leaves_it_so(sealed: bytes) -> None:
    assert every_fault(sealed, sealed=True) == []


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not installed")
def test_qpdf_finds_no_fault_in_the_sealed_file(sealed: bytes, tmp_path: Path) -> None:
    (tmp_path / "sealed.pdf").write_bytes(sealed)
    done = subprocess.run(  # noqa: S603
        ["qpdf", "--check", str(tmp_path / "sealed.pdf")],  # noqa: S607
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
@pytest.mark.parametrize("name", VIEWS)
def test_read_by_its_tags_and_read_by_eye_it_goes_the_same_way(name: str, tmp_path: Path) -> None:
    """Poppler orders words by where they stand; texts are painted as they are structured (``structure.tags``)."""
    view = VIEWS[name]
    (tmp_path / "raw.pdf").write_bytes(made(view))
    command = ["pdftotext", "-layout", str(tmp_path / "raw.pdf"), "-"]
    seen = subprocess.run(command, capture_output=True, text=True, check=True).stdout  # noqa: S603
    with pikepdf.open(tmp_path / "raw.pdf") as pdf:
        painted = " ".join(page_texts(pdf))
    rows = [f"{row.substance} {row.quantity} {row.value}" for row in view.results]
    order = [view.title, "Customer", view.conformity.conclusion, *rows, "Decision rule:", "How it was measured"]
    for text in ("".join(seen.split()), "".join(painted.split())):
        at = 0
        for words in order:
            at = text.index("".join(words.split()), at) + 1


def _first(pdf: pikepdf.Pdf, kind: str) -> Thing:
    return next(one for one in elements(pdf) if str(one.S) == kind)


def _action(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="app.alert(1)")


def _bare_text(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0]
    page.contents_add(b"BT /F1 9 Tf (x) Tj ET")


def _four_inks(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].contents_add(b"/Artifact BMC 0 0 0 1 k EMC")


def _link(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Annots = pikepdf.Array([pikepdf.Dictionary(Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Link, F=2,
                                                            Rect=[0, 0, 9, 9])])  # fmt: skip


def _no_headers(pdf: pikepdf.Pdf) -> None:
    del _first(pdf, "/TD").A["/Headers"]


def _no_words(pdf: pikepdf.Pdf) -> None:
    del _first(pdf, "/Figure")["/Alt"]


def _other_title(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo.Title = "another one"


def _file_twice(pdf: pikepdf.Pdf) -> None:
    pdf.Root.AF.append(pdf.Root.AF[0])


def _font_not_ours(pdf: pikepdf.Pdf) -> None:
    font = next(one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and "/DescendantFonts" in one)
    font.BaseFont = pikepdf.Name("/ABCDEF+Sans")


def _no_intent(pdf: pikepdf.Pdf) -> None:
    del pdf.Root["/OutputIntents"]


def _outside(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Contents["/F"] = pikepdf.String("elsewhere.txt")


def _other_order(pdf: pikepdf.Pdf) -> None:
    body = pdf.Root.StructTreeRoot.K[0].K
    body[0], body[1] = body[1], body[0]


def _two_names(pdf: pikepdf.Pdf) -> None:
    first, second = [one for one in elements(pdf) if "/ID" in one][:2]
    second.ID = first.ID


def _heading_skipped(pdf: pikepdf.Pdf) -> None:
    _first(pdf, "/H2").S = pikepdf.Name.H4


def _without(key: str) -> Callable[[pikepdf.Pdf], None]:
    return lambda pdf: pdf.Root.__delitem__(key)


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        (_action, "/OpenAction"), (_bare_text, "outside any mark"), (_four_inks, "four inks"), (_link, "annotation"),
        (_no_headers, "without a header"), (_no_words, "without a sentence"), (_other_title, "XMP"),
        (_file_twice, "twice"), (_font_not_ours, "another family"), (_no_intent, "output intents"),
        (_outside, "in a stream"), (_other_order, "goes another way"), (_two_names, "one name"),
        (_heading_skipped, "a heading of level"), (_without("/Lang"), "language"), (_without("/MarkInfo"), "marked"),
        (_without("/ViewerPreferences"), "title is not shown"), (_without("/StructTreeRoot"), "no structure"),
        (_without("/Metadata"), "no XMP"), (_without("/Names"), "other files"),
    ],
)  # fmt: skip
def test_each_fault_is_found(raw: bytes, broken: Callable[[pikepdf.Pdf], None], said: str) -> None:
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        broken(pdf)
        out = io.BytesIO()
        pdf.save(out)
    found = every_fault(out.getvalue())
    assert any(said in one for one in found), found


def test_bytes_after_the_end_are_found(raw: bytes) -> None:
    assert any("after" in one or "follows" in one for one in every_fault(raw + b"more"))
    assert every_fault(raw.replace(b"%PDF-1.7", b"%PDF-1.4", 1))


def test_a_verdict_is_said_in_words_that_are_its_own() -> None:
    """Colour and weight follow from the words, so they add nothing: in sixteen greys the page says the same."""
    kinds: dict[str, set[str]] = {}
    for words, kind in wording.VERDICTS.values():
        kinds.setdefault(words, set()).add(kind)
    assert all(len(found) == 1 for words, found in kinds.items() if words), kinds


@pytest.mark.parametrize("style", ["certificate.css", "record.css", "run_report.css"])
def test_what_has_a_colour_of_its_own_has_weight_too_and_every_colour_is_read_on_white(style: str) -> None:
    """Contrast of at least 4.5 to 1 (WCAG 2.2, 1.4.3); ink and the quiet grey carry nothing."""
    text = re.sub(r"/\*.*?\*/", "", shipped.template(style), flags=re.DOTALL)
    for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
        for colour in re.findall(r"(?<![-\w])color:\s*#([0-9a-f]{6})", body):
            if ".across" in selector:
                continue  # the mark behind an unsealed page, which the notice above says in words
            assert contrast(colour) >= 4.5, (selector, colour)
            assert colour in {"1c1d1f", "4a4844"} or "font-weight: 600" in body, (selector, colour)


def contrast(colour: str) -> float:
    """Of a colour against white: relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return 1.05 / (0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2] + 0.05)
