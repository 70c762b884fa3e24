"""What a PDF is made of, judged against points of ISO 19005-3 (PDF/A-3, level A) and ISO 32000-1.

Each function yields faults in words. No fault is no proof of conformance: no independent checker was found that knows
part 3. The points are from memory of the standards.
"""

from __future__ import annotations

import io
import re
from itertools import pairwise
from typing import TYPE_CHECKING, Any, TypeAlias
from xml.etree import ElementTree as ET

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator

Thing: TypeAlias = Any  # an object of a PDF: what it holds is what is asked here

FAMILY = {"Certificate", "Certificate-Semi-Bold"}
FORBIDDEN_ACTIONS = {
    "/JavaScript", "/Launch", "/Sound", "/Movie", "/ResetForm", "/ImportData", "/Hide", "/SetOCGState", "/Rendition",
    "/Trans", "/GoTo3DView", "/SubmitForm", "/URI", "/GoToR", "/GoToE",
}  # fmt: skip
_DC = "{http://purl.org/dc/elements/1.1/}"
_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
_PDFAID = "{http://www.aiim.org/pdfa/ns/id/}"
_PDF = "{http://ns.adobe.com/pdf/1.3/}"
_XMP = "{http://ns.adobe.com/xap/1.0/}"
_SHOWS_TEXT = {"Tj", "TJ", "'", '"'}
_PAINTS = _SHOWS_TEXT | {"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh", "Do", "BI"}
_CMYK = {"k", "K"}


def every_fault(data: bytes, *, sealed: bool = False, families: frozenset[str] = frozenset(FAMILY)) -> list[str]:
    """All faults of all groups."""
    with pikepdf.open(io.BytesIO(data)) as opened:
        pdf: Thing = opened
        return [
            *frame(data, pdf, sealed=sealed),
            *metadata(pdf),
            *colours(pdf),
            *fonts(pdf, families),
            *forbidden(pdf),
            *attachments(pdf),
            *notes_on_pages(pdf, sealed=sealed),
            *tags(pdf),
        ]


def frame(data: bytes, pdf: Thing, *, sealed: bool) -> Iterator[str]:
    """Group 1: header, identifier, no encryption, nothing after the end but a seal."""
    if not data.startswith(b"%PDF-1.7\n"):
        yield f"header {data[:9]!r}"
    if str(pdf.Root.get("/Version", "/1.7")) != "/1.7":
        yield "the catalog states another version"
    comment = data.split(b"\n", 2)[1]
    if not (comment.startswith(b"%") and len(comment) >= 5 and all(byte > 127 for byte in comment[1:5])):
        yield "line 2 is no binary comment"
    if len(pdf.trailer.get("/ID", ())) != 2:
        yield "no identifier"
    if pdf.is_encrypted or "/Encrypt" in pdf.trailer:
        yield "encrypted"
    ends = data.count(b"%%EOF")
    if ends != (2 if sealed else 1):
        yield f"{ends} ends of file"
    if data.rstrip(b"\r\n").rpartition(b"%%EOF")[2]:
        yield "something follows the last end of file"


def metadata(pdf: Thing) -> Iterator[str]:
    """Group 2: XMP says part 3 level A, and what Info says; language, marks, title shown."""
    root = pdf.Root
    if "/Metadata" not in root:
        yield "no XMP"
        return
    xmp = _properties(root.Metadata.read_bytes())
    if (xmp.get(f"{_PDFAID}part"), xmp.get(f"{_PDFAID}conformance")) != ("3", "A"):
        yield "XMP does not say part 3, level A"
    info = {key: str(value) for key, value in pdf.docinfo.items()}
    if not info.get("/Title"):
        yield "no title"
    pairs = (("/Title", f"{_DC}title"), ("/Author", f"{_DC}creator"), ("/Subject", f"{_DC}description"),
             ("/Producer", f"{_PDF}Producer"), ("/Creator", f"{_XMP}CreatorTool"))  # fmt: skip
    for key, name in pairs:
        if info.get(key, "") != xmp.get(name, ""):
            yield f"{key} {info.get(key)!r} and XMP {xmp.get(name)!r} differ"
    for key, name in (("/CreationDate", "CreateDate"), ("/ModDate", "ModifyDate")):
        figures = re.sub(r"\D", "", info.get(key, ""))[:14]
        if not figures or figures != re.sub(r"\D", "", xmp.get(f"{_XMP}{name}", ""))[:14]:
            yield f"{key} and XMP differ"
    yield from _catalog(root)


