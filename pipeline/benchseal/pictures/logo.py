"""A laboratory's logo: a small SVG of plain shapes, or a small PNG; nothing that fetches, runs, writes or hides.

An SVG is taken apart and written anew from what is listed here, so that what is not listed cannot come in: no text (it
would need a font), no picture within, no reference, no style, no script. A PNG is checked chunk by chunk and to its
last row (PNG specification, third edition, 5 and 11.2), so that nothing can follow it or blow up on reading.
"""

from __future__ import annotations

import re
import zlib
from base64 import b64decode
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET
from xml.sax.saxutils import escape, quoteattr

if TYPE_CHECKING:
    from collections.abc import Iterator

SVG_MOST: Final = 20_000  # characters
PNG_MOST: Final = 60_000  # bytes
HEIGHT_MOST_MM: Final = 20.0
_SIDE_MOST: Final = 1200  # dots
_SHAPES_MOST: Final = 400
_DEPTH_MOST: Final = 8
_XML: Final = re.compile(r"\A<\?xml version=[^?<>]*\?>")
_NAMESPACE: Final = "{http://www.w3.org/2000/svg}"

_NUMBER: Final = r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,2})?"
_NUMBERS: Final = rf"[\s,]*{_NUMBER}(?:[\s,]*{_NUMBER})*[\s,]*"
_ONE: Final = rf"\s*{_NUMBER}\s*"
_COLOUR: Final = r"none|currentColor|#[0-9a-fA-F]{3}|#[0-9a-fA-F]{6}|black|white"
_FORMS: Final[dict[str, str]] = {
    **dict.fromkeys(("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "x1", "y1", "x2", "y2"), _ONE),
    "d": r"[\sMmLlHhVvCcSsQqTtAaZz0-9eE.,+-]+",
    "points": _NUMBERS,
    "fill": _COLOUR,
    "stroke": _COLOUR,
    "fill-rule": "nonzero|evenodd",
    "stroke-linecap": "butt|round|square",
    "stroke-linejoin": "miter|round|bevel",
    "stroke-width": _ONE,
    "transform": rf"\s*(?:(?:translate|scale|rotate|matrix)\({_NUMBERS}\)\s*)+",
}
_PAINT: Final = frozenset({
    "fill", "stroke", "fill-rule", "stroke-linecap", "stroke-linejoin", "stroke-width", "transform",
})  # fmt: skip
_SHAPES: Final[dict[str, frozenset[str]]] = {
    "g": frozenset(),
    "path": frozenset({"d"}),
    "rect": frozenset({"x", "y", "width", "height", "rx", "ry"}),
    "circle": frozenset({"cx", "cy", "r"}),
    "ellipse": frozenset({"cx", "cy", "rx", "ry"}),
    "line": frozenset({"x1", "y1", "x2", "y2"}),
    "polyline": frozenset({"points"}),
    "polygon": frozenset({"points"}),
}
_CHUNKS: Final = frozenset({b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"pHYs", b"sRGB", b"gAMA"})
_SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"
_SAMPLES: Final = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}  # colour type: samples a dot


@dataclass(frozen=True, slots=True)
class SvgLogo:
    """A logo written anew. view_box: as the SVG states it. shapes: markup of its shapes."""

    view_box: str
    width: float
    height: float
    shapes: str


def logo_problem(kind: str, data: str, width_mm: int) -> str:
    """Why a logo is not taken, in a sentence; empty where it is."""
    try:
        ratio = {"none": _nothing, "svg": _svg_ratio, "png": _png_ratio}[kind](data)
    except ValueError as fault:
        return f"{fault}."
    if kind != "none" and width_mm * ratio > HEIGHT_MOST_MM:
        return f"it would be {width_mm * ratio:.0f} mm high; at most {HEIGHT_MOST_MM:.0f} mm."
    return ""


def svg_logo(text: str) -> SvgLogo:
    """The shapes of an SVG, written anew. Raises ValueError with the first thing that is not taken."""
    if len(text) > SVG_MOST:
        raise ValueError(f"the SVG has {len(text)} characters; at most {SVG_MOST}")
    if "<!" in text or "<?" in _XML.sub("", text, count=1):
        raise ValueError("the SVG holds a declaration, a comment or an instruction")
    try:
        root = ET.fromstring(text)  # noqa: S314  declarations, and with them entities, are refused above
    except ET.ParseError as fault:
        raise ValueError(f"the SVG cannot be read ({fault})") from None
    if root.tag != f"{_NAMESPACE}svg":
        raise ValueError("it is no SVG")
    box = root.get("viewBox", "")
    if set(root.attrib) - {"viewBox", "width", "height"} or not re.fullmatch(_NUMBERS, box):
        raise ValueError("the SVG may state viewBox, width and height only, and must state viewBox")
    numbers = [float(part) for part in re.findall(_NUMBER, box)]
    if len(numbers) != 4 or numbers[2] <= 0 or numbers[3] <= 0:
        raise ValueError("the viewBox has no four numbers of a place and a size")
    if sum(1 for _ in root.iter()) > _SHAPES_MOST:
        raise ValueError(f"the SVG has more than {_SHAPES_MOST} shapes")
    return SvgLogo(box, numbers[2], numbers[3], "".join(_anew(root, 1)))


def _anew(parent: ET.Element, depth: int) -> Iterator[str]:
    """Markup of the shapes below an element. Raises ValueError for anything that is not listed."""
    if depth > _DEPTH_MOST:
        raise ValueError("the SVG nests too deeply")
    if (parent.text or "").strip():
        raise ValueError("the SVG holds text")
    for one in parent:
        name = one.tag.removeprefix(_NAMESPACE)
        if (one.tail or "").strip():
            raise ValueError("the SVG holds text")
        if name not in _SHAPES or one.tag == name:
            raise ValueError(f"the SVG holds the element {name[:40]}")
        if len(one) and name != "g":
            raise ValueError(f"the element {name} holds others")
        yield f"<{name}{''.join(_attributes(name, one))}>{''.join(_anew(one, depth + 1))}</{name}>"


def _attributes(name: str, one: ET.Element) -> Iterator[str]:
    for key, value in one.attrib.items():
        if key not in _SHAPES[name] | _PAINT:
            raise ValueError(f"the element {name} has the attribute {key[:40]}")
        if not re.fullmatch(_FORMS[key], value):
            raise ValueError(f"{key} of {name} is {value[:40]!r}")
        yield f" {key}={quoteattr(value)}"


def svg_markup(text: str, width_mm: int, words: str) -> str:
    """The whole SVG as a page prints it, with its words as title. Raises ValueError as ``svg_logo``."""
    logo = svg_logo(text)
    height = width_mm * logo.height / logo.width
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox={quoteattr(logo.view_box)} style="width:{width_mm}mm;'
        f'height:{height:.2f}mm"><title>{escape(words)}</title>{logo.shapes}</svg>'
    )


