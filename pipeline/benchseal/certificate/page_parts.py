"""The objects of a certificate beside its pages: the seal's form, attachments, what is read aloud, how it is opened.

Each can say or show something that no word of a page says: a form of another kind (XFA), a second content of an
attached file, a text read aloud in place of the printed one. So each has exactly the keys that this program's renderer
and sealer write. Source: ISO 32000-1, 7.3.8 (streams kept elsewhere), 7.11 (file specifications), 12.2 (viewer
preferences), 12.7.2 (forms), 14.7 and 14.9 (structure, replacement text).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import pikepdf

from benchseal.certificate.page_head import own_faults
from benchseal.certificate.page_text import bare

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

_FORM: Final = frozenset({"/Fields", "/SigFlags"})
_FIELD: Final = frozenset({"/F", "/FT", "/P", "/Rect", "/Subtype", "/T", "/Type", "/V"})
_FILE: Final = frozenset({"/AFRelationship", "/Desc", "/EF", "/F", "/Type", "/UF"})
_FILE_STREAM: Final = frozenset({"/Filter", "/Length", "/Params", "/Subtype", "/Type"})
_SAID: Final = {
    "/evidence.json": "Evidence: readings, calibration, checks and signatures",
    "/supplement.json": "Release signature, checkpoint and proofs",
}
_STRUCTURE_ROOT: Final = frozenset({"/IDTree", "/K", "/ParentTree", "/Type"})
_STRUCTURE: Final = frozenset({"/A", "/Alt", "/ID", "/K", "/P", "/Pg", "/S", "/Type"})
_PAGES_PT: Final = ((595, 842), (612, 792))  # A4, Letter


def part_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Everything about these objects that is not as this program writes it, in plain sentences."""
    form = pdf.Root.get("/AcroForm", pikepdf.Dictionary())
    yield from _others("the form of the seal", form, _FORM)
    for one in form.get("/Fields", ()):
        yield from _others("the seal's field", one, _FIELD)
    for page in pdf.pages:
        x0, y0, x1, y1 = (float(corner) for corner in page.obj.MediaBox)
        if (x0, y0) != (0, 0) or (round(x1), round(y1)) not in _PAGES_PT:
            yield "a page is of another size than A4 or Letter."
    opened: Any = pdf.Root.get("/ViewerPreferences", {})
    if dict(opened) != {"/DisplayDocTitle": True}:
        yield "it says how a reader shows it, which a certificate never does."
    yield from own_faults(pdf)
    for spec in pdf.Root.get("/AF", ()):
        yield from _file_faults(spec)
    yield from _structure_faults(pdf)


def title_faults(pdf: pikepdf.Pdf, pages: Iterable[str]) -> Iterator[str]:
    """Bookmarks that say what no page says. pages: all words of each page, without white space."""
    whole = "".join(pages)
    waiting, seen = [pdf.Root.get("/Outlines", pikepdf.Dictionary())], set()
    while waiting:
        item = waiting.pop()
        if item.objgen in seen:
            continue
        seen.add(item.objgen)
        title = bare(str(item.get("/Title", "")))
        if title not in whole:
            yield f"a bookmark says {str(item.Title)[:60]!r}, which no page says."
        waiting += [item[name] for name in ("/First", "/Next") if name in item]


def _others(where: str, value: pikepdf.Object, known: frozenset[str]) -> Iterator[str]:
    more = sorted(set(value.keys()) - known)
    if more:
        yield f"{where} holds {', '.join(more)}, which that of a certificate never has."


def _file_faults(spec: pikepdf.Object) -> Iterator[str]:
    """One content under one name, inside the file, said to be what it is."""
    name = str(spec.UF)
    yield from _others(f"the attachment {name}", spec, _FILE)
    yield from _others(f"the attachment {name}", spec.EF, frozenset({"/F"}))
    yield from _others(f"the content of {name}", spec.EF.F, _FILE_STREAM)
    if str(spec.get("/F", name)) != name:
        yield f"the attachment {name} has a second name."
    said = _SAID.get(f"/{name}")
    if said is not None and str(spec.get("/Desc", "")) != said:
        yield f"the attachment {name} is described otherwise."


def _structure_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """What is read aloud is what is printed: no text in place of another, a description of figures only."""
    root = pdf.Root.get("/StructTreeRoot")
    if root is None:
        return
    yield from _others("what is read aloud", root, _STRUCTURE_ROOT)
    waiting, seen = [root.get("/K")], set()
    while waiting:
        item = waiting.pop()
        if isinstance(item, pikepdf.Array):
            waiting += list(item)
        elif isinstance(item, pikepdf.Dictionary) and "/S" in item:
            if item.is_indirect and item.objgen in seen:
                continue
            seen.add(item.objgen)
            yield from _others("a part read aloud", item, _STRUCTURE)
            if "/Alt" in item and item.S != "/Figure":
                yield "words of the page are read aloud as other words."
            waiting.append(item.get("/K"))
