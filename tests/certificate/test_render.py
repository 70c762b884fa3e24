"""What the rendered file is, judged with pikepdf and, where installed, poppler and qpdf."""

# ruff: noqa: RUF001  true minus signs are what is printed

from __future__ import annotations

import hashlib
import io
import logging
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pikepdf
import pytest
from fontTools.ttLib import TTFont
from tests.certificate.conftest import ATTACHED, EVIDENCE, SEALED_AT, SUPPLEMENT
from tests.certificate.demo_views import LONG, LOZENGE, UNCORRECTED, WARE
from weasyprint.urls import FatalURLFetchingError

from benchseal import shipped
from benchseal.certificate import render as room
from benchseal.certificate import shipped_only
from benchseal.certificate.complete import FONT_FILES
from benchseal.certificate.page_drawing import Drawing
from benchseal.certificate.page_text import page_texts
from benchseal.certificate.page_words import said_of
from benchseal.certificate.render import Attached, render
from benchseal.certificate.shipped_only import ShippedOnly
from benchseal.certificate.view import CertificateView, CheckLine, Relation, printed_tokens, row_is_printed

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]


@cache
def rendered(view: CertificateView, attachments: tuple[Attached, ...] = ATTACHED) -> bytes:
    """Rendered once for all tests that only look at it."""
    made = render(view, attachments, SEALED_AT)
    assert isinstance(made, bytes), made
    return made


def texts(data: bytes) -> tuple[str, ...]:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return page_texts(pdf)


def squeezed(pages: tuple[str, ...]) -> str:
    return "".join("".join(pages).split())


def fonts(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Dictionary]:
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/Font":
            yield thing


def test_same_view_same_bytes(raw: bytes) -> None:
    assert render(LOZENGE, ATTACHED, SEALED_AT) == raw


def test_same_bytes_in_a_fresh_process(raw: bytes) -> None:
    code = (
        "import hashlib, warnings\n"
        "warnings.simplefilter('error')\n"
        "from tests.certificate.test_render import rendered, LOZENGE\n"
        "print(hashlib.sha256(rendered(LOZENGE)).hexdigest())\n"
    )
    search = f"{ROOT / 'pipeline'}:{ROOT}"
    made = subprocess.run(  # noqa: S603  our own interpreter and code
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
        env={"PYTHONPATH": search, "PATH": "/usr/bin:/bin", "TZ": "Asia/Tokyo", "LC_ALL": "C"},
    )
    assert made.stdout.strip() == hashlib.sha256(raw).hexdigest()


def test_another_time_or_attachment_gives_other_bytes(raw: bytes) -> None:
    later = render(LOZENGE, ATTACHED, datetime(2026, 1, 20, tzinfo=UTC))
    other = rendered(LOZENGE, (replace(ATTACHED[0], data=b"{}"), ATTACHED[1]))
    assert len({raw, later, other}) == 3


@pytest.mark.parametrize("view", [LOZENGE, WARE, LONG], ids=["six results", "two results", "eight, long texts"])
def test_two_pages(view: CertificateView) -> None:
    pages = texts(rendered(view))
    assert len(pages) == 2
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of 2" in page
        assert view.number in page
    assert f"End of certificate {view.number}" in pages[-1]


def all_texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for part in value:
            yield from all_texts(part)
    elif hasattr(value, "__dataclass_fields__"):
        for name in value.__dataclass_fields__:
            if name not in ("verdict_kind", "calibration", "earlier_number", "unsealed_mark", "words"):
                yield from all_texts(getattr(value, name))


@pytest.mark.parametrize("view", [LOZENGE, WARE, LONG], ids=["lozenge", "ware", "long"])
def test_every_text_of_the_view_is_on_the_page(view: CertificateView) -> None:
    full = replace(
        view,
        relation=Relation("Replaces certificate TQ-2025-0999, because the mass was wrong.", "TQ-2025-0999"),
        opinions=("The lot is like the one before.",),
        external="nickel, by another laboratory.",
        notes=("Calibration of mercury is not recomputable.",),
    )
    printed = squeezed(texts(rendered(full)))
    missing = [text for text in all_texts(full) if "".join(text.split()) not in printed]
    assert missing == []