def _catalog(root: Thing) -> Iterator[str]:
    if not str(root.get("/Lang", "")):
        yield "no language"
    if not bool(root.get("/MarkInfo", {}).get("/Marked", False)):
        yield "not said to be marked"
    if not bool(root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False)):
        yield "the title is not shown"


def _properties(packet: bytes) -> dict[str, str]:
    found: dict[str, str] = {}
    for description in ET.fromstring(packet.decode()).iter(f"{_RDF}Description"):  # noqa: S314  made by our own renderer
        found |= {name: value for name, value in description.attrib.items() if not name.startswith(_RDF)}
        found |= {child.tag: "".join(child.itertext()).strip() for child in description}
    return found


def colours(pdf: Thing) -> Iterator[str]:
    """Group 3: one output intent with a profile of as many components as it says; no colour it does not cover."""
    intents = [one for one in pdf.Root.get("/OutputIntents", ()) if one.get("/S") == "/GTS_PDFA1"]
    if len(intents) != 1:
        yield f"{len(intents)} output intents"
        return
    profile = intents[0].DestOutputProfile
    space = bytes(profile.read_bytes()[16:20])
    if {b"RGB ": 3, b"GRAY": 1, b"CMYK": 4}.get(space) != int(profile.N) or int(profile.N) != 3:
        yield f"profile of {space!r} with N {profile.N}"
    for holder in (*pdf.pages, *_streams(pdf, "/Form")):
        if any(str(one.operator) in _CMYK for one in pikepdf.parse_content_stream(holder)):
            yield "a colour of four inks without a profile"
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Array) and len(thing) and str(thing[0]) in {"/DeviceN", "/Separation"}:
            yield "a special colour"
        if isinstance(thing, pikepdf.Stream) and str(thing.get("/ColorSpace", "")) == "/DeviceCMYK":
            yield "an image of four inks"


def _streams(pdf: Thing, subtype: str) -> Iterator[Thing]:
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == subtype and thing.get("/Type") == "/XObject":
            yield thing


def fonts(pdf: Thing, families: frozenset[str]) -> Iterator[str]:
    """Group 4: only the shipped family, each face embedded as a subset, with its way back to characters."""
    top = [one for one in _dictionaries(pdf) if one.get("/Type") == "/Font" and "/DescendantFonts" in one]
    every = [one for one in _dictionaries(pdf) if one.get("/Type") == "/Font"]
    if not top or len(every) != 2 * len(top):
        yield "a font that is not composite"
    for font in top:
        descriptor = font.DescendantFonts[0].FontDescriptor
        name = str(font.BaseFont)
        if not {"/FontFile2", "/FontFile3"} & set(descriptor.keys()):
            yield f"{name} is not embedded"
        if "/ToUnicode" not in font:
            yield f"{name} has no way back to characters"
        if not re.match(r"/[A-Z]{6}\+", name):
            yield f"{name} is no subset"
        if name[8:] not in families:
            yield f"{name} is of another family"


def _dictionaries(pdf: Thing) -> Iterator[Thing]:
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Dictionary):
            yield thing


def forbidden(pdf: Thing) -> Iterator[str]:
    """Group 5: no action, no script, no form language, no LZW, nothing kept outside the file."""
    for key in ("/OpenAction", "/AA", "/OCProperties"):
        if key in pdf.Root:
            yield f"{key} in the catalog"
    for thing in pdf.objects:
        if not isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
            continue
        keys = set(thing.keys())
        if str(thing.get("/S", "")) in FORBIDDEN_ACTIONS:
            yield f"an action {thing.S}"
        yield from (f"{key} in an object" for key in ("/XFA", "/JS", "/AA", "/NeedsRendering") if key in keys)
        if isinstance(thing, pikepdf.Stream):
            filters: Thing = thing.get("/Filter", [])
            names = [str(filters)] if isinstance(filters, pikepdf.Name) else [str(one) for one in filters]
            yield from (f"filter {name}" for name in names if name in {"/LZWDecode", "/Crypt"})
            yield from (f"{key} in a stream" for key in ("/F", "/FFilter", "/FDecodeParms", "/OPI") if key in keys)
            if str(thing.get("/Subtype2", thing.get("/Subtype", ""))) == "/PS":
                yield "a PostScript object"


