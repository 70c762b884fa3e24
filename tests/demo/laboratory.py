"""The laboratory of a scenario: its documents, registers and sheets, and the whole line a file passes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, TypeVar

from benchseal.compute.run_work import work_run
from benchseal.documents import sheets
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.ingest.reader import read_file
from benchseal.records.canonical import digest
from benchseal.records.known import Bench, Known
from benchseal.records.layout import Layout
from benchseal.records.method import Method
from benchseal.records.preparation import Portion
from benchseal.records.registers import Instrument, Sample, SampleRow, StandardLot
from benchseal.records.results import RunWork
from benchseal.records.run import DocumentRef, Run, RunDocument
from benchseal.records.specification import Specification
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.demo.runs import InstrumentFile
    from benchseal.demo.scenario import Scenario
    from benchseal.problems import Problem

R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Worked:
    """One run of one file."""

    run: Run
    work: RunWork


@cache
def shipped_methods() -> dict[str, Method]:
    """Every method starter that comes with the program, by identifier, whether the demo uses it or not."""
    folder = files("benchseal").joinpath("starters/methods")
    found = [_document(one.read_text(encoding="utf-8"), one.name) for one in folder.iterdir()]
    return {one.id: one.value for one in sorted(found, key=lambda one: one.id) if isinstance(one.value, Method)}


class Laboratory:
    """The scenario's documents, registers and sheets, read as anybody's; files are taken through it."""

    def __init__(self, story: Scenario) -> None:
        self.story = story
        documents = [_document(one.text, one.name) for one in story.documents]
        self.layouts = {one.id: (_ref(one), one.value) for one in documents if isinstance(one.value, Layout)}
        self.methods = tuple((_ref(one), one.value) for one in documents if isinstance(one.value, Method))
        self.specifications = {
            one.id: (_ref(one), one.value) for one in documents if isinstance(one.value, Specification)
        }
        registers = {one.register: one for one in story.registers}
        self.instruments = _good(Instrument, sheets.read_instruments, registers["instrument"].content)
        self.lots = _good(StandardLot, sheets.read_standard_lots, registers["standard"].content)
        rows = _good(SampleRow, sheets.read_samples, registers["sample"].content)
        self.samples = {story.sample_of_lot[row.lot]: Sample(story.sample_of_lot[row.lot], row) for row in rows}
        self.portions = tuple(
            row for one in story.preparations for row in _good(Portion, sheets.read_preparation, one.content)
        )

    def documents_of(self, file: InstrumentFile) -> tuple[RunDocument, ...] | tuple[Problem, ...]:
        ref, layout = self.layouts[file.layout]
        return read_file(file.content, file.name, layout, ref)

    def known(self, file: InstrumentFile) -> Known:
        labels: dict[str, tuple[Portion, ...]] = {}
        for portion in self.portions:
            labels[portion.portion] = (*labels.get(portion.portion, ()), portion)
        now = f"{file.ready_at.date().isoformat()}T23:00:00Z"
        return Known(self.methods, labels, frozenset({file.batch}), self.instruments, self.lots, now)

    def bench(self) -> Bench:
        portions = {(portion.batch, portion.portion): portion for portion in self.portions}
        lots = {lot.lot: lot for lot in self.lots}
        return Bench("demo-ledger", portions, self.samples, self.specifications, lots)

    def take(self, file: InstrumentFile) -> dict[str, Worked]:
        """Element to its run; everything along the way must be good."""
        found: dict[str, Worked] = {}
        for document in self.documents_of(file):
            assert isinstance(document, RunDocument), document
            run = check_run(document, self.known(file))
            assert isinstance(run, Run), run
            work = work_run(run, self.bench())
            assert isinstance(work, RunWork), work
            found[run.method.element] = Worked(run, work)
        return found

    def sample(self, lot: str) -> str:
        return self.story.sample_of_lot[lot]


def _document(text: str, name: str) -> ControlledDocument:
    found = read_document(text.encode("utf-8"), name)
    assert isinstance(found, ControlledDocument), found
    return found


def _ref(document: ControlledDocument) -> DocumentRef:
    return DocumentRef(document.id, 1, digest(document.canonical))


def _good(kind: type[R], read: Callable[[bytes, str], tuple[object, ...]], content: bytes) -> tuple[R, ...]:
    found = read(content, "sheet.csv")
    assert all(isinstance(one, kind) for one in found), found
    return tuple(one for one in found if isinstance(one, kind))