def test_a_word_wider_than_the_page_is_broken_and_not_cut_off() -> None:
    word = "w" * 300
    full = replace(LOZENGE, relation=Relation(f"Replaces certificate TQ-2025-0999: {word}.", "TQ-2025-0999"))
    lines = [line for page in texts(rendered(full)) for line in page.splitlines() if "wwww" in line]
    assert len(lines) > 1
    assert max(map(len, lines)) < 150


@pytest.mark.parametrize("view", [LOZENGE, WARE, LONG], ids=["lozenge", "ware", "long"])
def test_each_result_row_is_read_back_in_order(view: CertificateView) -> None:
    pages = texts(rendered(view))
    for row in view.results:
        assert row_is_printed(row, pages)
        assert not row_is_printed(replace(row, value="9" + row.value), pages)
        assert not row_is_printed(replace(row, verdict="may comply"), pages)
        assert not row_is_printed(replace(row, method=row.method.removesuffix("1").removesuffix("2")), pages)
        assert not row_is_printed(replace(row, substance=row.substance[1:]), pages)
        assert not row_is_printed(replace(row, value=row.value.replace("0", "8", 1) + "1"), pages)


def test_the_tokens_of_a_row() -> None:
    assert printed_tokens(LOZENGE.results[2]) == (
        "Lead",
        "as",
        "received",
        "0.067",
        "±",
        "0.020",
        "µg/g",
        "(k",
        "=",
        "2)",
        "≤",
        "0.50",
        "µg/g",
        "simple",
        "complies",
        "lead-furnace@2",
    )


@pytest.mark.parametrize(
    ("view", "words", "count"),
    [(LOZENGE, UNCORRECTED, 2), (LONG, UNCORRECTED, 2), (LONG, f"{UNCORRECTED} " * 4, 3)],
    ids=["two pages", "two full pages", "a page more"],
)
def test_what_was_measured_uncorrected_stands_on_the_first_page(view: CertificateView, words: str, count: int) -> None:
    pages = texts(rendered(replace(view, uncorrected=words.strip())))
    assert len(pages) == count
    assert "".join(words.split()) in squeezed(pages[:1])
    assert "Background" not in texts(rendered(replace(view, uncorrected="")))[0]


def test_reading_order_is_the_order_of_the_page() -> None:
    first, second = texts(rendered(LOZENGE))
    order = ["Certificate of analysis", "Customer", "Sample number", "All six", "Zinc", "Specification", "Falkner"]
    places = [first.index(words) for words in order]
    assert places == sorted(places)
    places = [second.index(run.heading) for run in LOZENGE.runs]
    assert places == sorted(places)


def test_only_the_shipped_family_is_embedded(raw: bytes) -> None:
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        top = [font for font in fonts(pdf) if font.Subtype == "/Type0"]
        assert len(list(fonts(pdf))) == 2 * len(top), "only composite fonts and their descendants"
        names = set()
        for font in top:
            descriptor = font.DescendantFonts[0].FontDescriptor
            assert "/FontFile2" in descriptor or "/FontFile3" in descriptor
            assert "/ToUnicode" in font
            assert re.match(r"/[A-Z]{6}\+", str(font.BaseFont))
            names.add(str(font.BaseFont)[8:])
        assert names == {"Certificate", "Certificate-Semi-Bold"}


@pytest.mark.parametrize("name", FONT_FILES)
def test_figures_are_tabular(name: str) -> None:
    assert len(set(widths(name, "0123456789<\N{MINUS SIGN}"))) == 1


def test_figures_are_as_wide_as_the_layout_thinks() -> None:
    heavier = FONT_FILES[1]
    assert widths(heavier, "0 ") == [room.FIGURE_EM, room.SPACE_EM]