def attachments(pdf: Thing) -> Iterator[str]:
    """Group 6: each file described, dated, measured, once in AF, in a sorted name tree."""
    listed = list(pdf.Root.get("/AF", ()))
    if len({one.objgen for one in listed}) != len(listed):
        yield "a file listed twice"
    tree = pdf.Root.get("/Names", {}).get("/EmbeddedFiles", {}).get("/Names", [])
    names = [str(tree[at]) for at in range(0, len(tree), 2)]
    if names != sorted(names):
        yield "names of files are not sorted"
    if {tree[at].objgen for at in range(1, len(tree), 2)} != {one.objgen for one in listed}:
        yield "names and AF list other files"
    for one in listed:
        lacking = {"/F", "/UF", "/Desc", "/AFRelationship", "/EF"} - set(one.keys())
        if lacking:
            yield f"a file without {sorted(lacking)}"
            continue
        stream = one.EF.F
        if "/Subtype" not in stream:
            yield "a file without its kind"
        params = stream.get("/Params", {})
        if {"/ModDate", "/Size", "/CheckSum"} - set(params.keys()) or int(params.Size) != len(stream.read_bytes()):
            yield "a file without date, size or sum"


def notes_on_pages(pdf: Thing, *, sealed: bool) -> Iterator[str]:
    """Group 7, first half: the only annotation is the seal's, printed, neither seen nor hidden."""
    found = [one for page in pdf.pages for one in page.get("/Annots", ())]
    if len(found) != (1 if sealed else 0):
        yield f"{len(found)} annotations"
    for one in found:
        flags = int(one.get("/F", 0))
        if not flags & 4 or flags & (1 | 2 | 32):
            yield f"annotation flags {flags}"
        if "/AP" not in one and [float(edge) for edge in one.Rect] != [0.0, 0.0, 0.0, 0.0]:
            yield "an annotation that is seen has no appearance"


def tags(pdf: Thing) -> Iterator[str]:
    """Group 7, second half: structure of everything painted, tables with headers, pictures with words, in order."""
    if "/StructTreeRoot" not in pdf.Root:
        yield "no structure"
        return
    if any(str(page.get("/Tabs", "")) != "/S" for page in pdf.pages):
        yield "a page whose tab order is not the structure's"
    every = elements(pdf)
    yield from _names(pdf, every)
    yield from _headings(every)
    yield from _pictures(every)
    for table in (one for one in every if str(one.get("/S", "")) == "/Table"):
        yield from _table(table)
    yield from _plain(every)
    yield from _marked(pdf)


def elements(pdf: Thing) -> list[Thing]:
    """Every element of the structure in reading order."""
    return list(_elements(pdf.Root.StructTreeRoot))


def _elements(above: Thing) -> Iterator[Thing]:
    for kid in _kids(above):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from _elements(kid)


def _kids(element: Thing) -> list[Thing]:
    kids = element.get("/K", [])
    return list(kids) if isinstance(kids, pikepdf.Array) else [kids]


def _names(pdf: Thing, every: list[Thing]) -> Iterator[str]:
    named = {str(one.ID): one.objgen for one in every if "/ID" in one}
    if len(named) != sum("/ID" in one for one in every):
        yield "two elements of one name"
    tree = pdf.Root.StructTreeRoot.get("/IDTree", {}).get("/Names", [])
    listed = [(str(tree[at]), tree[at + 1].objgen) for at in range(0, len(tree), 2)]
    if listed != sorted(named.items()):
        yield "the tree of names and the names differ"


def _headings(every: list[Thing]) -> Iterator[str]:
    levels = [int(str(one.S)[2]) for one in every if re.fullmatch("/H[1-6]", str(one.S))]
    if levels.count(1) != 1 or levels[0] != 1:
        yield f"headings {levels}: not one title first"
    yield from (f"a heading of level {after} after one of {at}" for at, after in pairwise(levels) if after > at + 1)


