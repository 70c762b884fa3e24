"""What is read aloud from a file: the parts of its pages, each once and in the order they are printed, and its figures.

A reader for the blind follows the structure and not the drawing. So the structure has to name each part of the drawing
that is no margin, once, in the order of drawing; what is drawn out of its turn is a figure, or the number of an item in
a list. Source: ISO 32000-1, 14.7 (structure), 14.8.2 (order), 14.9.3 (description of figures).
"""

from __future__ import annotations

import re
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator

_ROOT: Final = frozenset({"/IDTree", "/K", "/ParentTree", "/Type"})
_OLD: Final = _ROOT - {"/IDTree"}
_TREES: Final = {"/ParentTree": {"/Nums"}, "/IDTree": {"/Names"}}
_NAME: Final = re.compile("[0-9]{5}-[0-9]{5}")  # of a head; those of earlier versions, which list no names, are others
_PART: Final = frozenset({"/K", "/P", "/Pg", "/S", "/Type"})
_WHOLE: Final = _PART - {"/Pg"}
# What parts of a kind hold beside that, whose particulars those are, and which; each has all of them.
_MORE: Final = {
    "/Figure": (frozenset({"/A", "/Alt"}), "/Layout", frozenset({"/BBox", "/O"})),
    "/TD": (frozenset({"/A"}), "/Table", frozenset({"/Headers", "/O"})),
    "/TH": (frozenset({"/A", "/ID"}), "/Table", frozenset({"/O"})),
}
_SPAN: Final = (frozenset[str](), frozenset({"/ColSpan"}))
_NO_MORE: Final = (frozenset[str](), "", frozenset[str]())
_ELSEWHERE: Final = frozenset({"/MCID", "/Pg", "/Type"})
_KINDS: Final = frozenset({
    "/Caption", "/Div", "/Document", "/Figure", "/H1", "/H2", "/H3", "/H4", "/H5", "/H6", "/L", "/LBody", "/LI", "/Lbl",
    "/NonStruct", "/P", "/Sect", "/Span", "/TBody", "/TD", "/TFoot", "/TH", "/THead", "/TR", "/Table",
})  # fmt: skip
_CELLS: Final = frozenset({"/TD", "/TH"})
_HEADING: Final = re.compile(r"/H[1-6]")
_OUT_OF_TURN: Final = frozenset({"/Figure", "/Lbl"})  # drawn after everything else
_MARGIN: Final = 3  # texts of the margin, drawn last, which earlier versions marked as parts and named nowhere
_MARK: Final = re.compile(rb"^<</MCID (\d+)>>$", re.MULTILINE)


class Read(NamedTuple):
    """A part of a page in the order it is read aloud. in_turn: whether it is drawn in that order too.

    pictured: whether it is a figure.
    """

    page: int
    mark: int
    in_turn: bool
    owner: tuple[int, int]
    pictured: bool


class Part(NamedTuple):
    """A part read aloud: its keys, its place in the file, and that of the part it is in; the page it begins on."""

    item: pikepdf.Dictionary
    held: set[str]
    kind: str
    place: tuple[int, int]
    above: tuple[int, int]
    page: int | None


