"""All words of a certificate's pages in their order, as they are drawn and as its view makes them.

Drawn: every run of letters outside the figures, page by page, and the letters of the figures. Due: the same from the
page before it is laid out. Both without white space, since a line may break anywhere between words.
"""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from benchseal.certificate.language import CATALOGUES
from benchseal.certificate.page_figure import NOT_COMPARED, Shapes, drawn_shapes, due_shapes, shape_faults
from benchseal.certificate.page_head import NO_HEAD, Head, drawn_head, due_head, head_faults
from benchseal.certificate.page_image import drawn_image, due_image
from benchseal.certificate.page_labels import DueFigure, Placed, due_figure, placed_faults, placed_figures
from benchseal.certificate.page_outline import Block, due_blocks, outline_faults, told_blocks
from benchseal.certificate.page_structure import Structure, figure_faults, told_figures
from benchseal.certificate.page_text import bare
from benchseal.certificate.page_words import Pages, said_of
from benchseal.pictures.logo import png_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pikepdf

    from benchseal.records.letterhead import Logo

Kind: TypeAlias = Literal["certificate", "notice"]

_SOURCE: Final[dict[Kind, str]] = {"certificate": "evidence", "notice": "notice attached"}
_TAG: Final = re.compile(r"<[^>]*>")
_FIGURE: Final = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
_FIGURE_TEXT: Final = re.compile(r"<text\b[^>]*>(.*?)</text>", re.DOTALL)
_DRAWN: Final = re.compile(r'(<div class="logo">)?(?:(<svg\b.*?</svg>)|(<img\b[^>]*>))', re.DOTALL)
_TOLD: Final = re.compile(r'<svg\b[^>]*><title>([^<]*)</title>|<img\b[^>]*\salt="([^"]*)"')
_ITEM: Final = re.compile(r"<li\b")
_HEAD_ROW: Final = re.compile(r"<thead\b.*?</thead>", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Flow:
    """Words drawn: of each page, outside its figures; and of each figure, in the order of drawing.

    head: what the file says of itself. told: what is read aloud in the place of each figure. image: digest of the dots
    of the one image, empty where there is none. unread: of each page, what is not read aloud outside its figures.
    blocks: what is read aloud as one. shapes: lines and fields of each figure, in the order they are read aloud in;
    placed: where it stands, with its letters.
    """

    pages: tuple[str, ...]
    figures: tuple[str, ...]
    head: Head = NO_HEAD
    told: tuple[str, ...] = ()
    image: str = ""
    unread: tuple[str, ...] = ()
    blocks: tuple[Block, ...] = ()
    shapes: tuple[Shapes, ...] = ()
    placed: tuple[Placed | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Due:
    """Words due: of the whole page before it is laid out, of each head row that may come again, of the figures.

    head: what the file is due to say of itself. told: what is due to be read aloud in the place of each figure. image:
    as of ``Flow``. items: of its one numbered list; 0 where there is none. blocks, shapes, placed: as of ``Flow``.
    """

    text: str
    heads: tuple[str, ...]
    figures: tuple[str, ...]
    head: Head
    told: tuple[str, ...]
    image: str = ""
    items: int = 0
    blocks: tuple[Block, ...] = ()
    shapes: tuple[Shapes, ...] = ()
    placed: tuple[DueFigure, ...] = ()


def drawn_flow(pdf: pikepdf.Pdf, aloud: Structure | None = None, followed: Pages | None = None) -> Flow:
    """What is drawn. Raises as ``Pages`` does for foreign ways of writing. aloud, followed: gone through before."""
    drawings = (followed or Pages(pdf)).drawn
    told = aloud or Structure(pdf)
    read = {(one.page, one.mark) for one in told.marks}
    pages, figures, unread = [], [], []
    said: dict[tuple[int, int], str] = {}
    shapes: dict[tuple[int, int], Shapes] = {}
    for number, (page, drawing) in enumerate(zip(pdf.pages, drawings, strict=True)):
        drawn: dict[int, list[str]] = {0: []}
        passed_over: list[str] = []
        for text, figure, mark in said_of(drawing):
            drawn.setdefault(figure, []).append(text)
            if (number, mark) in read:
                said[number, mark] = said.get((number, mark), "") + text
            elif not figure:
                passed_over.append(text)
        pages.append(_bare("".join(drawn.pop(0))))
        figures += [_bare("".join(runs)) for runs in drawn.values()]
        unread.append(_bare("".join(passed_over)))
        shapes.update(((number, mark), one) for mark, one in drawn_shapes(page.obj.Contents.read_bytes()).items())
    return Flow(
        tuple(pages),
        tuple(filter(None, figures)),
        drawn_head(pdf),
        told_figures(told),
        drawn_image(pdf),
        tuple(unread),
        told_blocks(told, said),
        tuple(shapes.get((one.page, one.mark), NOT_COMPARED) for one in told.marks if one.pictured),
        placed_figures(drawings, told),
    )


def due_flow(page: str, logo: Logo | None = None) -> Due:
    """What the HTML of a page makes it say, with the logo of its letterhead."""
    body = page[page.index("<body") :]
    figures = (_said("".join(_FIGURE_TEXT.findall(figure))) for figure in _FIGURE.findall(body))
    heads = {_said(head) for head in _HEAD_ROW.findall(body)}
    by_length = tuple(sorted(heads, key=len, reverse=True))
    told = tuple(html.unescape(one or other) for one, other in _TOLD.findall(body))
    image = due_image(png_bytes(logo.data)) if logo is not None and logo.kind == "png" else ""
    text, items = _said(_FIGURE.sub("", body)), len(_ITEM.findall(body))
    blocks = due_blocks(_FIGURE.sub("<svg>", body))
    drawn = _DRAWN.findall(body)
    shapes = tuple(NOT_COMPARED if logo or image else due_shapes(figure) for logo, figure, image in drawn)
    placed = tuple(due_figure(figure or image, logo=bool(logo)) for logo, figure, image in drawn)
    return Due(
        text, by_length, tuple(filter(None, figures)), due_head(page), told, image, items, blocks, shapes, placed
    )


def flow_faults(  # noqa: PLR0913, PLR0917  what a page is held to
    drawn: Flow,
    due: Due,
    number: str,
    laboratory: str,
    foot: str = "",
    kind: Kind = "certificate",
    *,
    own_layout: bool = False,
) -> Iterator[str]:
    """Where the pages say anything else, more, or in another order than is due. foot: of the letterhead.

    own_layout: whether a laboratory's own template laid them out.
    """
    yield from head_faults(drawn.head, due.head)
    yield from figure_faults(drawn.told, due.told)
    if drawn.image != due.image:
        yield "the logo is not that of the letterhead, dot by dot."
    place, told, words = 0, 0, _page_of(due.head.language)
    for page, text in enumerate(drawn.pages, start=1):
        margin = _bare(f"{number}{laboratory}{foot}{words[0]}{page}{words[1]}{len(drawn.pages)}")
        kept, cut, _ = text.rpartition(_bare(number) + _bare(laboratory))
        if not cut or text[len(kept) :] != margin:
            yield f"page {page} does not end with the {kind}'s number, the laboratory and the page's number."
            return
        if drawn.unread[page - 1] != margin:
            yield f"page {page} has words that are not read aloud, or reads its margin aloud."
            return
        again = next(
            (head for head in due.heads if place and kept.startswith(head) and not due.text.startswith(head, place)), ""
        )
        kept = kept[len(again) :]
        kept, told = _without_numbers(kept, told, due, place)
        if not due.text.startswith(kept, place):
            yield f"page {page} says {_difference(kept, due.text[place:], kind)}."
            return
        place += len(kept)
    if told != due.items:
        yield f"the pages number {told} items of {due.items}."
    if place != len(due.text):
        yield f"the pages do not say {due.text[place : place + 40]!r}, with what follows it."
    if drawn.figures != due.figures:
        yield "the figures hold other letters than those that belong to them."
    yield from shape_faults(drawn.shapes, due.shapes)
    yield from placed_faults(drawn.placed, due.placed, own_layout=own_layout)
    yield from outline_faults(drawn.blocks, due.blocks, rows_alone=own_layout)


def _page_of(language: str) -> tuple[str, str]:
    """The words around the page's number in the margin, in a language; without white space."""
    texts = {str(name): catalogue for name, catalogue in CATALOGUES.items()}[language]
    return texts["page/page"], texts["page/of"]


def _without_numbers(kept: str, told: int, due: Due, place: int) -> tuple[str, int]:
    """A page's words without the numbers of items drawn after them, and how many items are numbered up to here."""
    for last in range(due.items, told, -1):
        numbers = "".join(f"{number}." for number in range(told + 1, last + 1))
        if kept.endswith(numbers) and due.text.startswith(kept.removesuffix(numbers), place):
            return kept.removesuffix(numbers), last
    return kept, told


def _difference(found: str, due: str, kind: Kind) -> str:
    same = next((at for at, (one, other) in enumerate(zip(found, due, strict=False)) if one != other), len(due))
    start = max(same - 12, 0)
    return f"{found[start : same + 28]!r} where the {_SOURCE[kind]} makes it say {due[start : same + 28]!r}"


def _said(markup: str) -> str:
    return _bare(html.unescape(_TAG.sub(" ", markup)))


def _bare(text: str) -> str:
    return bare(text)
