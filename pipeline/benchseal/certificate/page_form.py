"""What a page of a certificate may be made of: nothing that hides a word, covers it or acts when it is opened.

The words of a page are read from its drawing instructions (``page_text``). That is worth something only where each
word is also seen. So the objects of the file are held to those this program's renderer writes, and the instructions
are followed: each run of letters is dark, upright, large enough, close set, on a light ground, inside its clip and the
page, drawn in the plain way, and nothing is painted over any part of it later. What is read after something else stands
below it or to the right of it (``page_order``). The objects beside the pages are held in ``page_parts``. Sources: ISO
32000-1, 7.7 (structure), 8.4 and 8.5 (graphics state, painting), 9.3 (text state), 9.4.3 (letters set apart).

Limits: letters whose shapes were exchanged inside the font, dark strokes added to a figure, and words moved without a
change of their order are not seen here; the page drawn again from its evidence shows all three.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final, TypeAlias

import pikepdf

from benchseal.certificate.page_order import Run, order_faults, overlap_faults
from benchseal.certificate.page_parts import part_faults
from benchseal.certificate.page_resources import OPERANDS, dark, resource_faults
from benchseal.certificate.page_text import MAPPED
from benchseal.certificate.page_type import type_faults

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
_NAMES: Final = frozenset({"/EmbeddedFiles"})

# A run is looked at along a line this share of its letters' height above its origin.
_ABOVE: Final = 0.2
_OVER, _UNDER = 0.4, 0.25  # of the same measure, above and below that line: where letters are mostly
_LIGHT: Final = 0.8  # of full light, each part: what letters stand on is no darker
_LEAST_PT: Final = 4.0
# Thousandths of the letters' height: kerning. More would set letters over each other or carry them off the page.
_SET_APART: Final = 250.0
_NARROWEST: Final = 50.0  # letter of a font, in the same measure
_UNKNOWN_WIDTH: Final = 1000.0  # what a font without widths is due (ISO 32000-1, 9.7.4.3)
_THICKEST_PT: Final = 3.0
_SLACK_PT: Final = 1.0
_UPPER_PT: Final = 34.0  # 12 mm: the line of a paper copy ends 11.2 mm below the edge

Box: TypeAlias = "tuple[float, float, float, float]"
Matrix: TypeAlias = "tuple[float, float, float, float, float, float]"
_NOTHING_TO_SEE: Final = frozenset(b"/Artifact /Span J M d j gs RG BT ET h".split())
_SET: Final = re.compile(rb"<((?:[0-9a-f]{4})+)>(-?[0-9.]*)")
_TAG: Final = re.compile(rb"<</(?:MCID \d+|Type /Pagination)>>")


def form_faults(pdf: pikepdf.Pdf, *, sealed: bool = True, in_order: bool = True) -> Iterator[str]:
    """Everything about the pages that is not as this program writes it, in plain sentences.

    sealed: whether there is a seal, and with it its one form field. in_order: whether words stand in the order they are
    read in; the numbers of a list, which certificates do not have, are drawn after it.
    """
    torn = [
        number for number, page in enumerate(pdf.pages, start=1) if not isinstance(page.obj.Contents, pikepdf.Stream)
    ]
    yield from (f"page {number} is drawn in several parts; that of a certificate is drawn in one." for number in torn)
    if torn:
        return
    yield from _others("the file's catalog", pdf.Root, _CATALOG)
    if "/Names" in pdf.Root:
        yield from _others("the list of names", pdf.Root.Names, _NAMES)
    yield from _field_faults(pdf, due=int(sealed))
    yield from part_faults(pdf, lists=not in_order)
    yield from resource_faults(pdf)
    yield from type_faults(pdf)
    if "/Outlines" in pdf.Root:
        yield from _outline_faults(pdf.Root.Outlines)
    for number, page in enumerate(pdf.pages, start=1):
        where = f"page {number}"
        yield from _others(where, page.obj, _PAGE)
        yield from _drawing_faults(where, page, in_order=in_order)


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


# ------------------------------------------------------------------ the instructions followed


@dataclass(frozen=True, slots=True)
class _State:
    """The part of the graphics state that decides whether something is seen."""

    matrix: Matrix
    clip: Box
    dark: bool = True
    plain: bool = True
    light: bool = False  # of what is filled; both inks are black at first (ISO 32000-1, 8.6.5.3)
    light_line: bool = False
    line: float = 1.0
    clip_is_box: bool = True


@dataclass(slots=True)
class _Canvas:
    """What was drawn so far: where runs of letters stand, what is dark under them, and the path being made."""

    state: _State
    kept: list[_State] = field(default_factory=list)
    path: list[tuple[float, float]] = field(default_factory=list)
    clips: bool = False
    size: float = 0.0
    at: Matrix = (1, 0, 0, 1, 0, 0)
    others: int = 0  # points of the path that are no rectangle's
    widths: dict[int, float] = field(default_factory=dict)
    fonts: dict[bytes, dict[int, float]] = field(default_factory=dict)
    grounds: list[list[Box]] = field(default_factory=list)  # dark fills; a place in an even number of boxes is bare
    rectangles: list[Box] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    pictured: list[bool] = field(default_factory=list)  # of each run, whether it stands in a figure
    within: list[bool] = field(default_factory=list)  # of each part that is open, whether it is a figure
    figure: bool = False
    forms: dict[bytes, pikepdf.Object] = field(default_factory=dict)
    known: dict[tuple[int, int], dict[int, float]] = field(default_factory=dict)  # widths by the place of the font


def _bare_canvas(page: pikepdf.Page) -> _Canvas:
    """A page before anything is drawn on it."""
    x0, y0, x1, y1 = (float(corner) for corner in page.obj.MediaBox)
    canvas = _Canvas(_State((1, 0, 0, 1, 0, 0), (x0, y0, x1, y1)))
    forms: Any = page.obj.Resources.get("/XObject", {})
    canvas.forms = {name[1:].encode(): form for name, form in forms.items()}
    canvas.fonts = _fonts(page.obj.Resources, canvas.known)
    return canvas


def _fonts(resources: pikepdf.Object, known: dict[tuple[int, int], dict[int, float]]) -> dict[bytes, dict[int, float]]:
    """Widths of the letters of each font. known: those read before, by the place of the font in the file."""
    fonts: Any = resources.get("/Font", {})
    for font in fonts.values():
        if font.objgen not in known:
            known[font.objgen] = _widths(font)
    return {name[1:].encode(): known[font.objgen] for name, font in fonts.items()}


def _drawing_faults(where: str, page: pikepdf.Page, *, in_order: bool) -> Iterator[str]:
    canvas = _bare_canvas(page)
    said = dict.fromkeys(
        fault for line in page.obj.Contents.read_bytes().split(b"\n") for fault in _followed(canvas, line)
    )
    yield from (f"{where}: {one}" for one in said)
    if not said:
        pictured = [run for run, apart in zip(canvas.runs, canvas.pictured, strict=True) if apart]
        read = _read(canvas)
        ordered = order_faults(read) if in_order else ()
        yield from (f"{where}: {one}" for one in dict.fromkeys((*ordered, *overlap_faults(read, pictured))))


def read_runs(page: pikepdf.Page) -> list[Run]:
    """Where each run of letters outside figures stands, in the order of drawing; of a page as this program draws it."""
    return _read(_followed_whole(page))


def _read(canvas: _Canvas) -> list[Run]:
    return [run for run, pictured in zip(canvas.runs, canvas.pictured, strict=True) if not pictured]


def _followed_whole(page: pikepdf.Page) -> _Canvas:
    canvas = _bare_canvas(page)
    for line in page.obj.Contents.read_bytes().split(b"\n"):
        list(_followed(canvas, line))
    return canvas


def margin_faults(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Text in the upper margin, where a numbered paper copy says for whom it is."""
    for number, page in enumerate(pdf.pages, start=1):
        top = float(page.obj.MediaBox[3])
        if any(level > top - _UPPER_PT for _, _, level, _ in _followed_whole(page).runs):
            yield f"page {number}: text stands in the upper margin, which a numbered paper copy needs."


