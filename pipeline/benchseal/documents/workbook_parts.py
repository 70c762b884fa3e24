"""What parts of a workbook other programs would read otherwise: declared entities, cells and texts with two contents.

ECMA-376 part 1, 18.3.1.4 (c), 18.3.1.96 (v), 18.4.8 (si); XML 1.0, 2.8 (document type declaration).
"""

from __future__ import annotations

import re
from typing import IO, TYPE_CHECKING, Final
from xml.etree.ElementTree import iterparse
from xml.parsers import expat

from openpyxl.utils.cell import coordinate_to_tuple

if TYPE_CHECKING:
    import zipfile
    from xml.etree.ElementTree import Element

_CHUNK: Final = 2**16
# XML Schema part 2, 3.2.5 (double), without its infinities: Python alone would take 1_0 for ten, and Arabic digits.
_NUMBER: Final = re.compile(r"[ \t\r\n]*[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?[ \t\r\n]*")
_INDEX: Final = re.compile(r"[0-9]+")


class _SeenError(Exception):
    """The beginning of a part is read; it carries the name of its first element, empty for a declaration."""


def archive_fault(archive: zipfile.ZipFile) -> str:
    """Why parts of a workbook are not read; empty when they may be. Raises what a damaged archive raises.

    Every part is looked at, whatever its name: which of them holds a sheet, the workbook says itself. They are given
    to the parser that reads them later, so that both see the same, in whatever encoding.
    """
    for member in archive.infolist():
        with archive.open(member) as part:
            first = _first_element(part)
        if first == "":
            return "The workbook declares a document type or entities, which no spreadsheet needs."
        if first == "sst":
            with archive.open(member) as part:
                if _shared_twice(part):
                    return "A text of the workbook holds more than one content: programs may show different texts."
    return ""


def _first_element(part: IO[bytes]) -> str | None:
    """Name of the first element; empty where a document type is declared before it, None for what is no XML."""
    parser = expat.ParserCreate(namespace_separator="}")

    def declared(*_: object) -> None:
        raise _SeenError("")

    def begun(name: str, _: object) -> None:
        raise _SeenError(name.rpartition("}")[2])

    parser.StartDoctypeDeclHandler = declared
    parser.StartElementHandler = begun
    try:
        while chunk := part.read(_CHUNK):
            parser.Parse(chunk)
        parser.Parse(b"", True)
    except _SeenError as seen:
        return str(seen)
    except (expat.ExpatError, ValueError, LookupError):  # the last two: an encoding nobody knows
        return None
    return None


def _shared_twice(part: IO[bytes]) -> bool:
    for _, element in iterparse(part):  # noqa: S314  declared entities were refused before
        if _name(element) == "si":
            if _texts_twice(element):
                return True
            element.clear()
    return False


def cell_fault(cell: Element, row: int) -> str:
    """Why a cell (``c``) is not read: programs differ in what they take from it; empty where it is as it should be."""
    place, kind, style = cell.get("r", ""), cell.get("t", "n"), cell.get("s", "0")
    parts = [_name(part) for part in cell]
    if place and coordinate_to_tuple(place)[0] != row:
        return f"It stands in row {row}."
    if any(parts.count(name) > 1 for name in ("v", "is", "f")) or ("v" in parts and "is" in parts):
        return "It holds more than one content."
    if ("is" in parts) != (kind == "inlineStr") and ("is" in parts or "v" in parts):
        return "Its type does not go with its content."
    if not _INDEX.fullmatch(style):
        return "Its style is no number."
    for part in cell:
        if fault := _content_fault(part, kind):
            return fault
    return ""


def _content_fault(part: Element, kind: str) -> str:
    name, text = _name(part), part.text or ""
    if name == "is":
        return "Its text holds more than one content." if _texts_twice(part) else ""
    if name != "v":
        return ""
    if len(part):
        return "It holds more than one content."
    if (kind == "n" and text and not _NUMBER.fullmatch(text)) or (kind == "s" and text and not _INDEX.fullmatch(text)):
        return "It is said to hold a number and holds none."
    return ""


def _texts_twice(element: Element) -> bool:
    """Whether a text is given as a whole and in runs, or as a whole twice."""
    names = [_name(part) for part in element]
    return names.count("t") > 1 or ("t" in names and "r" in names)


def _name(element: Element) -> str:
    return element.tag.rpartition("}")[2]
