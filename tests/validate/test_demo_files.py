"""The demo's files through documents, ingest, validate and compute: what comes out fits the schemas.

The demo is invented; this shows that the rooms fit together, never that a number is right.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, TypeVar

import pytest

from benchseal.compute.run_work import work_run
from benchseal.demo.scenario import Scenario, scenario
from benchseal.documents.judge import shape_faults
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.documents.sheets import (
    read_customers,
    read_instruments,
    read_preparation,
    read_samples,
    read_standard_lots,
)
from benchseal.ingest.reader import read_file, recognise
from benchseal.problems import Problem
from benchseal.records.known import Bench, Known
from benchseal.records.layout import Layout
from benchseal.records.method import Method
from benchseal.records.preparation import Portion
from benchseal.records.registers import Instrument, Sample, SampleRow, StandardLot
from benchseal.records.results import RunWork
from benchseal.records.run import DocumentRef, Run, RunDocument
from benchseal.records.shape import plain_of
from benchseal.records.specification import Specification
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from collections.abc import Callable

T = TypeVar("T")


@dataclass(frozen=True)
class Shelf:
    """Everything of the demo, read once."""

    demo: Scenario
    documents: tuple[ControlledDocument, ...]
    rows: tuple[object, ...]

    def values(self, kind: type[T]) -> list[tuple[DocumentRef, T]]:
        return [
            (DocumentRef(document.id, 1, "0" * 64), document.value)
            for document in self.documents
            if isinstance(document.value, kind)
        ]

    def all(self, kind: type[T]) -> tuple[T, ...]:
        return tuple(row for row in self.rows if isinstance(row, kind))


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    demo = scenario(date(2026, 3, 2))
    documents = [read_document(document.text.encode(), document.name) for document in demo.documents]
    rows: list[object] = []
    for sheet in (*demo.registers, *demo.preparations):
        (read,) = [read for name, read in _READERS.items() if sheet.register.startswith(name)]
        rows += read(sheet.content, sheet.name)
    assert not any(isinstance(row, Problem) for row in rows)
    assert all(isinstance(document, ControlledDocument) for document in documents)
    return Shelf(demo, tuple(item for item in documents if isinstance(item, ControlledDocument)), tuple(rows))


_READERS: dict[str, Callable[[bytes, str], tuple[object, ...]]] = {
    "customer": read_customers,
    "instrument": read_instruments,
    "preparation": read_preparation,
    "sample": read_samples,
    "standard": read_standard_lots,
}


def _known(shelf: Shelf, batch: str) -> Known:
    portions: dict[str, tuple[Portion, ...]] = {}
    for portion in shelf.all(Portion):
        portions[portion.portion] = (*portions.get(portion.portion, ()), portion)
    return Known(
        methods=tuple(shelf.values(Method)),
        portions=portions,
        batches=frozenset({batch} - {""}),
        instruments=shelf.all(Instrument),
        standard_lots=shelf.all(StandardLot),
        now="2026-06-01T00:00:00Z",
    )


def _bench(shelf: Shelf) -> Bench:
    numbers = shelf.demo.sample_of_lot
    return Bench(
        ledger="0" * 64,
        portions={(item.batch, item.portion): item for item in shelf.all(Portion)},
        samples={numbers[row.lot]: Sample(numbers[row.lot], row) for row in shelf.all(SampleRow)},
        specifications={ref.id: (ref, value) for ref, value in shelf.values(Specification)},
        lots={lot.lot: lot for lot in shelf.all(StandardLot)},
    )


def _read(shelf: Shelf, content: bytes, name: str) -> tuple[RunDocument, ...] | tuple[Problem, ...]:
    found = recognise(content, shelf.values(Layout), name)
    assert len(found) == 2, found
    ref, layout = found
    assert isinstance(ref, DocumentRef)
    assert isinstance(layout, Layout)
    return read_file(content, name, layout, ref)


def test_every_good_file_becomes_runs_and_results_that_fit_their_schemas(shelf: Shelf) -> None:
    for file in shelf.demo.files:
        for document in _read(shelf, file.content, file.name):
            assert isinstance(document, RunDocument), document
            assert shape_faults("run-document", plain_of(document)) == ()
            run = check_run(document, _known(shelf, file.batch))
            assert isinstance(run, Run), [str(problem) for problem in run]
            work = work_run(run, _bench(shelf))
            assert isinstance(work, RunWork), work
            assert shape_faults("run-work", plain_of(work)) == ()


def test_every_file_meant_to_be_refused_is(shelf: Shelf) -> None:
    for file in shelf.demo.refused:
        found = _read(shelf, file.content, file.name)
        for document in found:
            refused = check_run(document, _known(shelf, file.batch)) if isinstance(document, RunDocument) else found
            assert not isinstance(refused, Run), file.name
