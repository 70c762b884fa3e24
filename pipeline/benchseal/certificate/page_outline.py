"""What is read aloud as one, in order: headings, paragraphs, rows of tables with their cells, figures.

Told by the structure of a file, and due from the page before it is laid out. A reader of tables is told which row and
column a number belongs to, and how many columns a cell has; so the cells come with their words. A paragraph may go on
over a break of pages, and a table begins again there, with its head. Sources: ISO 32000-1, 14.8.4 (kinds of elements);
HTML (elements).
"""

from __future__ import annotations

import html
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final, NamedTuple, TypeAlias

from benchseal.certificate.page_structure import Part, Read, Structure
from benchseal.certificate.page_text import bare

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

Cell: TypeAlias = "tuple[str, int, str]"  # kind, columns, words without white space

_CELLS: Final = frozenset({"/TD", "/TH"})
_WHOLE: Final = frozenset({"/Caption", "/H1", "/H2", "/H3", "/H4", "/H5", "/H6", "/LI", "/P"})
_SECTIONS: Final = frozenset({"/TBody", "/TFoot", "/THead"})
_ROW, _FIGURE, _LOOSE = "/TR", "/Figure", ""
_NAMES: Final = {
    _ROW: "a row of a table", _FIGURE: "a figure", "/P": "a paragraph", _LOOSE: "a loose text", "-": "nothing",
    "/Caption": "the title of a table", "/LI": "an item of a list",
}  # fmt: skip
_TOKEN: Final = re.compile(r"<(/?)([a-z][a-z0-9]*)\b([^>]*)>|([^<]+)")
_SPAN: Final = re.compile(r'\bcolspan="(\d+)"')
_TAGS: Final = {
    "caption": "/Caption", "li": "/LI", "p": "/P", "td": "/TD", "th": "/TH",
    **{f"h{level}": f"/H{level}" for level in range(1, 7)},
}  # fmt: skip
_SHOWN: Final = 40


class Block(NamedTuple):
    """What is read as one. Of a row of a table: its cells, whether it is of the head, whether it begins its table."""

    kind: str
    text: str
    cells: tuple[Cell, ...] = ()
    head: bool = False
    first: bool = False
    page: int = 0


_END: Final = Block("-", "")


@dataclass(slots=True)
class _Open:
    """A block while its words are gathered."""

    kind: str
    page: int = 0
    head: bool = False
    first: bool = False
    words: list[str] = field(default_factory=list)
    cells: list[tuple[str, int, list[str]]] = field(default_factory=list)

    def closed(self) -> Block:
        cells = tuple((kind, columns, bare("".join(words))) for kind, columns, words in self.cells)
        text = "".join(words for _, _, words in cells) or bare("".join(self.words))
        return Block(self.kind, text, cells, self.head, self.first, self.page)


def _closed(found: Iterable[_Open]) -> tuple[Block, ...]:
    blocks = (one.closed() for one in found)
    return tuple(one for one in blocks if one.text or one.cells or one.kind == _FIGURE)


def _loose(found: list[_Open], page: int = 0) -> list[str]:
    """Where words go that belong to nothing that is read as one."""
    if not found or (found[-1].kind, found[-1].page) != (_LOOSE, page):
        found.append(_Open(_LOOSE, page))
    return found[-1].words


# ---------------------------------------------------------------- told


def told_blocks(told: Structure, said: dict[tuple[int, int], str]) -> tuple[Block, ...]:
    """What a file tells. said: the words of each part of a page, by page and number."""
    found: list[_Open] = []
    words: dict[tuple[int, int], list[str]] = {}  # where those of a part go
    tables: dict[tuple[int, int], tuple[tuple[int, int], bool]] = {}  # of a section: its table, whether it is the head
    rows: dict[tuple[int, int], _Open] = {}
    begun: set[tuple[int, int]] = set()
    for item in told.items:
        if isinstance(item, Read):
            into = words.get(item.owner)
            (_loose(found, item.page) if into is None else into).append(said.get((item.page, item.mark), ""))
            continue
        kind, place, above, page = item.kind, item.place, item.above, item.page or 0
        if above in words:
            words[place] = [] if kind == "/Lbl" else words[above]
        elif kind in _WHOLE or kind == _FIGURE:
            found.append(_Open(kind, page))
            words[place] = found[-1].words if kind in _WHOLE else []
        elif kind == "/Table":
            tables[place] = place, False
        elif kind in _SECTIONS and above in tables:
            tables[place] = tables[above][0], kind == "/THead"
        elif kind == _ROW and above in tables:
            table, head = tables[above]
            found.append(_Open(_ROW, page, head, table not in begun))
            begun.add(table)
            rows[place] = found[-1]
        elif kind in _CELLS and above in rows:
            words[place] = []
            rows[above].cells.append((kind, _columns(item), words[place]))
    return _closed(found)