def widths(name: str, characters: str) -> list[float]:
    """Advance widths in em, read from the font."""
    font = TTFont(io.BytesIO(shipped.template_bytes(name)))
    glyphs = font.getBestCmap()
    return [font["hmtx"][glyphs[ord(character)]][0] / font["head"].unitsPerEm for character in characters]


def test_archive_form(raw: bytes) -> None:
    """ISO 19005-3 and ISO 32000-1, the points that certificates depend on; not a proof of conformance."""
    assert raw.startswith(b"%PDF-1.7")
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        xmp = pdf.Root.Metadata.read_bytes().decode()
        assert re.search(r"pdfaid:part[^0-9]*3", xmp)
        assert re.search(r"pdfaid:conformance[^A-Za-z]*A", xmp)
        assert pdf.Root.MarkInfo.Marked
        assert "/StructTreeRoot" in pdf.Root
        assert pdf.Root.Lang == "en"
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        assert pdf.Root.OutputIntents[0].S == "/GTS_PDFA1"
        assert not {"/OpenAction", "/AA", "/AcroForm"} & set(pdf.Root.keys())
        assert not pdf.is_encrypted
        assert all("/Annots" not in page for page in pdf.pages)
        assert b"JavaScript" not in raw


def test_info_equals_xmp(raw: bytes) -> None:
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        xmp = pdf.Root.Metadata.read_bytes().decode()
        info = {key: str(value) for key, value in pdf.docinfo.items()}
        assert info["/Title"] == "Certificate of analysis TQ-2026-0001"
        assert set(info) == {"/Title", "/Author", "/Subject", "/Creator", "/Producer", "/CreationDate", "/ModDate"}
        for key in ("/Title", "/Author", "/Subject", "/Creator"):
            assert f">{info[key]}<" in xmp, key
        assert f'pdf:Producer="{info["/Producer"]}"' in xmp
        assert info["/ModDate"] == info["/CreationDate"]
        assert info["/CreationDate"].startswith("D:20260119092218")
        assert xmp.count("2026-01-19T09:22:18") == 2


def test_each_attachment_is_listed_once(raw: bytes) -> None:
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        found = {str(spec.UF): (str(spec.AFRelationship), spec.EF.F.read_bytes()) for spec in pdf.Root.AF}
        assert len(pdf.Root.AF) == 2
        assert found == {"evidence.json": ("/Source", EVIDENCE), "supplement.json": ("/Supplement", SUPPLEMENT)}
        for spec in pdf.Root.AF:
            assert spec.EF.F.Subtype is not None
            assert {"/Size", "/ModDate", "/CheckSum"} <= set(spec.EF.F.Params.keys())
            assert str(spec.Desc)


def test_each_picture_has_a_sentence(raw: bytes) -> None:
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        said = [str(o.Alt) for o in pdf.objects if isinstance(o, pikepdf.Dictionary) and o.get("/S") == "/Figure"]
    assert len(said) == 7
    assert all(sentence.endswith(".") and len(sentence.split()) > 5 for sentence in said)
    assert sum(sentence.startswith("Calibration of ") for sentence in said) == 6


def test_a_reason_without_room_beside_its_point_stands_below_the_picture() -> None:
    """Eight small pictures: the words of the standard left out of two of them stand behind a letter."""
    words = squeezed(texts(rendered(LONG)))
    assert words.count("a:bubbleseen") == 2


def test_nothing_is_logged_while_rendering(caplog: pytest.LogCaptureFixture) -> None:
    logger = logging.getLogger("weasyprint")
    logger.addHandler(caplog.handler)
    try:
        shipped_only.type_of.cache_clear()
        render(LONG, ATTACHED, SEALED_AT)
    finally:
        logger.removeHandler(caplog.handler)
    assert [record.getMessage() for record in caplog.records if record.levelno >= logging.WARNING] == []


@pytest.mark.parametrize(
    "address", ["http://example.org/a.css", "file:///etc/hostname", "benchseal:certificate.css", "data:,x"]
)
def test_nothing_is_fetched(address: str) -> None:
    with pytest.raises(FatalURLFetchingError, match="may not fetch"):
        ShippedOnly().fetch(address)


