"""What a page of a certificate may be made of: nothing that hides a word, covers it or acts when it is opened.

The words of a page are read from its drawing instructions (``page_text``). That is worth something only where each
word is also seen. So the objects of the file are held to those this program's renderer writes, and the instructions
are followed: each run of letters is dark, large enough, inside its clip and the page, drawn in the plain way, and
nothing is painted over its beginning later. Sources: ISO 32000-1, 7.7 (structure), 8.4 and 8.5 (graphics state,
painting), 9.3 (text state).

Limits: letters whose shapes were exchanged inside the font, and strokes added to a figure, are not seen here; the page
drawn again from its evidence shows both.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, TypeAlias

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator

_CATALOG: Final = frozenset({
    "/AF", "/AcroForm", "/Extensions", "/Lang", "/MarkInfo", "/Metadata", "/Names", "/Outlines", "/OutputIntents",
    "/Pages", "/Perms", "/StructTreeRoot", "/Type", "/ViewerPreferences",
})  # fmt: skip
_PAGE: Final = frozenset({
    "/Annots", "/BleedBox", "/Contents", "/MediaBox", "/Parent", "/Resources", "/StructParents", "/Tabs", "/TrimBox",
    "/Type",
})  # fmt: skip
_OUTLINE: Final = frozenset({"/Count", "/Dest", "/First", "/Last", "/Next", "/Parent", "/Prev", "/Title"})
_NAMES: Final = frozenset({"/EmbeddedFiles", "/Dests"})
_RESOURCES: Final = frozenset({"/ColorSpace", "/ExtGState", "/Font", "/Pattern", "/Shading", "/XObject"})

# A run is looked at from this share of its letters' height above and after its origin.
_ABOVE: Final = 0.2
_DARK: Final = 0.6  # of full light, each part: black ink is 0
_LEAST_PT: Final = 4.0
_THICKEST_PT: Final = 3.0
_SLACK_PT: Final = 1.0
_UPPER_PT: Final = 34.0  # 12 mm: the line of a paper copy ends 11.2 mm below the edge

Box: TypeAlias = "tuple[float, float, float, float]"
Matrix: TypeAlias = "tuple[float, float, float, float, float, float]"
_TEXT_ONLY: Final = frozenset(b"q Q gs rg d J j M BT ET Tr Tm Tf TJ w".split())
# A form drawn by Do is held to letters, see above.
_NOTHING_TO_SEE: Final = frozenset(b"/Artifact /Figure /Span BDC BMC EMC J M d j gs RG BT ET h Do".split())
# Numbers, a name, or a row of codes: nothing that could hold another instruction, a text or a comment.
_OPERANDS: Final = re.compile(rb"[-0-9. ]*|/[A-Za-z0-9.]+(?: [0-9.]+)?|\[[-0-9a-f.<> ]*\](?: [0-9.]+)?")
_TAG: Final = re.compile(rb"<</(?:MCID \d+|Type /Pagination)>>")


def form_faults(pdf: pikepdf.Pdf, *, sealed: bool = True) -> Iterator[str]:
    """Everything about the pages that is not as this program writes it, in plain sentences.

    sealed: whether there is a seal, and with it its one form field.
    """
    yield from _others("the file's catalog", pdf.Root, _CATALOG)
    if "/Names" in pdf.Root:
        yield from _others("the list of names", pdf.Root.Names, _NAMES)
    yield from _field_faults(pdf, due=int(sealed))
    if "/Outlines" in pdf.Root:
        yield from _outline_faults(pdf.Root.Outlines)
    for number, page in enumerate(pdf.pages, start=1):
        where = f"page {number}"
        yield from _others(where, page.obj, _PAGE)
        yield from _resource_faults(where, page.obj.Resources)
        yield from _drawing_faults(where, page)


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


def _outline_faults(outlines: pikepdf.Object) -> Iterator[str]:
    """Bookmarks lead to a place of this file, and do nothing else."""
    waiting, seen = [outlines], set()
    while waiting:
        item = waiting.pop()
        if item.objgen in seen:
            continue
        seen.add(item.objgen)
        yield from _others("a bookmark", item, _OUTLINE | {"/Type"})
        waiting += [item[name] for name in ("/First", "/Next") if name in item]


def _resource_faults(where: str, resources: pikepdf.Object) -> Iterator[str]:
    yield from _others(f"{where}, its resources,", resources, _RESOURCES)
    for kind in ("/Pattern", "/Shading"):
        if len(resources.get(kind, {})):
            yield f"{where} is painted with a {kind[1:].lower()}, which a certificate never is."
    for state in resources.get("/ExtGState", {}).values():
        if not set(state.keys()) <= {"/ca", "/CA"} or any(float(value) != 1 for value in state.values()):
            yield f"{where} is painted in a way that lets something shine through."
    for item in resources.get("/Font", {}).values():
        (descendant,) = item.DescendantFonts
        if descendant.get("/CIDToGIDMap", "/Identity") != "/Identity":
            yield f"{where} uses a font whose letters are drawn as other ones."
    for item in resources.get("/XObject", {}).values():
        if item.get("/Subtype") != "/Form":
            yield f"{where} holds an image; a certificate holds none."
        elif not _letters(item.read_bytes()):
            yield f"{where} holds a drawing apart that is more than dark letters."


def _letters(content: bytes) -> bool:
    """Whether a form draws letters and nothing else, dark and in the plain way."""
    lines = [line.rpartition(b" ") for line in content.split(b"\n")]
    inks = [told for told, _, operator in lines if operator == b"rg"]
    plain = all(told == b"0" for told, _, operator in lines if operator == b"Tr")
    known = all(operator in _TEXT_ONLY and _OPERANDS.fullmatch(told) for told, _, operator in lines)
    return known and plain and bool(inks) and all(map(_dark, inks))


def _dark(told: bytes) -> bool:
    return all(float(part) <= _DARK for part in told.split())


# ------------------------------------------------------------------ the instructions followed


@dataclass(frozen=True, slots=True)
class _State:
    """The part of the graphics state that decides whether something is seen."""

    matrix: Matrix
    clip: Box
    dark: bool = True
    plain: bool = True


@dataclass(slots=True)
class _Canvas:
    """What was drawn so far: where runs of letters begin, and the path being made."""

    state: _State
    kept: list[_State] = field(default_factory=list)
    path: list[tuple[float, float]] = field(default_factory=list)
    clips: bool = False
    size: float = 0.0
    at: Matrix = (1, 0, 0, 1, 0, 0)
    runs: list[tuple[float, float]] = field(default_factory=list)


def _drawing_faults(where: str, page: pikepdf.Page) -> Iterator[str]:
    content = page.obj.Contents
    if not isinstance(content, pikepdf.Stream):
        yield f"{where} is drawn in several parts; that of a certificate is drawn in one."
        return
    x0, y0, x1, y1 = (float(corner) for corner in page.obj.MediaBox)
    canvas = _Canvas(_State((1, 0, 0, 1, 0, 0), (x0, y0, x1, y1)))
    said = dict.fromkeys(fault for line in content.read_bytes().split(b"\n") for fault in _followed(canvas, line))
    yield from (f"{where}: {one}" for one in said)


def margin_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Text in the upper margin, where a numbered paper copy says for whom it is."""
    for number, page in enumerate(pdf.pages, start=1):
        x0, y0, x1, y1 = (float(corner) for corner in page.obj.MediaBox)
        canvas = _Canvas(_State((1, 0, 0, 1, 0, 0), (x0, y0, x1, y1)))
        for line in page.obj.Contents.read_bytes().split(b"\n"):
            list(_followed(canvas, line))
        if any(y > y1 - _UPPER_PT for _, y in canvas.runs):
            yield f"page {number}: text stands in the upper margin, which a numbered paper copy needs."


