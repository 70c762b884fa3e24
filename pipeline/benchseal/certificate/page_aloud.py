"""Parts of a page as they are drawn: each run of letters stands in one, and each but the margin's is read aloud.

The renderer numbers the parts that are read aloud in the order of drawing and puts none into another; what stands in
the margin comes last, and decorations hold no letters. Words drawn in another way are printed, and passed over where
the page is read aloud, or read at another place. Source: ISO 32000-1, 14.6 (marked content), 14.8.2.2 (artifacts).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.page_structure import Structure

_DECORATION, MARGIN = -1, -2  # in the place of a number


class Part(NamedTuple):
    """A part of a page: its number, or which one without it is; the number of its figure, else 0; its runs."""

    mark: int
    figure: int
    begin: int
    end: int


def part_of(told: bytes, figure: int, begin: int) -> Part:
    """A part from its beginning. figure: the number of a figure if it is one. begin: the first run."""
    kind, _, about = told.partition(b" ")
    mark = int(about[7:-2]) if about.startswith(b"<</MCID") else MARGIN if about else _DECORATION
    return Part(mark, figure if kind == b"/Figure" else 0, begin, begin)


def apart_faults(parts: Sequence[Part], runs: int) -> Iterator[str]:
    """Letters that are not read aloud, or in another order. parts, runs: of a page, as they are drawn."""
    if sum(part.end - part.begin for part in parts) != runs:
        yield "letters stand outside its parts, where they are not read aloud."
    if any(part.mark == _DECORATION and part.end > part.begin for part in parts):
        yield "letters are drawn as a decoration, which is not read aloud."
    numbers = [part.mark for part in parts if part.mark >= 0]
    if numbers != [*range(len(numbers))]:
        yield "its parts are not numbered in the order they are drawn in."
    first = next((at for at, part in enumerate(parts) if part.mark == MARGIN), len(parts))
    if any(part.mark >= 0 for part in parts[first:]):
        yield "its margin is not drawn last."


def kind_faults(parts: Sequence[Part], told: Structure, page: int) -> Iterator[str]:
    """Letters read aloud as a figure, or a figure as letters. page: counted from 0."""
    drawn = {part.mark: part.figure > 0 for part in parts}
    if any(drawn.get(one.mark) is not one.pictured for one in told.marks if one.page == page):
        yield "a figure is read aloud as words, or words as a figure."
