"""Logos: plain shapes and small pictures are taken; whatever fetches, refers, writes, runs or blows up is not."""

from __future__ import annotations

import struct
import zlib
from base64 import b64encode

import pytest

from benchseal.pictures.logo import PNG_MOST, SVG_MOST, logo_problem, png_bytes, svg_logo, svg_markup

OPEN = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 30">'
SHAPE = '<path d="M0 0 L60 30 Z" fill="#1f5560"/>'


def svg(inside: str = SHAPE) -> str:
    return f"{OPEN}{inside}</svg>"


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(
    width: int = 40,
    height: int = 20,
    *,
    rows: bytes | None = None,
    more: tuple[bytes, ...] = (),
    head: bytes = b"\x08\x02\0\0\0",
    tail: bytes = b"",
) -> str:
    dots = zlib.compress(bytes(height * (1 + width * 3)) if rows is None else rows)
    parts = (
        chunk(b"IHDR", struct.pack(">II", width, height) + head),
        *more,
        chunk(b"IDAT", dots),
        chunk(b"IEND", b""),
    )
    return b64encode(b"\x89PNG\r\n\x1a\n" + b"".join(parts) + tail).decode()


def test_plain_shapes_are_taken_and_written_anew() -> None:
    text = svg(f'<g stroke="none"> {SHAPE}<circle cx="5" cy="5" r="2.5" fill="black"/></g>')
    assert logo_problem("svg", text, 40) == ""
    found = svg_logo(text)
    assert (found.width, found.height) == (60.0, 30.0)
    assert found.shapes == (
        '<g stroke="none"><path d="M0 0 L60 30 Z" fill="#1f5560"></path>'
        '<circle cx="5" cy="5" r="2.5" fill="black"></circle></g>'
    )


def test_the_words_of_a_logo_cannot_end_its_title() -> None:
    made = svg_markup(svg(), 40, "</title><script>")
    assert "<title>&lt;/title&gt;&lt;script&gt;</title>" in made
    assert "width:40mm;height:20.00mm" in made


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (svg("<script>1</script>"), "script"),
        (svg("<text>approved</text>"), "element text"),
        (svg('<image href="logo.png"/>'), "element image"),
        (svg('<use href="#a"/>'), "element use"),
        (svg("<style>*{fill:red}</style>"), "element style"),
        (svg("<foreignObject/>"), "element foreignObject"),
        (svg('<a xmlns="http://www.w3.org/1999/xhtml"/>'), "element {http://www.w3.org/1999/xhtml}a"),
        (svg('<path d="M0 0" onload="1"/>'), "attribute onload"),
        (svg('<path d="M0 0" style="fill:url(x)"/>'), "attribute style"),
        (svg('<path d="M0 0" fill="url(#a)"/>'), "fill of path"),
        (svg('<path d="M0 0" fill="url(https://example.invalid/)"/>'), "fill of path"),
        (svg('<path d="M0 0 url(x)"/>'), "d of path"),
        (svg('<g transform="translate(1 1) url(x)"/>'), "transform of g"),
        (svg('<rect width="1e999999"/>'), "width of rect"),
        (svg("<g>words</g>"), "text"),
        (svg("<path><path/></path>"), "holds others"),
        (svg("<g>" * 9 + "</g>" * 9), "nests"),
        (svg("<path/>" * 400), "shapes"),
        (svg(" " * SVG_MOST), "characters"),
        (svg("<!-- words -->"), "comment"),
        ('<!DOCTYPE svg [<!ENTITY a "b">]>' + svg(), "declaration"),
        ("<?xml-stylesheet href='x'?>" + svg(), "instruction"),
        (svg().replace("</svg>", ""), "cannot be read"),
        ("<svg/>", "no SVG"),
        (svg().replace('viewBox="0 0 60 30"', ""), "viewBox"),
        (svg().replace("0 0 60 30", "0 0 60"), "four numbers"),
        (svg().replace("0 0 60 30", "0 0 60 -3"), "four numbers"),
        (svg().replace("0 0 60 30", "0 0 60 90"), "mm high"),
        (svg().replace("viewBox", 'onload="1" viewBox'), "viewBox, width and height only"),
        ("", "cannot be read"),
    ],
)
def test_whatever_is_not_a_plain_shape_is_refused(text: str, said: str) -> None:
    assert said in logo_problem("svg", text, 40)


def test_a_small_png_is_taken() -> None:
    assert logo_problem("png", png(), 40) == ""
    assert png_bytes(png()).startswith(b"\x89PNG")
    broken_in_lines = "\n".join(png()[at : at + 76] for at in range(0, len(png()), 76))
    assert png_bytes(broken_in_lines) == png_bytes(png())


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ("no base64!", "base64"),
        (b64encode(b"GIF89a").decode(), "no PNG"),
        (png(1300, 10), "dots"),
        (png(0, 10), "dots"),
        (png(40, 40), "mm high"),
        (png(rows=bytes(10_000_000)), "as many dots"),
        (png(rows=bytes(10)), "as many dots"),
        (png(head=b"\x10\x02\0\0\0"), "8 bits"),
        (png(head=b"\x08\x02\0\0\1"), "8 bits"),
        (png(more=(chunk(b"tEXt", b"Comment\0approved"),)), "part tEXt"),
        (png(more=(chunk(b"iCCP", b"x"),)), "part iCCP"),
        (png(tail=b"more"), "follows"),
        (b64encode(b64encode(b"\x89PNG\r\n\x1a\n")).decode(), "no PNG"),
        (b64encode(b"\x89PNG\r\n\x1a\n").decode(), "begin with its header"),
        (b64encode(bytes(PNG_MOST + 1)).decode(), "bytes"),
    ],
)
def test_whatever_is_not_a_small_whole_png_is_refused(data: str, said: str) -> None:
    assert said in logo_problem("png", data, 40)


def test_a_byte_changed_in_a_png_is_refused() -> None:
    whole = bytearray(png_bytes(png()))
    whole[40] ^= 1
    assert "broken" in logo_problem("png", b64encode(bytes(whole)).decode(), 40)


def test_no_logo_has_no_data() -> None:
    assert logo_problem("none", "", 40) == ""
    assert logo_problem("none", "x", 40) == "no logo is named, but there are data of one."