def _followed(canvas: _Canvas, line: bytes) -> Iterator[str]:  # noqa: C901, PLR0912  one case for each operator
    """One instruction, as the renderer writes one in each line."""
    told, _, operator = line.rpartition(b" ")
    if not _OPERANDS.fullmatch(told):
        operator = b"" if not _TAG.fullmatch(line) else operator
    match operator:
        case b"c" | b"l" | b"m":
            canvas.path.append(_point(canvas.state.matrix, *map(float, told.split()[-2:])))
        case b"re":
            x, y, width, height = map(float, told.split())
            canvas.path += _corners(canvas.state.matrix, (x, y, x + width, y + height))
        case b"Tm":
            canvas.at = _matrix(told)
        case b"Tf":
            canvas.size = float(told.split()[1])
        case b"TJ":
            yield from _run(canvas)
        case b"q":
            canvas.kept.append(canvas.state)
        case b"Q":
            canvas.state = canvas.kept.pop()
        case b"rg":
            canvas.state = replace(canvas.state, dark=_dark(told))
        case b"cm":
            canvas.state = replace(canvas.state, matrix=_times(_matrix(told), canvas.state.matrix))
        case b"Tr":
            canvas.state = replace(canvas.state, plain=told == b"0")
        case b"W" | b"W*":
            canvas.clips = True
        case b"n" | b"f" | b"f*" | b"B" | b"S":
            yield from _painted(canvas, fills=operator in {b"f", b"f*", b"B"})
        case b"w":
            if float(told) * _scale(canvas.state.matrix) > _THICKEST_PT:
                yield "a line is drawn thicker than any of a certificate."
        case _:
            if operator not in _NOTHING_TO_SEE and not _TAG.fullmatch(line):
                yield f"it is drawn with {line[-20:].decode('ascii', 'replace')!r}, which a certificate never is."


