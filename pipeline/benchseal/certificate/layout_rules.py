"""What a laboratory's own template may do: looks and blocks. Not: move, cover or exchange what the program places.

The words of a page are compared in the order in which they are drawn. So what is drawn first must also stand first:
only properties of a list that cannot move anything are taken, tables keep their rows and cells, and figures are those
of the program. Sources: CSS 2.2 (positions, floats), HTML (tables); which properties are harmless is our own judgement.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Final

import tinycss2

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

_SIDES: Final = ("", "-top", "-right", "-bottom", "-left")
_PROPERTIES: Final = frozenset({
    "color", "background-color", "font-size", "font-weight", "font-style", "line-height", "letter-spacing", "width",
    "text-align", "vertical-align", "text-decoration",
    "break-before", "break-after", "break-inside", "orphans", "widows",
    "list-style-type", "border-radius", "border-color", "border-width", "border-style", "table-layout",
    *(f"{name}{side}" for name in ("margin", "padding", "border") for side in _SIDES),
})  # fmt: skip
_ELEMENTS: Final = frozenset({"style", "link", "script", "iframe", "object", "embed", "base", "meta", "form", "input",
                              "img", "a", "ins", "del", "bdo", "bdi"})  # fmt: skip
_FIGURE: Final = re.compile(r"<svg\b.*?</svg>", re.DOTALL)
_IMAGE: Final = re.compile(r'<div class="logo">.*?</div>', re.DOTALL)  # a picture of the letterhead


def style_faults(style: str) -> Iterator[str]:
    """Every rule of a style that is not taken."""
    for rule in tinycss2.parse_stylesheet(style, skip_comments=True, skip_whitespace=True):
        if rule.type == "qualified-rule" and not any(token.type == "error" for token in rule.prelude):
            yield from _declared(rule.content)
        elif rule.type == "at-rule":
            yield f"the style holds @{rule.at_keyword}; paper, margins and type are the program's."
        else:
            yield f"line {rule.source_line} of the style cannot be read."


def page_faults(page: str, shipped: str) -> Iterator[str]:
    """Where the page before it is laid out departs from the program's own beyond its blocks and looks."""
    own, due = _Outline(_bodied(page)), _Outline(_bodied(shipped))
    yield from own.faults
    if _FIGURE.findall(page) != _FIGURE.findall(shipped):
        yield "its figures are not those of the program, in their order."
    if len(own.rows) != len(due.rows):
        yield f"its tables have {len(own.rows)} rows, those of the program have {len(due.rows)}."
    for one, other in zip(own.rows, due.rows, strict=False):
        if one != other:
            yield f"a row of a table has the cells {_cells(one)} where those of the program are {_cells(other)}."
            return


def _bodied(page: str) -> str:
    return _IMAGE.sub("", _FIGURE.sub("", page[page.index("<body") :]))


def _cells(row: Sequence[tuple[str, str, str]]) -> str:
    return " | ".join(text[:40] for _, _, text in row)


def _declared(content: object) -> Iterator[str]:
    for one in tinycss2.parse_declaration_list(content, skip_comments=True, skip_whitespace=True):
        if one.type != "declaration":
            yield "the style holds something that is no declaration."
        elif one.lower_name not in _PROPERTIES:
            yield f"the style says {one.lower_name}, which is not taken: it could move or hide what is printed."
        elif any(token.type in {"dimension", "number", "percentage"} and token.value < 0 for token in one.value):
            yield f"the style says {one.lower_name} with a number below zero, which would move what is printed."
        elif any(token.type in {"function", "url"} for token in one.value):
            yield f"the style says {one.lower_name} with a function or an address; write the value itself."


class _Outline(HTMLParser):
    """The rows of all tables as their cells (tag, columns it spans, text), and what may not stand in a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.rows: list[list[tuple[str, str, str]]] = []
        self.faults: list[str] = []
        self._cell: list[str] | None = None
        self._head = ("", "")
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A row, a cell, or something that is looked at for what it does."""
        given = {name: value or "" for name, value in attrs}
        if tag in _ELEMENTS:
            self.faults.append(f"the page holds <{tag}>, which is not taken.")
        self.faults += [f"in <{tag}>: {fault}" for fault in _declared(given.get("style", ""))]
        if "rowspan" in given or "dir" in given or "hidden" in given:
            self.faults.append(f"<{tag}> has rowspan, dir or hidden, which are not taken.")
        if tag == "tr":
            self.rows.append([])
        elif tag in {"th", "td"}:
            self._head, self._cell = (tag, given.get("colspan", "1")), []

    def handle_endtag(self, tag: str) -> None:
        """The end of a cell."""
        if tag in {"th", "td"} and self._cell is not None and self.rows:
            self.rows[-1].append((*self._head, "".join("".join(self._cell).split())))
            self._cell = None

    def handle_data(self, data: str) -> None:
        """Text of a cell."""
        if self._cell is not None:
            self._cell.append(data)