def test_markup_in_a_record_is_text() -> None:
    lot = "<img src='http://example.org/x.png'> & {{ 7*7 }}"
    view = replace(LOZENGE, item=replace(LOZENGE.item, lot=lot))
    assert "".join(lot.split()) in squeezed(texts(rendered(view)))


def test_an_incomplete_view_is_not_rendered() -> None:
    problems = render(replace(LOZENGE, number=""), ATTACHED, SEALED_AT)
    assert isinstance(problems, tuple)
    assert problems[0].where == "number"


@pytest.mark.clause("A11 8.1")
@pytest.mark.refuses("A11 8.1")
@pytest.mark.parametrize("mark", ["DRAFT", "PRELIMINARY"])
def test_an_unsealed_paper_says_so_on_every_page(mark: str) -> None:
    view = replace(LOZENGE, unsealed_mark=mark, signatures=())  # type: ignore[arg-type]
    data = rendered(view, ())
    pages = texts(data)
    assert all(mark in page for page in pages)
    assert "not a certificate" in pages[0]
    assert "benchseal verify" not in " ".join(pages)
    assert "End of certificate" not in " ".join(pages)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert str(pdf.docinfo.Title).startswith(mark)


def test_an_unsealed_paper_carries_nothing() -> None:
    with pytest.raises(ValueError, match="no attachments"):
        render(replace(LOZENGE, unsealed_mark="DRAFT"), ATTACHED, SEALED_AT)


def test_a_naive_time_is_our_bug() -> None:
    with pytest.raises(ValueError, match="aware"):
        render(LOZENGE, ATTACHED, datetime(2026, 1, 19))  # noqa: DTZ001  the point of the test


def test_a_line_under_a_picture_breaks_between_groups_only() -> None:
    """Six pictures leave a column 17 mm wide: neither a number and its unit nor what stands in brackets is torn."""
    checks = (
        CheckLine("check blank, 4", "−0.0035 to −0.000694 µg/L", "±0.05 µg/L", "met", "complies"),
        CheckLine("check standard, 3", "87 to 99 % (1 of 3)", "90 to 110 %", "not met", "fails"),
    )
    runs = tuple(replace(LOZENGE.runs[0], checks=checks) for _ in range(6))
    with pikepdf.open(io.BytesIO(rendered(replace(LOZENGE, runs=runs)))) as pdf:
        said = [text for page in pdf.pages for text, in_figure, _ in said_of(Drawing(page)) if not in_figure]
    assert said.count("(1 of 3)") == 6
    assert not [text for text in said if text.endswith((" (1", " (1 of", " µg/"))]


def test_a_run_without_calibration_is_printed_without_a_picture() -> None:
    runs = tuple(
        replace(run, calibration=None, fit_line="calibration not recomputable: the instrument gave concentrations")
        for run in WARE.runs
    )
    pages = texts(rendered(replace(WARE, runs=runs)))
    assert "calibration not recomputable" in " ".join(pages)


@pytest.mark.parametrize("count", [1, 4, 5, 7])
def test_every_number_of_runs_has_a_layout(count: int) -> None:
    pages = texts(rendered(replace(LONG, runs=LONG.runs[:count])))
    assert len(pages) == 2
    assert all(run.heading in pages[1] for run in LONG.runs[:count])


@pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not installed")
def test_qpdf_finds_no_fault(raw: bytes, tmp_path: Path) -> None:
    path = tmp_path / "raw.pdf"
    path.write_bytes(raw)
    done = subprocess.run(["qpdf", "--check", str(path)], capture_output=True, text=True, check=False)  # noqa: S603, S607
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
def test_another_reader_finds_each_row(raw: bytes, tmp_path: Path) -> None:
    """poppler's pdftotext, so that our own reader is not the only witness of what is printed."""
    path = tmp_path / "raw.pdf"
    path.write_bytes(raw)
    read = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True)  # noqa: S603, S607
    lines = ["".join(line.split()) for line in read.stdout.splitlines()]
    for row in LOZENGE.results:
        assert "".join(printed_tokens(row)) in lines
