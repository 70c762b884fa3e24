"""One line to cells, each with the column it begins in."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.layout import Column, FileForm

Cell: TypeAlias = tuple[str, int]  # text without blanks around it; its first column, from 1
# Signs between two cells; a non-breaking blank is none of them: it stands inside a text.
_BETWEEN = {"blanks": re.compile(r"[^ \t]+"), "two blanks": re.compile(r"[^ \t]+(?: [^ \t]+)*")}

BLANKS = frozenset(_BETWEEN)


def split_line(line: str, form: FileForm, columns: Sequence[Column]) -> list[Cell] | None:
    """Cells of one table line by separator, runs of blanks or fixed places; None when the line cannot be cut so.

    A quote that does not close, or text between two columns, cannot be cut.
    """
    if not form.separator:
        return _cut(line, columns)
    if form.separator in _BETWEEN:
        return [(found[0], found.start() + 1) for found in _BETWEEN[form.separator].finditer(line)]
    if form.quote and form.quote in line:
        return _quoted(line, form.separator, form.quote)
    cells: list[Cell] = []
    begins = 1
    for text in line.split(form.separator):
        bare = text.strip()
        cells.append((bare, begins if bare == text else begins + len(text) - len(text.lstrip())))
        begins += len(text) + 1
    return cells


def _cut(line: str, columns: Sequence[Column]) -> list[Cell] | None:
    cells: list[Cell] = []
    before = 0
    for column in columns:
        if line[before : column.starts - 1].strip():
            return None
        text = line[column.starts - 1 : column.ends]
        bare = text.strip()
        cells.append((bare, column.starts + len(text) - len(text.lstrip()) if bare else column.starts))
        before = column.ends
    return None if line[before:].strip() else cells


def touching(line: str, columns: Sequence[Column]) -> int:
    """Index of the first column at fixed places whose text begins where that of the column before it ends; 0 for none.

    Where no blank stands at the edge of two places a text may have run over it, and a number cut there is two numbers.
    A position before a letter is none of these: it is always compared with the place that is due.
    """
    for nth, (one, two) in enumerate(pairwise(columns), 1):
        if one.ends + 1 != two.starts or len(line) < two.starts:
            continue
        left, right = line[one.ends - 1], line[one.ends]
        if " " in (left, right) or (one.means == "position" and left.isdigit() and right.isalpha()):
            continue
        return nth
    return 0


def _quoted(line: str, separator: str, quote: str) -> list[Cell] | None:
    cells: list[Cell] = []
    at = 0
    while True:
        if line[at : at + 1] == quote:
            text, end = _one_quoted(line, at, quote)
            if end < 0 or (end < len(line) and line[end] != separator):
                return None
            bare = text.strip()
            cells.append((bare, at + 2 + (len(text) - len(text.lstrip()) if bare else 0)))
        else:
            end = line.find(separator, at)
            end = len(line) if end < 0 else end
            if quote in line[at:end]:
                return None
            text = line[at:end]
            cells.append((text.strip(), at + 1 + len(text) - len(text.lstrip())))
        if end >= len(line):
            return cells
        at = end + 1


def _one_quoted(line: str, at: int, quote: str) -> tuple[str, int]:
    parts: list[str] = []
    begins = at + 1
    while True:
        end = line.find(quote, begins)
        if end < 0:
            return "", -1
        parts.append(line[begins:end])
        if line[end + 1 : end + 2] != quote:
            return "".join(parts), end + 1
        parts.append(quote)
        begins = end + 2