def _pictures(every: list[Thing]) -> Iterator[str]:
    for one in every:
        if str(one.S) == "/Figure" and len(str(one.get("/Alt", "")).split()) < 5:
            yield f"a picture without a sentence: {str(one.get('/Alt', ''))!r}"


def _table(table: Thing) -> Iterator[str]:
    rows = [one for one in _elements(table) if str(one.S) == "/TR"]
    if not rows:
        yield "a table without rows"
    cells = [kid for row in rows for kid in _kids(row)]
    kinds = {str(one.S) for one in cells}
    if not kinds <= {"/TH", "/TD"}:
        yield f"in rows stand {kinds}"
    heads = [str(one.get("/ID", "")) for one in cells if str(one.S) == "/TH"]
    if not all(heads) or len(set(heads)) != len(heads):
        yield "a header cell that cannot be named"
    for one in (cell for cell in cells if str(cell.S) == "/TD"):
        named = {str(head) for attributes in _attributes(one) for head in attributes.get("/Headers", ())}
        if not named or not named <= set(heads):
            yield "a cell without a header"


def _attributes(element: Thing) -> list[Thing]:
    found = element.get("/A", [])
    return [found] if isinstance(found, pikepdf.Dictionary) else [one for one in found if hasattr(one, "keys")]


def _contents(above: Thing) -> Iterator[tuple[Thing, int]]:
    """Each number of marked content with its element, in reading order: between elements too."""
    for kid in _kids(above):
        if isinstance(kid, int):
            yield above, kid
        elif isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield from _contents(kid)


def _plain(every: list[Thing]) -> Iterator[str]:
    """What has no meaning of its own is left out, so that nobody has to go through it."""
    within = [one for one in every if "/Pg" in one.P]  # one right below the whole holds together what it holds
    kinds = {str(one.S) for one in within} & {"/NonStruct", "/Span"}
    if kinds:
        yield f"elements without a meaning: {sorted(kinds)}"


def _marked(pdf: Thing) -> Iterator[str]:
    """Everything painted is marked, as content of an element or as an artifact; texts go as they are painted.

    Pictures are painted after the texts around them, and so stand elsewhere in the structure.
    """
    pictures: set[tuple[tuple[int, int], int]] = set()
    held: dict[tuple[int, int], list[int]] = {}
    for one, kid in _contents(pdf.Root.StructTreeRoot):
        page = one.get("/Pg")
        if page is not None:
            held.setdefault(page.objgen, []).append(kid)
            if str(one.S) == "/Figure":
                pictures.add((page.objgen, kid))
    for number, page in enumerate(pdf.pages, start=1):
        painted, bare = _painted(page)
        if bare:
            yield f"page {number}: {bare[0]} outside any mark"
        order = held.get(page.obj.objgen, [])
        if sorted(order) != sorted(painted):
            yield f"page {number}: painted and structured content differ"
            continue
        texts, read = ([n for n in numbers if (page.obj.objgen, n) not in pictures] for numbers in (painted, order))
        if texts != read:
            yield f"page {number}: the structure goes another way than the page"


def _painted(page: Thing) -> tuple[list[int], list[str]]:
    """Numbers of the marked contents in the order of painting, and operators that paint outside any mark."""
    numbers: list[int] = []
    bare: list[str] = []
    depth: list[bool] = []
    for one in pikepdf.parse_content_stream(page):
        name = str(one.operator)
        if name in {"BDC", "BMC"}:
            properties: Thing = one.operands[1] if name == "BDC" else {}
            depth.append(True)
            if "/MCID" in properties:
                numbers.append(int(properties["/MCID"]))
        elif name == "EMC":
            depth.pop()
        elif name in _PAINTS and not depth:
            bare.append(name)
    return numbers, bare


def tables_with_heads(pdf: Thing) -> int:
    """How many tables have a header row."""
    tables = [one for one in elements(pdf) if str(one.S) == "/Table"]
    return sum(any(str(kid.S) == "/THead" for kid in _kids(table)) for table in tables)
