"""What a page of a certificate may be made of: nothing that hides a word, covers it or acts when it is opened.

The words of a page are read from its drawing instructions (``page_text``). That is worth something only where each
word is also seen. So the objects of the file are held to those this program's renderer writes, and the instructions
are followed (``page_drawing``). What is read after something else stands below it or to the right of it
(``page_order``), figures too (``page_frame``). What a page is drawn with is held in ``page_resources``, its letters in
``page_type``, what is read aloud in ``page_structure`` and ``page_aloud``, bookmarks in ``page_marks``, the other
objects in ``page_parts``.
Source: ISO 32000-1, 7.7 (structure of a file), 12.3.3 (outlines), 12.7 (forms).

Limits: lines on a bare place, and words moved without a change of their order are not seen here; the page drawn again
from its evidence shows both. Lines and fields of figures are compared in ``page_figure``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pikepdf

from benchseal.certificate.page_aloud import kind_faults
from benchseal.certificate.page_drawing import Drawing
from benchseal.certificate.page_frame import frame_faults
from benchseal.certificate.page_image import image_faults
from benchseal.certificate.page_lists import number_faults, number_runs
from benchseal.certificate.page_marks import outline_faults, place_faults
from benchseal.certificate.page_order import Run, order_faults, overlap_faults
from benchseal.certificate.page_parts import CATALOG, part_faults
from benchseal.certificate.page_resources import resource_faults
from benchseal.certificate.page_structure import Structure, structure_faults
from benchseal.certificate.page_type import type_faults
from benchseal.certificate.page_words import Pages

if TYPE_CHECKING:
    from collections.abc import Iterator

_PAGE: Final = frozenset({
    "/Annots", "/BleedBox", "/Contents", "/MediaBox", "/Parent", "/Resources", "/StructParents", "/Tabs", "/TrimBox",
    "/Type",
})  # fmt: skip
_NAMES: Final = frozenset({"/EmbeddedFiles"})

_UPPER_PT: Final = 34.0  # 12 mm: the line of a paper copy ends 11.2 mm below the edge


def form_faults(
    pdf: pikepdf.Pdf,
    *,
    sealed: bool = True,
    lists: bool = False,
    aloud: Structure | None = None,
    pages: Pages | None = None,
) -> Iterator[str]:
    """Everything about the pages that is not as this program writes it, in plain sentences.

    sealed: whether there is a seal, and with it its one form field. lists: whether the pages may have lists, as those
    of a notice do, and no letterhead, which those of a certificate may have. aloud, pages: gone through before.
    """
    torn = [
        number for number, page in enumerate(pdf.pages, start=1) if not isinstance(page.obj.Contents, pikepdf.Stream)
    ]
    yield from (f"page {number} is drawn in several parts; that of a certificate is drawn in one." for number in torn)
    if torn:
        return
    yield from _others("the file's catalog", pdf.Root, CATALOG)
    if "/Names" in pdf.Root:
        yield from _others("the list of names", pdf.Root.Names, _NAMES)
    yield from _field_faults(pdf, due=int(sealed))
    yield from part_faults(pdf)
    told = aloud or Structure(pdf)
    yield from structure_faults(pdf, told, lists=lists)
    yield from resource_faults(pdf)
    yield from image_faults(pdf, letterhead=not lists)
    lettered = tuple(type_faults(pdf))
    yield from lettered
    if "/Outlines" in pdf.Root:
        yield from outline_faults(pdf)
    if lettered:
        return  # how wide a letter is, is not known
    drawn = (pages or Pages(pdf)).drawn
    for number, (page, one) in enumerate(zip(pdf.pages, drawn, strict=True), start=1):
        where = f"page {number}"
        yield from _others(where, page.obj, _PAGE)
        if page.obj.get("/Tabs") != pikepdf.Name.S or repr(page.obj.get("/StructParents")) != str(number - 1):
            yield f"{where} is gone through in another order than it is read aloud."
        yield from (f"{where}: {fault}" for fault in _drawing_faults(one, told, number - 1, lists=lists))
    if any(one.faults for one in drawn):
        return  # where a heading stands, is not known
    headings = [(page, drawn[page].runs[drawn[page].marks[mark]]) for page, mark in told.headings()]
    yield from place_faults(pdf, headings)


def _others(where: str, value: pikepdf.Object, known: frozenset[str]) -> Iterator[str]:
    more = sorted(set(value.keys()) - known)
    if more:
        yield f"{where} holds {', '.join(more)}, which a certificate never has."


def _field_faults(pdf: pikepdf.Pdf, due: int) -> Iterator[str]:
    """One form field, the seal's, which is nowhere on the page; and no other annotation."""
    fields = list(pdf.Root.AcroForm.get("/Fields", ())) if "/AcroForm" in pdf.Root else []
    if len(fields) != due:
        yield f"it holds {len(fields)} form fields; a certificate holds the seal's alone."
    notes = [note for page in pdf.pages for note in page.obj.get("/Annots", ())]
    foreign = [str(note.get("/Subtype", "/?")) for note in notes if [note.objgen] != [one.objgen for one in fields]]
    if foreign:
        yield f"annotation {', '.join(foreign)} lies on a page; a certificate has none but the seal's."
    if any("/AP" in one or any(map(float, one.get("/Rect", (1,)))) for one in fields):
        yield "the seal's field is drawn on the page; that of a certificate is not."


def _drawing_faults(drawn: Drawing, told: Structure, page: int, *, lists: bool) -> Iterator[str]:
    """page: counted from 0."""
    yield from drawn.faults
    if drawn.faults:
        return
    yield from kind_faults(drawn.parts, told, page)
    yield from frame_faults(drawn, told, page)
    numbers = number_runs(drawn, told, page) if lists else frozenset()
    each = enumerate(zip(drawn.runs, drawn.pictured, strict=True))
    ordered = order_faults([run for at, (run, apart) in each if not apart and at not in numbers])
    yield from dict.fromkeys((*ordered, *overlap_faults(drawn.read(), drawn.in_figures()), *drawn.beside()))
    if lists:
        yield from number_faults(drawn, told, page)


def read_runs(page: pikepdf.Page) -> list[Run]:
    """Where each run of letters outside figures stands, in the order of drawing; of a page as this program draws it."""
    return Drawing(page).read()


def margin_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Text in the upper margin, where a numbered paper copy says for whom it is."""
    for number, page in enumerate(pdf.pages, start=1):
        top = float(page.obj.MediaBox[3])
        if any(level > top - _UPPER_PT for _, _, level, _ in Drawing(page).runs):
            yield f"page {number}: text stands in the upper margin, which a numbered paper copy needs."