def _followed(canvas: _Canvas, line: bytes) -> Iterator[str]:  # noqa: C901, PLR0912, PLR0915  one case for each operator
    """One instruction, as the renderer writes one in each line."""
    told, _, operator = line.rpartition(b" ")
    if not OPERANDS.fullmatch(told):
        operator = b"" if not _TAG.fullmatch(line) else operator
    match operator:
        case b"c" | b"l" | b"m":
            canvas.path.append(_point(canvas.state.matrix, *map(float, told.split()[-2:])))
            canvas.others += 1
        case b"re":
            x, y, width, height = map(float, told.split())
            corners = _corners(canvas.state.matrix, (x, y, x + width, y + height))
            canvas.path += corners
            canvas.rectangles.append(_bounds(corners))
        case b"Tm":
            canvas.at = _matrix(told)
        case b"Tf":
            canvas.size = float(told.split()[1])
            canvas.widths = canvas.fonts.get(told.split()[0][1:], {})
        case b"TJ":
            yield from _run(canvas, told)
        case b"q":
            canvas.kept.append(canvas.state)
        case b"Q":
            canvas.state = canvas.kept.pop()
        case b"rg":
            canvas.state = replace(canvas.state, dark=dark(told), light=_light(told))
        case b"RG":
            canvas.state = replace(canvas.state, light_line=not dark(told))
        case b"cm":
            canvas.state = replace(canvas.state, matrix=_times(_matrix(told), canvas.state.matrix))
        case b"Tr":
            canvas.state = replace(canvas.state, plain=told == b"0")
        case b"W" | b"W*":
            canvas.clips = True
        case b"n" | b"f" | b"f*" | b"B" | b"S":
            yield from _painted(canvas, fills=operator in {b"f", b"f*", b"B"}, strokes=operator in {b"B", b"S"})
        case b"Do":
            _drawn_apart(canvas, told[1:])
        case b"/Figure":
            canvas.figure = True
        case b"BDC" | b"BMC":
            canvas.within.append(canvas.figure)
            canvas.figure = False
        case b"EMC":
            canvas.within.pop()
        case b"w":
            canvas.state = replace(canvas.state, line=float(told))
        case _:
            if operator not in _NOTHING_TO_SEE and not _TAG.fullmatch(line):
                named = ascii(line[:40].decode("latin-1"))[1:-1] or "an empty line"
                yield f"it is drawn with {named}, which a certificate never is."


