"""What must hold of any bytes whatever: they are read whole, or refused with problems a person can use.

Used by hypothesis (test_anything.py) and by the fuzzer (tools/fuzz_parsers.py), so that both ask the same.
"""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from openpyxl import Workbook

from benchseal.documents.balance import read_balance
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.documents.sheets import (
    read_customers,
    read_glassware,
    read_instruments,
    read_plan_rows,
    read_preparation,
    read_samples,
    read_standard_lots,
)
from benchseal.export.acknowledgements import read_acknowledgement
from benchseal.ingest.accounting import accounted
from benchseal.ingest.draft import Draft, proposed
from benchseal.ingest.draft_text import draft_yaml
from benchseal.ingest.picture import picture_html, picture_text
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


def read_by(read: Callable[[bytes, str], object]) -> Callable[[bytes], None]:
    """A reader that gives a value, or problems."""

    def check(data: bytes) -> None:
        found = read(data, "given")
        if isinstance(found, Problem):
            usable([found])
        elif isinstance(found, tuple) and any(isinstance(each, Problem) for each in found):
            usable(found)

    return check


def draft(data: bytes) -> None:
    """The draft of a layout, as YAML, with its pictures."""
    found = proposed(data, "given", "draft")
    if not isinstance(found, Draft):
        usable(found)
        return
    assert draft_yaml(found, "given", ())
    told = accounted(data, "given", found.layout, DocumentRef("draft", 0, "0" * 64))
    assert list(picture_text(told)) or not told.lines
    assert picture_html(told, "given").endswith("</html>\n")


PARSERS: dict[str, Callable[[bytes], None]] = {
    "comma-list": instrument_file("comma-list"),
    "semicolon-sections": instrument_file("semicolon-sections"),
    "page-print": instrument_file("page-print"),
    "recognise": any_file,
    "document": document,
    "sheet": sheet,
    "samples": read_by(read_samples),
    "standards": read_by(read_standard_lots),
    "instruments": read_by(read_instruments),
    "customers": read_by(read_customers),
    "plan rows": read_by(read_plan_rows),
    "glassware": read_by(read_glassware),
    "workbook": read_by(read_customers),
    "balance": read_by(read_balance),
    "acknowledgement": read_by(read_acknowledgement),
    "draft": draft,
}

_CUSTOMERS = "customer,name,address,contact\nardlea,Ardlea,1 Invented Lane,\n"
_SHEETS = {
    "samples": "lot;product;customer;specification;customer_sample_id;description;condition;quantity_received;"
    "received_on;sampled_on;sampled_by;order\nA-1;Lozenge;ardlea;lozenge;007;a;sealed;40;2026-02-26;2026-02-25;c;P\n",
    "standards": "lot,element,purpose,value,unit,u_percent,maker,certificate,in_use_from,expires_on\n"
    "L-204,Pb,calibration,1000,mg/L,0.2,invented maker,C-88,2026-01-02,2027-01-01\n",
    "instruments": "instrument,serial,technique,zone,in_service_from\nf-1,TQ-4,furnace,Europe/Berlin,2025-01-07\n",
    "customers": _CUSTOMERS,
    "plan rows": "sample,methods,volume_ml,dilutions\nS-00001,pb-furnace,25,Pb 5/100; Cd 10/100 4/100\n",
    "glassware": "name,kind,nominal_ml,tolerance_ml,s_fill_ml\nP5,pipette,5,0.015,0.005\nK100,flask,100,0.1,0.05\n",
    "balance": "portion;mass_g;weighed_at;balance\nA-1/1;0.5021;2026-03-01T10:00:00;B-2\n",
    "acknowledgement": 'delivery_id,state,row_no,reason\r\nD-00007,rejected,3,"unknown, sample"\r\n',
}


def _workbook(*, merged: bool) -> bytes:
    book, data = Workbook(), BytesIO()
    for line in _CUSTOMERS.splitlines():
        book.active.append(line.split(","))
    if merged:
        book.active.merge_cells("C3:D4")
    book.active.row_dimensions[7].hidden = True
    book.save(data)
    return data.getvalue()


_WORKBOOKS = [_workbook(merged=False), _workbook(merged=True)]  # made once: they hold the time they were made


def seeds(parser: str) -> list[bytes]:
    """Good inputs of a parser, to change and to begin from."""
    if parser in _SHEETS:
        return [_SHEETS[parser].encode()]
    if parser == "workbook":
        return _WORKBOOKS
    root = Path(__file__).parents[2]
    folders = {
        "draft": (root / "fixtures" / "instrument-text", "*/good-*.txt"),
        "recognise": (root / "fixtures" / "instrument-text", "*/good-*.txt"),
        "document": (_LAYOUTS.parent, "*/*.yaml"),
        "sheet": (root / "fixtures" / "schemas", "*/*.csv"),
    }
    folder, pattern = folders.get(parser, (root / "fixtures" / "instrument-text" / parser, "good-*.txt"))
    found = [path.read_bytes() for path in sorted(folder.glob(pattern))]
    if parser == "sheet":
        found.append(b"batch,portion,sample,kind,mass_g,volume_ml\nB-1,A-1/1,S-00001,sample,0.5012,50\n")
    return [each for each in found if len(each) <= 40_000]
