"""Where a reading layout looks less closely than it may seem to: what a person is told, no rule for a refusal."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from benchseal.documents.patterns import compiled

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.layout import Layout

_TOLD = re.compile(r"\(\?P?<(element|wavelength_nm)>")
# What stands for another element, or no number of nanometres, where it follows the value of a line.
_OTHER = {
    "element": (" + Zn", "; Zn", ", Zn", " Zn 213.9 nm", " and Zn 213.9"),
    "wavelength_nm": (".5", "e1", " A", "/213.9", ", 213.9 nm", " x10", " nm x10"),
}


def open_ends(layout: Layout) -> Iterator[tuple[str, str]]:
    """Patterns that read an element or a wavelength and take another one behind it for nothing, with its fact."""
    patterns = [rule.line for rule in (*layout.head, *layout.section.lines)]
    patterns += [layout.section.begins, *(one for page in layout.pages for one in page.heading)]
    for pattern in patterns:
        for found in _TOLD.finditer(pattern):
            rest = _behind(pattern, found.end())
            if any(_fits(rest, text) for text in _OTHER[found[1]]):
                yield pattern, found[1]


def _behind(pattern: str, begins: int) -> str:
    """The pattern behind the group that begins there."""
    depth, at = 1, begins
    while depth and at < len(pattern):
        depth += {"(": 1, ")": -1}.get(pattern[at], 0)
        at += 2 if pattern[at] == "\\" else 1
    return pattern[at:]


def _fits(pattern: str, text: str) -> bool:
    try:
        return compiled(pattern).fullmatch(text) is not None
    except ValueError:  # the group stands inside another one
        return False