def _run(canvas: _Canvas) -> Iterator[str]:
    """A run of letters is seen: dark, in the plain way, large enough, inside its clip."""
    state = canvas.state
    if not (state.dark and state.plain):
        yield "text is drawn so that it is not seen."
    whole = _times(canvas.at, state.matrix)
    height = canvas.size * _scale(whole)
    if height < _LEAST_PT:
        yield f"text is drawn {height:.1f} points high; the least of a certificate is {_LEAST_PT:g}."
    seen = _point(whole, canvas.size * _ABOVE, canvas.size * _ABOVE)
    if not _holds(state.clip, seen, _SLACK_PT):
        yield "text is drawn where it is cut off."
    canvas.runs.append(seen)


def _painted(canvas: _Canvas, *, fills: bool) -> Iterator[str]:
    """The path's end: it becomes the clip, it is filled, or both; lines are too thin to cover a word."""
    if canvas.path:
        box = _bounds(canvas.path)
        if fills:
            yield from _covered(canvas, _within(box, canvas.state.clip))
        if canvas.clips:
            canvas.state = replace(canvas.state, clip=_within(box, canvas.state.clip))
    canvas.path, canvas.clips = [], False


def _covered(canvas: _Canvas, box: Box) -> Iterator[str]:
    if any(_holds(box, run, 0.0) for run in canvas.runs):
        yield "something is painted over text."


def _matrix(told: bytes) -> Matrix:
    a, b, c, d, e, f = map(float, told.split())
    return a, b, c, d, e, f


def _times(first: Matrix, then: Matrix) -> Matrix:
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u


def _point(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def _corners(matrix: Matrix, box: Box) -> list[tuple[float, float]]:
    return [_point(matrix, x, y) for x in (box[0], box[2]) for y in (box[1], box[3])]


def _bounds(points: list[tuple[float, float]]) -> Box:
    across, up = zip(*points, strict=True)
    return min(across), min(up), max(across), max(up)


def _within(one: Box, other: Box) -> Box:
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])


def _holds(box: Box, point: tuple[float, float], slack: float) -> bool:
    x, y = point
    return box[0] - slack <= x <= box[2] + slack and box[1] - slack <= y <= box[3] + slack


def _scale(matrix: Matrix) -> float:
    """Of lengths: the root of what areas grow by."""
    return float(abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]) ** 0.5)