def _run(canvas: _Canvas, told: bytes) -> Iterator[str]:
    """A run of letters is seen: dark on light, in the plain way, upright, large enough, close set, inside its clip."""
    state = canvas.state
    whole = _times(canvas.at, state.matrix)
    if not (state.dark and state.plain):
        yield "text is drawn so that it is not seen."
    if whole[0] <= 0 or whole[3] <= 0 or max(abs(whole[1]), abs(whole[2]), abs(whole[0] - whole[3])) > whole[0] / 100:
        yield "text is drawn turned, mirrored or out of shape."
    height = canvas.size * whole[3]
    if height < _LEAST_PT:
        high = f"{height:.1f} points high" if height > 0 else "upside down"
        yield f"text is drawn {high}; the least of a certificate is {_LEAST_PT:g}."
    parts = _SET.findall(told)
    far = any(abs(float(apart or 0)) > _SET_APART for _, apart in parts)
    if far or _SET.sub(b"", told) != b"[]" or min(canvas.widths.values(), default=0.0) < _NARROWEST:
        yield "letters are set over each other or far apart."
    x, y = _point(whole, 0.0, canvas.size * _ABOVE)
    run = (x, x + height * _length(parts, canvas.widths) / 1000, y, height)
    if not (state.clip_is_box and all(_holds(state.clip, (at, y), _SLACK_PT) for at in run[:2])):
        yield "text is drawn where it is cut off."
    middle = ((run[0] + run[1]) / 2, y)
    if any(sum(_holds(box, middle, 0.0) for box in ground) % 2 for ground in canvas.grounds):
        yield "text is drawn on a dark ground."
    canvas.runs.append(run)
    canvas.pictured.append(any(canvas.within))


