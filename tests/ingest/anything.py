"""What must hold of any bytes whatever: they are read whole, or refused with problems a person can use.

Used by hypothesis (test_anything.py) and by the fuzzer (tools/fuzz_parsers.py), so that both ask the same.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.documents.sheets import read_preparation
from benchseal.ingest.accounting import accounted
from benchseal.ingest.reader import read_file, recognise
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.layout import Layout
from benchseal.records.run import DocumentRef, RunDocument

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_LAYOUTS = Path(__file__).parents[2] / "pipeline" / "benchseal" / "starters" / "layouts"


@lru_cache(maxsize=1)
def layouts() -> dict[str, tuple[DocumentRef, Layout]]:
    """The shipped ones, by identifier."""
    found = {}
    for path in sorted(_LAYOUTS.glob("*.yaml")):
        document = read_document(path.read_bytes(), path.name)
        assert isinstance(document, ControlledDocument)
        assert isinstance(document.value, Layout)
        found[document.id] = (DocumentRef(document.id, 1, digest(document.canonical)), document.value)
    return found


def usable(problems: Sequence[object]) -> None:
    """Each is a problem with a code, a place, both sides and what to do, on one line."""
    assert problems
    for each in problems:
        assert isinstance(each, Problem), each
        assert each.code
        assert each.where.startswith("given")
        assert each.what
        assert each.remedy


def instrument_file(name: str) -> Callable[[bytes], None]:
    """The reader by one layout, and the account it gives line by line: they agree, and columns are of equal length."""

    def check(data: bytes) -> None:
        ref, layout = layouts()[name]
        found = read_file(data, "given", layout, ref)
        told = accounted(data, "given", layout, ref)
        if isinstance(found[0], RunDocument):
            assert told.documents == found
            assert told.problems == ()
            for document in found:
                assert isinstance(document, RunDocument)
                assert sum(document.solutions.reading_count) == len(document.readings.signal)
                assert len(document.readings.column) == len(document.readings.line) == len(document.readings.as_read)
        else:
            usable(found)

    return check


def any_file(data: bytes) -> None:
    """Which layout knows a file: one, or problems."""
    found = recognise(data, list(layouts().values()), "given")
    if isinstance(found[0], Problem):
        usable(found)


def document(data: bytes) -> None:
    """A controlled document."""
    found = read_document(data, "given")
    if not isinstance(found, ControlledDocument):
        usable(found)


def sheet(data: bytes) -> None:
    """A preparation sheet, CSV or workbook."""
    found = read_preparation(data, "given")
    if any(isinstance(each, Problem) for each in found):
        usable(found)


PARSERS: dict[str, Callable[[bytes], None]] = {
    "comma-list": instrument_file("comma-list"),
    "semicolon-sections": instrument_file("semicolon-sections"),
    "page-print": instrument_file("page-print"),
    "recognise": any_file,
    "document": document,
    "sheet": sheet,
}


def seeds(parser: str) -> list[bytes]:
    """Good inputs of a parser, to change and to begin from."""
    root = Path(__file__).parents[2]
    folders = {
        "recognise": (root / "fixtures" / "instrument-text", "*/good-*.txt"),
        "document": (_LAYOUTS.parent, "*/*.yaml"),
        "sheet": (root / "fixtures" / "schemas", "*/*.csv"),
    }
    folder, pattern = folders.get(parser, (root / "fixtures" / "instrument-text" / parser, "good-*.txt"))
    found = [path.read_bytes() for path in sorted(folder.glob(pattern))]
    if parser == "sheet":
        found.append(b"batch,portion,sample,kind,mass_g,volume_ml\nB-1,A-1/1,S-00001,sample,0.5012,50\n")
    return [each for each in found if len(each) <= 40_000]