class Structure:
    """What is read aloud, in that order: gone through once."""

    def __init__(self, pdf: pikepdf.Pdf) -> None:  # noqa: C901  one case for each kind of item
        """Raises ValueError for a part of a kind that no certificate has."""
        self.items: list[Part | Read] = []  # all, in the order they are read aloud
        self.parts: list[Part] = []
        self.marks: list[Read] = []
        pages = {page.obj.objgen: number for number, page in enumerate(pdf.pages)}
        root = pdf.Root.get("/StructTreeRoot")
        waiting: list[tuple[object, int | None, Part | None, bool]] = []
        if root is not None:
            waiting.append((root.get("/K"), None, None, True))
        top = root.objgen if root is not None else (0, 0)
        seen: set[tuple[int, int]] = set()
        while waiting:
            item, page, owner, in_turn = waiting.pop()
            if isinstance(item, pikepdf.Dictionary):
                place = item.objgen
                if item.is_indirect and place in seen:
                    continue
                seen.add(place)
                held = item.keys()
                if "/Pg" in held:
                    page = pages.get(item["/Pg"].objgen)
                if "/MCID" in held:  # a mark of another page than its part begins on
                    if held != _ELSEWHERE or item.Type != "/MCR":
                        raise ValueError("a mark of a page holds more than a certificate's")
                    self._mark(int(item.MCID), page, owner, in_turn=in_turn)
                    continue
                part = Part(item, held, str(item.get("/S", "")), place, owner.place if owner else top, page)
                self.parts.append(part)
                self.items.append(part)
                waiting.append((item.get("/K"), page, part, in_turn and part.kind not in _OUT_OF_TURN))
            elif isinstance(item, int):
                self._mark(item, page, owner, in_turn=in_turn)
            elif isinstance(item, pikepdf.Array):
                waiting += [(one, page, owner, in_turn) for one in reversed(list(item))]
            elif item is not None:
                raise ValueError("a part read aloud is of a kind no certificate has")

    def _mark(self, mark: int, page: int | None, owner: Part | None, *, in_turn: bool) -> None:
        if page is not None and owner is not None:
            self.marks.append(Read(page, mark, in_turn, owner.place, owner.kind == "/Figure"))
            self.items.append(self.marks[-1])

    def headings(self) -> list[tuple[int, int]]:
        """Page and first mark of each heading."""
        within = {part.place: part.above for part in self.parts}
        heads = dict.fromkeys(part.place for part in self.parts if _HEADING.fullmatch(part.kind))
        found: dict[tuple[int, int], tuple[int, int]] = {}
        for read in self.marks:
            place: tuple[int, int] | None = read.owner
            while place in within:
                if place in heads:
                    found.setdefault(place, (read.page, read.mark))
                place = within[place]
        return [found[head] for head in heads if head in found]


def told_figures(told: Structure) -> tuple[str, ...]:
    """What is read aloud in the place of each figure."""
    return tuple(str(part.item.Alt) for part in told.parts if part.kind == "/Figure")


def structure_faults(pdf: pikepdf.Pdf, told: Structure, *, lists: bool) -> Iterator[str]:
    """Whatever would be read aloud otherwise than it is printed, in plain sentences.

    told: gone through before. lists: whether the pages may have lists, whose numbers are drawn after them.
    """
    root = pdf.Root.get("/StructTreeRoot")
    if root is None or dict(pdf.Root.get("/MarkInfo", {})) != {"/Marked": True}:
        yield "it has no structure to be read aloud by."
        return
    odd = list(_root_faults(root, told))
    yield from odd
    if odd:
        return
    for part in told.parts:
        yield from _part_faults(part, lists=lists)
    for number, page in enumerate(pdf.pages):
        drawn = sorted(int(mark) for mark in _MARK.findall(page.obj.Contents.read_bytes()))
        aloud = sorted(one.mark for one in told.marks if one.page == number)
        if aloud != drawn[: len(aloud)] or len(drawn) - len(aloud) > _MARGIN:
            yield f"page {number + 1}: not every part of it is read aloud, once."
    turns = [(one.page, one.mark) for one in told.marks if one.in_turn]
    if turns != sorted(turns):
        yield "words are read aloud in another order than they are printed."
    if not _found_alike(pdf, told):
        yield "what is read aloud is found at another place of the page."
    if not _under_their_heads(root, told):
        yield "a cell is read aloud under the head of another column or row."


def _root_faults(root: pikepdf.Object, told: Structure) -> Iterator[str]:
    held = set(root.keys())
    old = not any("/ID" in part.held and _NAME.fullmatch(str(part.item.ID)) for part in told.parts)
    yield from _exactly("what is read aloud", held, _OLD if old and held == _OLD else _ROOT)
    if any(set(root[name].keys()) != due for name, due in _TREES.items() if name in held):
        yield "what is read aloud is listed otherwise than that of a certificate."
    if root.get("/Type") != "/StructTreeRoot":
        yield "what is read aloud is called something else."


def _part_faults(part: Part, *, lists: bool) -> Iterator[str]:
    if part.kind not in _KINDS:
        yield f"a part is read aloud as {part.kind}, which a certificate does not have."
        return
    if part.kind == "/Lbl" and not lists:
        yield "a number of a list is read aloud, which a certificate does not have."
    more, owner, particulars = _MORE.get(part.kind, _NO_MORE)
    due = _PART | more if more else _WHOLE if part.kind == "/Document" else _PART
    if part.held != due:  # seldom: a part has what it is due to have
        yield from _held_faults(part.held, due)
    if part.item.get("/Type") != "/StructElem":
        yield "a part read aloud is called something else."
    if more and "/A" in part.held:
        yield from _particular_faults(part, owner, particulars)


