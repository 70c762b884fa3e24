"""A logo made of dots: every kind of PNG that a letterhead takes is found again dot by dot; another image is named."""

from __future__ import annotations

import io
import random
from dataclasses import replace
from typing import TYPE_CHECKING

import pikepdf
import pytest
from tests.attacks.written import as_rendered
from tests.certificate.test_render_german import on_paper
from tests.pictures.test_logo import chunk, png
from tests.verify.test_language import LETTERHEAD
from tests.verify.test_sealed import seal

from benchseal.certificate.issue import render_certificate
from benchseal.certificate.page_form import form_faults
from benchseal.certificate.page_image import drawn_image, due_image
from benchseal.pictures.logo import png_bytes
from benchseal.records.letterhead import Logo
from benchseal.verify.certificate import verify_certificate

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.verify.making import Made
    from tests.verify.test_sealed import Seal

__all__ = ["seal"]
DOTS = random.Random(20261127)  # noqa: S311  dots, no secret


def rows(samples: int, most: int = 256) -> bytes:
    """20 rows of 40 dots, unfiltered."""
    return b"".join(b"\0" + bytes(DOTS.randrange(most) for _ in range(40 * samples)) for _ in range(20))


COLOURS = chunk(b"PLTE", bytes(range(30)))
KINDS = {
    "colours": png(rows=rows(3)),
    "colours, one of them clear": png(rows=rows(3), more=(chunk(b"tRNS", bytes([0, 1, 0, 2, 0, 3])),)),
    "colours and cover": png(rows=rows(4), head=b"\x08\x06\0\0\0"),
    "grey": png(rows=rows(1), head=b"\x08\0\0\0\0"),
    "grey and cover": png(rows=rows(2), head=b"\x08\x04\0\0\0"),
    "a table": png(rows=rows(1, 10), head=b"\x08\x03\0\0\0", more=(COLOURS,)),
    "a table with clear ones": png(
        rows=rows(1, 10), head=b"\x08\x03\0\0\0", more=(COLOURS, chunk(b"tRNS", bytes([0, 128])))
    ),
}


def with_logo(data: str) -> tuple[Made, bytes]:
    return on_paper(replace(LETTERHEAD, logo=Logo("png", data, 20, "A field of dots.")))


@pytest.mark.parametrize("kind", KINDS)
def test_a_logo_of_dots_is_found_again(kind: str) -> None:
    _, raw = with_logo(KINDS[kind])
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        assert list(form_faults(pdf, sealed=False)) == []
        assert drawn_image(pdf) == due_image(png_bytes(KINDS[kind])) != ""
        images = [one for one in pdf.objects if isinstance(one, pikepdf.Stream) and one.get("/Subtype") == "/Image"]
        assert not any(one.Interpolate for one in images)  # ISO 19005-3, 6.2.8 (from memory)
    assert len({due_image(png_bytes(data)) for data in KINDS.values()}) == len(KINDS)


@pytest.fixture(scope="module")
def made() -> Made:
    return with_logo(KINDS["colours and cover"])[0]


@pytest.fixture(scope="module")
def raw(made: Made) -> bytes:
    found = render_certificate(made.evidence_bytes, made.supplement_bytes)
    assert isinstance(found, bytes), found
    return found


def changed(raw: bytes, change: Callable[[pikepdf.Pdf], None]) -> bytes:
    with pikepdf.open(io.BytesIO(raw)) as pdf:
        change(pdf)
        return as_rendered(pdf)


def image_of(pdf: pikepdf.Pdf) -> tuple[str, pikepdf.Object]:
    apart = pdf.pages[0].Resources.XObject
    return next((name, item) for name, item in apart.items() if item.get("/Subtype") == "/Image")


def drawing(page: pikepdf.Page, old: bytes, new: bytes) -> None:
    content = page.Contents.read_bytes()
    assert old in content
    page.Contents.write(content.replace(old, new, 1))


def a_dot(pdf: pikepdf.Pdf) -> None:
    _, image = image_of(pdf)
    dots = image.read_bytes()
    image.write(bytes([dots[0] ^ 1]) + dots[1:])


def a_dot_of_the_mask(pdf: pikepdf.Pdf) -> None:
    mask = image_of(pdf)[1].SMask
    dots = mask.read_bytes()
    mask.write(dots[:-1] + bytes([dots[-1] ^ 255]))


def no_mask(pdf: pikepdf.Pdf) -> None:
    del image_of(pdf)[1].SMask


def turned_colours(pdf: pikepdf.Pdf) -> None:
    image_of(pdf)[1].Decode = pikepdf.Array([1, 0, 1, 0, 1, 0])


def another_size(pdf: pikepdf.Pdf) -> None:
    image_of(pdf)[1].Width = 20


def a_matte(pdf: pikepdf.Pdf) -> None:
    image_of(pdf)[1].SMask.Matte = pikepdf.Array([1, 1, 1])


def twice(pdf: pikepdf.Pdf) -> None:
    name = image_of(pdf)[0].encode()
    drawing(pdf.pages[0], name + b" Do", name + b" Do\n" + name + b" Do")


def on_the_last_page(pdf: pikepdf.Pdf) -> None:
    name, _ = image_of(pdf)
    content = pdf.pages[-1].Contents.read_bytes()
    pdf.pages[-1].Contents.write(content + b"\n/Figure\nBMC\nq\n9 0 0 9 2 2 cm\n" + name.encode() + b" Do\nQ\nEMC")


def over_the_results(pdf: pikepdf.Pdf) -> None:
    """Drawn larger, in its own place of the drawing, without its clip."""
    name = image_of(pdf)[0].encode()
    drawing(pdf.pages[0], name + b" Do", b"q\n12 0 0 25 0 -24 cm\n" + name + b" Do\nQ")
    content = pdf.pages[0].Contents.read_bytes()
    start = content.rindex(b" re\n", 0, content.index(name + b" Do"))
    pdf.pages[0].Contents.write(content[: content.rindex(b"\n", 0, start)] + b"\n0 0 9999 9999" + content[start:])


def two_images(pdf: pikepdf.Pdf) -> None:
    _, image = image_of(pdf)
    packed = {"/Filter", "/Length", "/DecodeParms"}
    more = pdf.make_stream(image.read_bytes(), {key: item for key, item in image.items() if key not in packed})
    pdf.pages[0].Resources.XObject["/iother"] = more


@pytest.mark.refuses("P11 11.30")
@pytest.mark.parametrize(
    ("change", "words"),
    [
        (a_dot, "not that of the letterhead"),
        (a_dot_of_the_mask, "not that of the letterhead"),
        (no_mask, "not that of the letterhead"),
        (turned_colours, "told in another way"),
        (another_size, "told in another way"),
        (a_matte, "told in another way"),
        (twice, "logo of its letterhead, once"),
        (on_the_last_page, "logo of its letterhead, once"),
        (over_the_results, "painted over text"),
        (two_images, "logo of its letterhead, once"),
    ],
)
def test_another_image_is_named(
    made: Made, raw: bytes, seal: Seal, change: Callable[[pikepdf.Pdf], None], words: str
) -> None:
    report = verify_certificate(seal.of(made, changed(raw, change)), seal.trusted())
    assert report.word == "ALTERED"
    assert any(words in check.said for check in report.checks if not check.holds), report.lines()


def test_its_own_certificate_is_genuine(made: Made, raw: bytes, seal: Seal) -> None:
    for data in (raw, changed(raw, lambda _: None)):
        report = verify_certificate(seal.of(made, data), seal.trusted())
        assert report.word == "GENUINE", report.lines()
