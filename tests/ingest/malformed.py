"""Malformed instrument files made from the good ones, one fault each, with the code and place each must give.

The place is counted here from the bytes that were changed, not asked of the reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

FILES = Path(__file__).parents[2] / "fixtures" / "instrument-text"
COMMA, SEMI, PAGE = "comma-list", "semicolon-sections", "page-print"
CODE_PAGE = {COMMA: "utf-8", SEMI: "cp1252", PAGE: "cp850"}
_GOOD = {COMMA: "good-lead", SEMI: "good-zinc-magnesium", PAGE: "good-mercury"}
END = b"\r\n"


@dataclass(frozen=True)
class Case:
    """One bad file. place: what follows the file's name, ``line 3, column 4``; empty for the file as a whole."""

    name: str
    layout: str
    data: bytes
    code: str
    place: str = ""


def good(layout: str) -> bytes:
    return (FILES / layout / f"{_GOOD[layout]}.txt").read_bytes()


def lines_of(layout: str) -> list[bytes]:
    """Lines without their ends; line n stands at n - 1, and the last is empty: the file ends with a line end."""
    return good(layout).split(END)


def put(layout: str, number: int, *texts: bytes) -> bytes:
    """The good file with line ``number`` replaced: by none, one or several."""
    lines = lines_of(layout)
    return END.join([*lines[: number - 1], *texts, *lines[number:]])


def cell(layout: str, number: int, index: int, text: str) -> tuple[bytes, str]:
    """The good file with one cell replaced, and the place the cell begins at."""
    separator = {COMMA: ",", SEMI: ";"}[layout]
    cells = lines_of(layout)[number - 1].decode(CODE_PAGE[layout]).split(separator)
    column = 1 + sum(len(each) + 1 for each in cells[:index])
    cells[index] = text
    return put(layout, number, separator.join(cells).encode(CODE_PAGE[layout])), f"line {number}, column {column}"


def fixed(number: int, starts: int, ends: int, text: str) -> tuple[bytes, str]:
    """The page print with what stands between two places replaced, set to the right, and where it begins."""
    line = lines_of(PAGE)[number - 1].decode("cp850").ljust(ends)
    width = ends - starts + 1
    changed = (line[: starts - 1] + text.rjust(width) + line[ends:]).rstrip()
    return put(PAGE, number, changed.encode("cp850")), f"line {number}, column {ends - len(text) + 1}"


# Places of the good files: first and last line of what a family changes.
HEAD = {COMMA: range(1, 13), SEMI: range(1, 5), PAGE: range(5, 10)}
HEADER = {COMMA: 14, SEMI: 13, PAGE: 11}
ROWS = {COMMA: range(15, 126), SEMI: range(14, 36), PAGE: range(13, 57)}
COLUMNS = {
    COMMA: ("Place", "Name", "Role", "Given", "Thinned", "Reading", "Signal", "Ground", "Time"),
    SEMI: ("No.", "Tube", "Sort", "Set to", "Thinned", "1st", "2nd", "3rd", "Mean"),
}