def png_bytes(data: str) -> bytes:
    """The bytes of a PNG that was found good. Raises ValueError."""
    _png_ratio(data)
    return b64decode("".join(data.split()))


def _nothing(data: str) -> float:
    if data.strip():
        raise ValueError("no logo is named, but there are data of one")
    return 0.0


def _svg_ratio(text: str) -> float:
    logo = svg_logo(text)
    return logo.height / logo.width


def _png_ratio(data: str) -> float:
    """Height to width. Raises ValueError for anything but one whole, small PNG."""
    try:
        whole = b64decode("".join(data.split()), validate=True)
    except ValueError:
        raise ValueError("the PNG is not written in base64") from None
    if len(whole) > PNG_MOST:
        raise ValueError(f"the PNG has {len(whole)} bytes; at most {PNG_MOST}")
    chunks = list(_chunks(whole))
    names = [name for name, _ in chunks]
    if not names or names[0] != b"IHDR" or names[-1] != b"IEND" or names.count(b"IHDR") != 1 or b"IDAT" not in names:
        raise ValueError("the PNG does not begin with its header and end with its end")
    head = chunks[0][1]
    if len(head) != 13:
        raise ValueError("the header of the PNG is not whole")
    width, height = int.from_bytes(head[:4]), int.from_bytes(head[4:8])
    depth, colour, *rest = head[8:]
    if not (0 < width <= _SIDE_MOST and 0 < height <= _SIDE_MOST):
        raise ValueError(f"the PNG is {width} by {height} dots; at most {_SIDE_MOST} by {_SIDE_MOST}")
    if depth != 8 or colour not in _SAMPLES or rest != [0, 0, 0]:
        raise ValueError("the PNG is not of 8 bits a sample without interlacing")
    _rows_whole(b"".join(part for name, part in chunks if name == b"IDAT"), height * (1 + width * _SAMPLES[colour]))
    return height / width


def _rows_whole(packed: bytes, due: int) -> None:
    """Raise ValueError where the dots are not exactly as many as the header says; never unpacks more."""
    unpack = zlib.decompressobj()
    try:
        found = unpack.decompress(packed, due + 1)
    except zlib.error:
        raise ValueError("the dots of the PNG cannot be unpacked") from None
    if len(found) != due or not unpack.eof or unpack.unused_data:
        raise ValueError("the PNG has not as many dots as its header says")


def _chunks(whole: bytes) -> Iterator[tuple[bytes, bytes]]:
    if not whole.startswith(_SIGNATURE):
        raise ValueError("it is no PNG")
    at = len(_SIGNATURE)
    while at < len(whole):
        length, name = int.from_bytes(whole[at : at + 4]), whole[at + 4 : at + 8]
        data, check = whole[at + 8 : at + 8 + length], whole[at + 8 + length : at + 12 + length]
        if len(data) != length or len(check) != 4 or int.from_bytes(check) != zlib.crc32(name + data):
            raise ValueError("a part of the PNG is broken")
        if name not in _CHUNKS:
            raise ValueError(f"the PNG holds the part {name.decode('latin-1')}")
        yield name, data
        at += 12 + length
        if name == b"IEND" and at != len(whole):
            raise ValueError("something follows the PNG")