def _columns(cell: Part) -> int:
    about: Any = cell.item.get("/A", {})
    return int(about.get("/ColSpan", 1))


# ---------------------------------------------------------------- due


def due_blocks(body: str) -> tuple[Block, ...]:
    """What the body of a page in HTML tells; of each figure there is the beginning only."""
    return _closed(_Reading(body).found)


class _Reading:
    """A page gone through, tag by tag."""

    def __init__(self, body: str) -> None:
        self.found: list[_Open] = []
        self._within, self._deep = "", 0  # what is read as one, and how often it was begun
        self._words: list[str] | None = None
        self._head = self._first = False
        for end, tag, told, text in _TOKEN.findall(body):
            if text:
                self._said(html.unescape(text))
            elif self._within:
                self._inside(tag, -1 if end else 1)
            elif tag == "thead":
                self._head = not end
            elif not end:
                self._begin(tag, told)

    def _said(self, text: str) -> None:
        if self._words is not None:
            self._words.append(text)
        elif text.strip():
            _loose(self.found).append(text)

    def _inside(self, tag: str, step: int) -> None:
        self._deep += step if tag == self._within else 0
        if not self._deep:
            self._within, self._words = "", None

    def _begin(self, tag: str, told: str) -> None:
        if tag in _TAGS:
            self._within, self._deep, self._words = tag, 1, []
            if _TAGS[tag] in _CELLS:
                span = _SPAN.search(told)
                self.found[-1].cells.append((_TAGS[tag], int(span[1]) if span else 1, self._words))
            else:
                self.found.append(_Open(_TAGS[tag], words=self._words))
        elif tag == "table":
            self._first = True
        elif tag == "tr":
            self.found.append(_Open(_ROW, head=self._head, first=self._first))
            self._first = False
        elif tag in {"img", "svg"}:
            self.found.append(_Open(_FIGURE))


# ---------------------------------------------------------------- both


def outline_faults(told: Sequence[Block], due: Sequence[Block], *, rows_alone: bool) -> Iterator[str]:
    """One sentence where something is read aloud as something else than is due.

    rows_alone: whether only the cells of tables are compared, row by row: the blocks of a laboratory's own layout are
    its own.
    """
    if rows_alone:
        told, due = ([one for one in blocks if one.kind == _ROW] for blocks in (told, due))
    heads = {one.cells for one in due if one.head}
    at, rest, page, top = 0, "", -1, True
    for one in told:
        turned, page = one.page != page, one.page
        top = turned or (top and one.head)
        wanted = due[at] if at < len(due) else _END
        goes_on = not one.cells and one.kind == wanted.kind and (rest or wanted.text).startswith(one.text)
        if rest and goes_on and turned:
            rest = rest[len(one.text) :]
            at += not rest
        elif not rest and _alike(one, wanted, top=top, rows_alone=rows_alone):
            at += 1
        elif not rest and top and one.head and one.cells in heads:
            continue  # of a table that goes on
        elif not rest and goes_on:
            rest = wanted.text[len(one.text) :]
        else:
            yield _difference(one, wanted)
            return
    if at < len(due):
        yield _difference(_END, due[at])


def _alike(one: Block, wanted: Block, *, top: bool, rows_alone: bool) -> bool:
    """top: whether it is the first of its page, where a table that goes on begins again."""
    if rows_alone:
        return one.cells == wanted.cells
    begins = one.first == wanted.first or (top and one.first)
    return (one.kind, one.text, one.cells, one.head) == (wanted.kind, wanted.text, wanted.cells, wanted.head) and begins


def _difference(one: Block, wanted: Block) -> str:
    if one.kind == wanted.kind == _ROW:
        if one.cells != wanted.cells:
            return f"a row of a table is read aloud with other cells than are due: {wanted.text[:_SHOWN]!r}."
        return f"a row is read aloud as one of another table, or of its head: {wanted.text[:_SHOWN]!r}."
    found, due = (_NAMES.get(block.kind, "a heading") for block in (one, wanted))
    return f"{found} is read aloud where {due} is due: {(one.text or wanted.text)[:_SHOWN]!r}."
