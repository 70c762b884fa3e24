"""The objects of a certificate beside its pages: attachments, what the file says of itself, how it is opened.

Each can say or show something that no word of a page says, as a second content of an attached file does. So each has
exactly the keys that this program's renderer writes; ``seal_form`` has those of the seal. Source: ISO 32000-1, 7.3.8
(streams kept elsewhere), 7.11 (file specifications), 12.2 (viewer preferences).
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any, Final

import pikepdf

from benchseal.certificate.page_head import own_faults

if TYPE_CHECKING:
    from collections.abc import Iterator

_FILE: Final = frozenset({"/AFRelationship", "/Desc", "/EF", "/F", "/Type", "/UF"})
_PARTICULARS: Final = frozenset({"/CheckSum", "/CreationDate", "/ModDate", "/Size"})
_JSON: Final = "/application/json"
_FILE_STREAM: Final = frozenset({"/Filter", "/Length", "/Params", "/Subtype", "/Type"})
_SAID: Final = {
    "/evidence.json": "Evidence: readings, calibration, checks and signatures",
    "/supplement.json": "Release signature, checkpoint and proofs",
    "/notice.json": "What is withdrawn, why, and the signature",
    "/proof.json": "Checkpoint and proof that the ledger holds the withdrawal",
}
CATALOG: Final = frozenset({
    "/AF", "/AcroForm", "/Extensions", "/Lang", "/MarkInfo", "/Metadata", "/Names", "/Outlines", "/OutputIntents",
    "/Pages", "/Perms", "/StructTreeRoot", "/Type", "/ViewerPreferences",
})  # fmt: skip
_TREE: Final = frozenset({"/Count", "/Kids", "/Type"})
_END_OF_STREAM: Final = b"endstream"
_EDGES: Final = ("/BleedBox", "/TrimBox")
_PAGES_PT: Final = ((595, 842), (612, 792))  # A4, Letter


def part_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Everything about these objects that is not as this program writes it, in plain sentences."""
    for page in pdf.pages:
        x0, y0, x1, y1 = (float(corner) for corner in page.obj.MediaBox)
        cut = any(list(page.obj.get(name, page.obj.MediaBox)) != list(page.obj.MediaBox) for name in _EDGES)
        if cut or (x0, y0) != (0, 0) or (round(x1), round(y1)) not in _PAGES_PT:
            yield "a page is of another size than A4 or Letter."
    opened: Any = pdf.Root.get("/ViewerPreferences", {})
    if dict(opened) != {"/DisplayDocTitle": True}:
        yield "it says how a reader shows it, which a certificate never does."
    yield from own_faults(pdf)
    files = list(pdf.Root.get("/AF", ()))
    told = [(str(one.get("/UF", "")), one.objgen) for one in files]
    if set(_files(pdf).keys()) != ({"/Names"} if files else set()) or _listed(pdf) != told:
        yield "its attachments are not listed once, under their own names."
    for spec in files:
        yield from _file_faults(spec, str(pdf.docinfo.get("/CreationDate", "")))


def tree_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """The list of pages: one row of leaves, counted, each under that row alone.

    To be asked before anything looks at the pages: the library that reads them mends their list as it does. Readers
    differ in which of two ways down a tree they follow, and whether they believe its count. Source: ISO 32000-1, 7.7.3.
    """
    top: Any = pdf.Root.Pages
    yield from _others("the list of pages", top, _TREE)
    leaves = list(top.Kids)
    if pdf.Root.get("/Type") != "/Catalog" or top.get("/Type") != "/Pages" or top.get("/Count") != len(leaves):
        yield "its list of pages is counted or told otherwise than that of a certificate."
    places = {one.objgen for one in leaves}
    if len(places) != len(leaves) or any(
        one.get("/Type") != "/Page" or "/Kids" in one or one.Parent.objgen != top.objgen for one in leaves
    ):
        yield "a page stands elsewhere than in the one list of pages."


def repaired_faults(pdf: pikepdf.Pdf, data: bytes) -> Iterator[str]:
    """Whatever the library that reads the file had to mend, or could have taken in two ways.

    To be asked when everything is read. A stream that ends elsewhere than it says, a key told twice: readers mend them
    in different ways, and then show different pages of one file. Source: ISO 32000-1, 7.3.7 and 7.3.8.
    """
    streams = sum(isinstance(one, pikepdf.Stream) for one in pdf.objects)
    if pdf.get_warnings() or data.count(_END_OF_STREAM) != streams:
        yield "the file is not built in the one way every reader takes alike; that of a certificate is."


def _listed(pdf: pikepdf.Pdf) -> list[tuple[str, tuple[int, int]]]:
    """Names under which a reader lists attachments, and the place of each."""
    listed = list(_files(pdf).get("/Names", pikepdf.Array()))
    return [(str(name), one.objgen) for name, one in zip(listed[::2], listed[1::2], strict=True)]


def _files(pdf: pikepdf.Pdf) -> pikepdf.Object:
    nothing = pikepdf.Dictionary()
    return pdf.Root.get("/Names", nothing).get("/EmbeddedFiles", nothing)


def _others(where: str, value: pikepdf.Object, known: frozenset[str]) -> Iterator[str]:
    more = sorted(set(value.keys()) - known)
    if more:
        yield f"{where} holds {', '.join(more)}, which that of a certificate never has."


def _exactly(where: str, value: pikepdf.Object, due: frozenset[str]) -> Iterator[str]:
    yield from _others(where, value, due)
    lacking = sorted(due - set(value.keys()))
    if lacking:
        yield f"{where} lacks {', '.join(lacking)}, which that of a certificate has."


def _file_faults(spec: pikepdf.Object, made_at: str) -> Iterator[str]:
    """One content under one name, inside the file, said to be what it is."""
    name = str(spec.UF)
    yield from _exactly(f"the attachment {name}", spec, _FILE)
    yield from _exactly(f"the attachment {name}", spec.EF, frozenset({"/F"}))
    yield from _exactly(f"the content of {name}", spec.EF.F, _FILE_STREAM)
    kinds = spec.get("/Type"), spec.EF.F.get("/Type"), spec.EF.F.get("/Filter")
    if [*map(str, kinds)] != ["/Filespec", "/EmbeddedFile", "/FlateDecode"]:
        yield f"the attachment {name} is called something else than an attached file."
    if str(spec.get("/F", "")) != name:
        yield f"the attachment {name} has a second name."
    content, told = spec.EF.F, spec.EF.F.get("/Params", pikepdf.Dictionary())
    yield from _exactly(f"the attachment {name}, its particulars,", told, _PARTICULARS)
    data = content.read_bytes()
    due = (len(data), hashlib.md5(data, usedforsecurity=False).digest())  # ISO 32000-1, table 46
    if (int(told.get("/Size", -1)), bytes(told.get("/CheckSum", b""))) != due or content.get("/Subtype") != _JSON:
        yield f"the attachment {name} is said to be of another size, sum or kind than it is."
    if {str(told.get(name, "")) for name in ("/CreationDate", "/ModDate")} != {made_at}:
        yield f"the attachment {name} is said to be of another time than the pages."
    said = _SAID.get(f"/{name}")
    if said is not None and str(spec.get("/Desc", "")) != said:
        yield f"the attachment {name} is described otherwise."