def _held_faults(held: set[str], due: frozenset[str]) -> Iterator[str]:
    if "/Alt" in held - due:
        yield "words of the page are read aloud as other words."
    elif "/Alt" in due - held:
        yield "a figure has no description to be read aloud."
    else:
        yield from _exactly("a part read aloud", held, due)


def _particular_faults(part: Part, owner: str, particulars: frozenset[str]) -> Iterator[str]:
    about: Any = part.item["/A"]
    if not isinstance(about, pikepdf.Dictionary) or about.get("/O") != owner:
        yield "a part read aloud has other particulars than that of a certificate."
        return
    if (named := about.keys()) != particulars:
        yield from _exactly("a part read aloud, its particulars,", named - _SPAN[part.kind in _CELLS], particulars)
    if part.kind == "/TD" and not len(about.get("/Headers", ())):
        yield "a cell is read aloud without the head of its column or row."


def _exactly(where: str, held: set[str], due: frozenset[str] | set[str]) -> Iterator[str]:
    if held - due:
        yield f"{where} holds {', '.join(sorted(held - due))}, which that of a certificate never has."
    if due - held:
        yield f"{where} lacks {', '.join(sorted(due - held))}, which that of a certificate has."


def _found_alike(pdf: pikepdf.Pdf, told: Structure) -> bool:
    """Whether each place on a page leads to the part that holds it, and each part to the one it is in."""
    if any(part.item["/P"].objgen != part.above for part in told.parts):
        return False
    places = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
    found = {int(number): list(parts) for number, parts in zip(places[::2], places[1::2], strict=True)}
    numbers = [int(page.obj.get("/StructParents", -1)) for page in pdf.pages]
    if len(set(numbers)) != len(numbers) or set(found) - set(numbers):
        return False
    rows = [found.get(number, []) for number in numbers]
    return all(one.mark < len(rows[one.page]) and rows[one.page][one.mark].objgen == one.owner for one in told.marks)


def _under_their_heads(root: pikepdf.Object, told: Structure) -> bool:
    """Whether each cell names the heads of its row and columns, all in order, and each name is that of one head.

    A table is counted as its rows are told: cells side by side, some of several columns. Of heads over the same columns
    it is the last one before the cell. Files of earlier versions have no list of names beside.
    """
    names: Any = root.get("/IDTree", pikepdf.Dictionary()).get("/Names", [])
    listed = list(names)
    known = sorted((str(name), one.objgen) for name, one in zip(listed[::2], listed[1::2], strict=True))
    due = sorted((str(part.item.ID), part.place) for part in told.parts if "/ID" in part.held)
    if (known if "/IDTree" in root else due) != due or len(dict(due)) != len(due):
        return False
    kinds = {part.place: part for part in told.parts}
    over: dict[tuple[int, int], dict[range, str]] = {}  # of each table: the last head over these columns
    beside: dict[tuple[int, int], list[str]] = {}  # of each row: its heads
    columns: dict[tuple[int, int], int] = {}
    of_values = {part.above for part in told.parts if part.kind == "/TD"}  # a head among values is that of their row
    for part in told.parts:
        if part.kind not in _CELLS:
            continue
        table, row = part.above, part.above
        while table in kinds and kinds[table].kind != "/Table":
            table = kinds[table].above
        about: Any = part.item.get("/A", {})
        across = range(columns.get(row, 0), columns.get(row, 0) + int(about.get("/ColSpan", 1)))
        columns[row] = across.stop
        heads = over.setdefault(table, {})
        if "/ID" in part.held:
            if row in of_values:
                beside.setdefault(row, []).append(str(part.item.ID))
            else:
                heads[across] = str(part.item.ID)
        if part.kind == "/TD":
            above = [one for one in heads if one.start < across.stop and across.start < one.stop]
            named = [heads[one] for one in sorted(above, key=lambda one: one.start)]
            given = [*map(str, about.get("/Headers", ()))]  # a cell without any is named by itself
            if given and given != [*beside.get(row, ()), *named]:
                return False
    return True


def figure_faults(told: tuple[str, ...], due: tuple[str, ...]) -> Iterator[str]:
    """Figures read aloud with other words than are due, each in its turn, character by character."""
    if told != due:
        other = next((one for one, wanted in zip_longest(told, due) if one != wanted), None)
        yield f"figures are read aloud with other words than are due: {(other or '')[:60]!r}."
