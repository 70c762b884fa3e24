"""The words on the pages of a certificate, in the order in which they are drawn.

Reads what this program's renderer writes (two-byte codes, a ToUnicode map of single characters, absolute text
positions) and raises ValueError for anything else: it is no reader of PDF files in general, and is only used on
files whose seal holds. Words inside pictures (axis labels) are drawn apart and are left out.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator

_MAPPED: Final = re.compile(rb"<([0-9a-fA-F]{4})> <((?:[0-9a-fA-F]{4})+)>")


def page_texts(pdf: pikepdf.Pdf) -> tuple[str, ...]:
    """Text of each page; runs on one base line are one line. Raises ValueError for foreign ways of writing."""
    characters: dict[tuple[int, int], dict[int, str]] = {}
    return tuple(_page_text(page, characters) for page in pdf.pages)


def _page_text(page: pikepdf.Page, characters: dict[tuple[int, int], dict[int, str]]) -> str:
    lines: list[tuple[object, list[str]]] = []
    for level, run in _runs(page, characters):
        if lines and lines[-1][0] == level:
            lines[-1][1].append(run)
        else:
            lines.append((level, [run]))
    return "\n".join(" ".join(" ".join(runs).split()) for _, runs in lines)


def _runs(page: pikepdf.Page, characters: dict[tuple[int, int], dict[int, str]]) -> Iterator[tuple[object, str]]:
    """Base line and text of each run in the order of drawing."""
    level: object = None
    known: dict[int, str] = {}
    for instruction in pikepdf.parse_content_stream(page, "Tf Tm Tj TJ ' \" Td TD T*"):
        operands = instruction.operands
        match str(instruction.operator):
            case "Tm":
                level = operands[5]
            case "Tf":
                known = _characters(page, str(operands[0]), characters)
            case "TJ":
                yield level, "".join(_decoded(bytes(part), known) for part in operands[0] if _is_text(part))
            case other:
                raise ValueError(f"the text operator {other} is not one this program writes")


def _is_text(part: object) -> bool:
    return isinstance(part, pikepdf.String)


def _characters(page: pikepdf.Page, name: str, characters: dict[tuple[int, int], dict[int, str]]) -> dict[int, str]:
    font = page.Resources.Font[name]
    if font.Encoding != "/Identity-H":
        raise ValueError("a font of the page does not use two-byte codes")
    key = font.objgen
    if key not in characters:
        characters[key] = {
            int(code, 16): bytes.fromhex(text.decode("ascii")).decode("utf-16-be")
            for code, text in _MAPPED.findall(font.ToUnicode.read_bytes())
        }
    return characters[key]


def _decoded(text: bytes, known: dict[int, str]) -> str:
    """Characters of two-byte codes; a code without a character is a fault of the file (KeyError)."""
    return "".join(known[int.from_bytes(text[at : at + 2], "big")] for at in range(0, len(text), 2))
