"""The one image a page may hold: the logo of the letterhead where it is made of dots. Every dot is compared.

It is drawn once, on the first page, in a figure. Sources: ISO 32000-1, 8.9.5 (image dictionaries), 11.6.5.3 (soft
masks); how the dots of a PNG become those of the file is read in the renderer (colour table to colours, transparency
to a mask of its own).
"""

from __future__ import annotations

import hashlib
import io
from typing import TYPE_CHECKING, Any, Final

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator

_IMAGE: Final = frozenset({
    "/BitsPerComponent", "/ColorSpace", "/DecodeParms", "/Filter", "/Height", "/Interpolate", "/Length", "/SMask",
    "/Subtype", "/Type", "/Width",
})  # fmt: skip
_PACKED: Final = frozenset({"/Colors", "/Columns", "/Predictor"})
_SAMPLES: Final = {"/DeviceGray": 1, "/DeviceRGB": 3}
_MOST_BYTES: Final = 4 * 2000 * 2000  # unpacked: more than the largest logo has


def image_faults(pdf: pikepdf.Pdf, *, letterhead: bool) -> Iterator[str]:
    """Whatever is wrong with the images of the pages, but for their dots. letterhead: whether there may be one."""
    drawn = [page for page in range(len(pdf.pages)) for _ in range(_drawn_on(pdf, page))]
    if len(_images(pdf)) > letterhead or drawn not in ([], [0]):
        yield "page 1 holds an image; a certificate holds none but the logo of its letterhead, once."
    for image in _images(pdf).values():
        mask = image.get("/SMask")
        if not _is_plain(image) or (mask is not None and not _is_mask(mask, image)):
            yield "page 1 holds an image that is told in another way than a logo is."


def drawn_image(pdf: pikepdf.Pdf) -> str:
    """SHA-256 of the dots of the image the pages hold; empty where they hold none. For pages without faults."""
    for image in _images(pdf).values():
        mask = image.get("/SMask")
        size, colour = (int(image.Width), int(image.Height)), _SAMPLES[str(image.ColorSpace)]
        return _digest(size, colour, image.read_bytes(), b"" if mask is None else mask.read_bytes())
    return ""


def due_image(png: bytes) -> str:
    """The same of a PNG that was found good."""
    from PIL import Image  # noqa: PLC0415  heavy, and few letterheads need it

    with Image.open(io.BytesIO(png)) as opened:
        if "transparency" in opened.info:
            image = opened.convert("RGBA")
        else:
            image = opened.convert("RGB") if opened.mode == "P" else opened.copy()
    mask = image.getchannel("A").tobytes() if image.mode in {"LA", "RGBA"} else b""
    plain = image.convert(image.mode.removesuffix("A")) if mask else image
    return _digest(plain.size, len(plain.getbands()), plain.tobytes(), mask)


def _digest(size: tuple[int, int], colours: int, dots: bytes, mask: bytes) -> str:
    head = f"{size[0]} {size[1]} {colours} {len(mask)}\n".encode()
    return hashlib.sha256(head + dots + mask).hexdigest()


def _images(pdf: pikepdf.Pdf) -> dict[tuple[int, int], pikepdf.Object]:
    """Images among what the pages may draw with, by their place in the file."""
    every = [item for page in pdf.pages for item in page.obj.Resources.get("/XObject", {}).values()]
    return {item.objgen: item for item in every if item.get("/Subtype") == "/Image"}


def _drawn_on(pdf: pikepdf.Pdf, number: int) -> int:
    """How often an image is drawn on a page."""
    page = pdf.pages[number].obj
    apart: Any = page.Resources.get("/XObject", {})
    names = [name[1:].encode() for name, item in apart.items() if item.get("/Subtype") == "/Image"]
    content = page.Contents.read_bytes() if names else b""
    return sum(content.count(b"/" + name + b" Do") for name in names)


def _is_plain(image: pikepdf.Object) -> bool:
    """Whether it is told as the renderer tells one of 8 bits a dot and colour, and holds as many dots as it says."""
    colours = _SAMPLES.get(str(image.get("/ColorSpace")), 0)
    size: list[Any] = [image.get(name) for name in ("/Width", "/Height")]
    whole = all(isinstance(one, int) and one > 0 for one in size)
    if not isinstance(image, pikepdf.Stream) or not colours or not whole:
        return False
    count = size[0] * size[1] * colours
    known = set(image.keys()) <= _IMAGE and image.get("/BitsPerComponent") == 8
    packed = image.get("/Filter") == "/FlateDecode" and set(image.get("/DecodeParms", {}).keys()) <= _PACKED
    return known and packed and count <= _MOST_BYTES and len(image.read_bytes()) == count


def _is_mask(mask: pikepdf.Object, image: pikepdf.Object) -> bool:
    alike = all(mask.get(name) == image.get(name) for name in ("/Width", "/Height"))
    return alike and mask.get("/ColorSpace") == "/DeviceGray" and "/SMask" not in mask and _is_plain(mask)
