"""Bookmarks: the headings of the pages, one by one, each leading to where its heading stands.

Source: ISO 32000-1, 12.3.2 (destinations), 12.3.3 (outlines).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pikepdf

from benchseal.certificate.page_text import bare

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.certificate.page_order import Run

_BOOKMARK: Final = frozenset({"/Count", "/Dest", "/First", "/Last", "/Next", "/Parent", "/Prev", "/Title"})
_DESTINATION: Final = 5  # page, kind of view, left, top, zoom
_ABOVE_HEADING: Final = 4.0  # of the height of its letters: the upper edge of a heading and what is set above it


def bookmarks(pdf: pikepdf.Pdf) -> list[pikepdf.Object]:
    """In the order a reader lists them."""
    found: list[pikepdf.Object] = []
    seen: set[tuple[int, int]] = set()
    waiting = [pdf.Root.Outlines.First] if "/First" in pdf.Root.get("/Outlines", pikepdf.Dictionary()) else []
    while waiting:
        item = waiting.pop()
        if item.objgen not in seen:
            seen.add(item.objgen)
            found.append(item)
            waiting += [item[name] for name in ("/Next", "/First") if name in item]
    return found


def outline_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Bookmarks that do not hang together as this program writes them: each with its own keys, all counted."""
    more = {name for one in bookmarks(pdf) for name in one.keys()} - _BOOKMARK  # noqa: SIM118  not a dict
    if more:
        yield f"a bookmark holds {', '.join(sorted(more))}, which a certificate never has."
    elif _hung(pdf.Root.Outlines, {"/Count", "/First", "/Last"}) is None:
        yield "its bookmarks do not hang together as those of a certificate do."


def _hung(above: pikepdf.Object, due: set[str]) -> int | None:
    """How many bookmarks hang under one, and under those; None where one is not as it should be."""
    count, before, item, seen = 0, None, above.get("/First"), {above.objgen}
    while item is not None:
        if not isinstance(item, pikepdf.Dictionary) or item.objgen in seen:
            return None
        seen.add(item.objgen)
        kids = {"/First", "/Last"} if "/First" in item else set[str]()
        sides = ({"/Prev"} if before is not None else set[str]()) | ({"/Next"} if "/Next" in item else set[str]())
        inner = _hung(item, {"/Count", "/Dest", "/Parent", "/Title"} | kids | sides)
        if inner is None or item.Parent.objgen != above.objgen or len(item.Dest) != _DESTINATION:
            return None
        if before is not None and item.Prev.objgen != before.objgen:
            return None
        count, before, item = count + 1 + inner, item, item.get("/Next")
    ends = before is None or above.get("/Last", pikepdf.Dictionary()).objgen == before.objgen
    counted = repr(above.get("/Count")) == str(count)  # a number without a point
    return count if set(above.keys()) == due and ends and counted else None


def place_faults(pdf: pikepdf.Pdf, headings: Sequence[tuple[int, Run]]) -> Iterator[str]:
    """Bookmarks that do not lead to the headings, one after the other. headings: page and first run of each."""
    pages = {page.obj.objgen: number for number, page in enumerate(pdf.pages)}
    marks = bookmarks(pdf)
    if len(marks) != len(headings):
        yield f"it has {len(marks)} bookmarks for {len(headings)} headings."
    for mark, (page, (begin, _, level, height)) in zip(marks, headings, strict=False):
        there, kind, x, y, *zoom = list(mark.Dest)
        near = -height < begin - float(x) < height and 0 <= float(y) - level < _ABOVE_HEADING * height
        if pages.get(there.objgen) != page or kind != "/XYZ" or any(map(int, zoom)) or not near:
            yield f"a bookmark leads to another place than to its heading: {str(mark.Title)[:60]!r}."
            return


def title_faults(pdf: pikepdf.Pdf, pages: Sequence[str]) -> Iterator[str]:
    """Bookmarks that say what the page they lead to does not. pages: all words of each page, without white space."""
    numbers = {page.obj.objgen: number for number, page in enumerate(pdf.pages)}
    for item in bookmarks(pdf):
        if bare(str(item.Title)) not in pages[numbers[item.Dest[0].objgen]]:
            yield f"a bookmark says {str(item.Title)[:60]!r}, which the page it leads to does not."
