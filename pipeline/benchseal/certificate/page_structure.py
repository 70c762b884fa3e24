"""What is read aloud from a file: the parts of its pages, each once and in the order they are printed, and its figures.

A reader for the blind follows the structure and not the drawing. So the structure has to name each part of the drawing
that is no margin, once, in the order of drawing; what is drawn out of its turn is a figure, or the number of an item in
a list. Source: ISO 32000-1, 14.7 (structure), 14.8.2 (order), 14.9.3 (description of figures).
"""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Final, NamedTuple

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator

_ROOT: Final = frozenset({"/IDTree", "/K", "/ParentTree", "/Type"})
_PART: Final = frozenset({"/A", "/Alt", "/ID", "/K", "/P", "/Pg", "/S", "/Type"})
_OUT_OF_TURN: Final = frozenset({"/Figure", "/Lbl"})  # drawn after everything else
_MARGIN: Final = 3  # texts of the margin, drawn last, which earlier versions marked as parts and named nowhere
_MARK: Final = re.compile(rb"^<</MCID (\d+)>>$", re.MULTILINE)


class _Read(NamedTuple):
    """A part of a page in the order it is read aloud. in_turn: whether it is drawn in that order too."""

    page: int
    mark: int
    in_turn: bool


def told_figures(pdf: pikepdf.Pdf) -> tuple[str, ...]:
    """What is read aloud in the place of each figure."""
    return tuple(str(part.Alt) for part, _ in _parts(pdf) if "/Alt" in part)


def structure_faults(pdf: pikepdf.Pdf, *, lists: bool) -> Iterator[str]:
    """Whatever would be read aloud otherwise than it is printed, in plain sentences.

    lists: whether the pages may have lists, whose numbers are drawn after them.
    """
    root = pdf.Root.get("/StructTreeRoot")
    if root is None or dict(pdf.Root.get("/MarkInfo", {})) != {"/Marked": True}:
        yield "it has no structure to be read aloud by."
        return
    yield from _more("what is read aloud", root, _ROOT)
    for part, _ in _parts(pdf):
        yield from _more("a part read aloud", part, _PART)
        if "/Alt" in part and part.S != "/Figure":
            yield "words of the page are read aloud as other words."
        if part.S == "/Figure" and "/Alt" not in part:
            yield "a figure has no description to be read aloud."
        if part.S == "/Lbl" and not lists:
            yield "a number of a list is read aloud, which a certificate does not have."
    read = list(_marks(pdf))
    for number, page in enumerate(pdf.pages):
        drawn = sorted(int(mark) for mark in _MARK.findall(page.obj.Contents.read_bytes()))
        aloud = sorted(one.mark for one in read if one.page == number)
        if aloud != drawn[: len(aloud)] or len(drawn) - len(aloud) > _MARGIN:
            yield f"page {number + 1}: not every part of it is read aloud, once."
    turns = [(one.page, one.mark) for one in read if one.in_turn]
    if turns != sorted(turns):
        yield "words are read aloud in another order than they are printed."


def figure_faults(told: tuple[str, ...], due: tuple[str, ...]) -> Iterator[str]:
    """Figures read aloud with other words than are due."""
    other = Counter(map(_plain, told)) - Counter(map(_plain, due))
    if other or len(told) != len(due):
        yield f"figures are read aloud with other words than are due: {next(iter(other), '')[:60]!r}."


def _parts(pdf: pikepdf.Pdf) -> Iterator[tuple[pikepdf.Dictionary, int | None]]:
    """Each part, before those within it, and the page it begins on."""
    for item, page, _ in _items(pdf):
        if isinstance(item, pikepdf.Dictionary):
            yield item, page


def _marks(pdf: pikepdf.Pdf) -> Iterator[_Read]:
    for item, page, owner in _items(pdf):
        if isinstance(item, int) and page is not None:
            yield _Read(page, item, owner not in _OUT_OF_TURN)


def _items(pdf: pikepdf.Pdf) -> Iterator[tuple[pikepdf.Dictionary | int, int | None, str]]:
    """Parts, and numbers of marks in the drawing with the kind of part they are of, in the order of reading."""
    pages = {page.obj.objgen: number for number, page in enumerate(pdf.pages)}
    root = pdf.Root.get("/StructTreeRoot")
    waiting: list[tuple[object, int | None, str]] = [(root.get("/K"), None, "")] if root is not None else []
    seen: set[tuple[int, int]] = set()
    while waiting:
        item, page, owner = waiting.pop()
        if isinstance(item, pikepdf.Array):
            waiting += [(one, page, owner) for one in reversed(list(item))]
        elif isinstance(item, pikepdf.Dictionary):
            if item.is_indirect and item.objgen in seen:
                continue
            seen.add(item.objgen)
            if "/Pg" in item:
                page = pages.get(item.Pg.objgen)
            if "/MCID" in item:  # a mark of another page than its part begins on
                yield int(item.MCID), page, owner
                continue
            yield item, page, owner
            kind = str(item.get("/S", ""))
            waiting.append((item.get("/K"), page, owner if owner in _OUT_OF_TURN else kind))
        elif isinstance(item, int):
            yield item, page, owner
        elif item is not None:
            raise ValueError("a part read aloud is of a kind no certificate has")


def _more(where: str, value: pikepdf.Object, known: frozenset[str]) -> Iterator[str]:
    more = sorted(set(value.keys()) - known)
    if more:
        yield f"{where} holds {', '.join(more)}, which that of a certificate never has."


def _plain(text: str) -> str:
    return " ".join(text.split())
