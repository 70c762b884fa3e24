"""The words on the pages of a certificate, in the order in which they are drawn.

Reads what this program's renderer writes (two-byte codes, a ToUnicode map of single characters, absolute text
positions) and raises ValueError for anything else: it is no reader of PDF files in general, and is only used on
files whose seal holds. Words inside pictures (axis labels) are drawn apart and are left out.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Final, TypeAlias

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

MAPPED: Final = re.compile(rb"<([0-9a-fA-F]{4})> <((?:[0-9a-fA-F]{4})+)>")
# The renderer writes one instruction in each line; those of text, and those it never uses.
_TEXT: Final = re.compile(
    rb"^(?:(.*) Tm|/(\S+) \S+ Tf|\[(.*)\] TJ|/\S+ (Do)|(?:.* )?(Tj|'|\"|Td|TD|T\*|TJ|Tm|Tf|Do))$",
    re.MULTILINE,
)
_PART: Final = re.compile(rb"<((?:[0-9a-f]{4})*)>-?[0-9.]*")
_PARTS: Final = re.compile(rb"(?:<(?:[0-9a-f]{4})*>-?[0-9.]*)*")


_Reads: TypeAlias = "Callable[[bytes], str]"  # from a run of letters of one font to its characters
_Characters: TypeAlias = "dict[tuple[int, int], _Reads]"  # by the place of a font in the file


# Characters of one drawing in the shipped type: a font's map gives one of them back for all, here the plainer one.
_ONE_DRAWING: Final = str.maketrans({
    0x00B5: 0x03BC, 0x02ED: 0x207C, 0x03D5: 0x03C6, 0x2010: 0x002D, 0x2011: 0x002D, 0x2206: 0x0394,
})  # fmt: skip


def bare(text: str) -> str:
    """Without white space, since a line may break anywhere between words; one character for each drawing."""
    return unicodedata.normalize("NFC", "".join(text.split()).translate(_ONE_DRAWING))


def page_texts(pdf: pikepdf.Pdf) -> tuple[str, ...]:
    """Text of each page; runs on one base line are one line. Raises ValueError for foreign ways of writing."""
    characters: _Characters = {}
    return tuple(_page_text(page, characters) for page in pdf.pages)


def _page_text(page: pikepdf.Page, characters: _Characters) -> str:
    lines: list[tuple[object, list[str]]] = []
    for level, run in _runs(page, characters):
        if lines and lines[-1][0] == level:
            lines[-1][1].append(run)
        else:
            lines.append((level, [run]))
    return "\n".join(" ".join(" ".join(runs).split()) for _, runs in lines)


def _runs(page: pikepdf.Page, characters: _Characters) -> Iterator[tuple[object, str]]:
    """Base line and text of each run in the order of drawing."""
    level: object = None
    known: _Reads = _no_font
    fonts: dict[bytes, _Reads] = {}
    for placed, font, letters, apart, other in _found(_content(page)):
        if placed:
            level = float(placed.split()[5])
        elif font:
            known = fonts.get(font) or fonts.setdefault(font, _characters(page.obj.Resources, font, characters))
        elif other:
            raise _foreign(other)
        elif not apart:
            yield level, known(letters)


@lru_cache(maxsize=4)
def _found(content: bytes) -> tuple[tuple[bytes, ...], ...]:
    """Instructions of text of a page, found once for all who ask; a certificate has few pages."""
    return tuple(_TEXT.findall(content))


def _foreign(operator: bytes) -> ValueError:
    return ValueError(f"the operator {operator.decode('ascii')} is not one this program writes so")


def _content(page: pikepdf.Page) -> bytes:
    parts = page.obj.Contents
    streams = [parts] if isinstance(parts, pikepdf.Stream) else list(parts)
    return b"\n".join(stream.read_bytes() for stream in streams)


def _characters(resources: pikepdf.Object, name: bytes, characters: _Characters) -> _Reads:
    font = resources.Font[f"/{name.decode('ascii')}"]
    if font.Encoding != "/Identity-H":
        raise ValueError("a font of the page does not use two-byte codes")
    key = font.objgen
    if key not in characters:
        characters[key] = _reads(font.ToUnicode.read_bytes())
    return characters[key]


@lru_cache(maxsize=8)
def _reads(to_unicode: bytes) -> _Reads:
    """Made once for each map, and each run read once: the words of a page are asked for by several."""
    return lru_cache(maxsize=2048)(partial(_decoded, characters_of(to_unicode)))


def characters_of(to_unicode: bytes) -> dict[int, str]:
    """What each code of a font stands for, from its map."""
    return {
        int(code, 16): bytes.fromhex(text.decode("ascii")).decode("utf-16-be")
        for code, text in MAPPED.findall(to_unicode)
    }


def _no_font(letters: bytes) -> str:
    return _decoded({}, letters)


def _decoded(known: dict[int, str], letters: bytes) -> str:
    """Characters of two-byte codes; a code without a character is a fault of the file (KeyError)."""
    if not _PARTS.fullmatch(letters):
        raise ValueError("text of a page is not written as this program writes it")
    codes = bytes.fromhex(b"".join(_PART.findall(letters)).decode("ascii")).decode("utf-16-be")
    unknown = set(map(ord, codes)) - known.keys()
    if unknown:
        raise KeyError(*sorted(unknown))
    return codes.translate(known)