def _drawn_apart(canvas: _Canvas, name: bytes) -> None:
    """Where the letters of a form stand; that they are letters, and dark, is seen to in ``page_resources``."""
    form = canvas.forms.get(name)
    if form is None:
        return
    kept = canvas.state, canvas.fonts, canvas.size, canvas.widths, canvas.at, canvas.forms
    canvas.fonts, canvas.forms = _fonts(form.get("/Resources", pikepdf.Dictionary()), canvas.known), {}
    for line in form.read_bytes().split(b"\n"):
        list(_followed(canvas, line))
    canvas.state, canvas.fonts, canvas.size, canvas.widths, canvas.at, canvas.forms = kept


def _length(parts: list[tuple[bytes, bytes]], widths: dict[int, float]) -> float:
    """Of a run, in thousandths of its letters' height."""
    codes = [int(letters[at : at + 4], 16) for letters, _ in parts for at in range(0, len(letters), 4)]
    return sum(widths.get(code, _UNKNOWN_WIDTH) for code in codes) - sum(float(apart or 0) for _, apart in parts)


def _widths(font: pikepdf.Object) -> dict[int, float]:
    """Width of each code, in thousandths of the height, from the one form of list the renderer writes.

    A blank counts as at least as wide as a letter must be: a hair space is narrower, and hides nothing.
    """
    found: dict[int, float] = {}
    told = font.DescendantFonts[0].W
    for first, row in zip(list(told)[::2], list(told)[1::2], strict=True):
        found |= {int(first) + at: float(width) for at, width in enumerate(row)}
    for code, text in MAPPED.findall(font.ToUnicode.read_bytes()):
        if bytes.fromhex(text.decode("ascii")).decode("utf-16-be").isspace() and int(code, 16) in found:
            found[int(code, 16)] = max(found[int(code, 16)], _NARROWEST)
    return found


def _painted(canvas: _Canvas, *, fills: bool, strokes: bool) -> Iterator[str]:
    """The path's end: it becomes the clip, it is filled, or both; dark lines are too thin to cover a word."""
    state = canvas.state
    thickness = state.line * _scale(state.matrix)
    if strokes and thickness > _THICKEST_PT:
        yield "a line is drawn thicker than any of a certificate."
    if canvas.path:
        box = _bounds(canvas.path)
        if fills or (strokes and state.light_line):
            x0, y0, x1, y1 = box
            wide = thickness / 2 if strokes else 0.0
            yield from _covered(canvas, _within((x0 - wide, y0 - wide, x1 + wide, y1 + wide), state.clip))
        if fills and not state.light:
            shapes = canvas.rectangles if not canvas.others else [box]
            canvas.grounds.append([_within(one, state.clip) for one in shapes])
        if canvas.clips:
            one_box = len(canvas.rectangles) == 1 and not canvas.others
            canvas.state = replace(state, clip=_within(box, state.clip), clip_is_box=state.clip_is_box and one_box)
    canvas.path, canvas.rectangles, canvas.others, canvas.clips = [], [], 0, False


def _covered(canvas: _Canvas, box: Box) -> Iterator[str]:
    x0, y0, x1, y1 = box
    for start, end, level, height in canvas.runs:
        if start < x1 and end > x0 and level + _OVER * height > y0 and level - _UNDER * height < y1:
            yield "something is painted over text."
            return


def _light(told: bytes) -> bool:
    return all(float(part) >= _LIGHT for part in told.split())


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
