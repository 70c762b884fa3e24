"""What a file holds, by a layout, beside what was put into it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Final

from tests.shapes.made import SHAPES

from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.ingest.accounting import accounted
from benchseal.ingest.lines import text_lines
from benchseal.ingest.reader import read_file, recognise
from benchseal.records.canonical import digest
from benchseal.records.layout import Layout
from benchseal.records.run import DocumentRef, RunDocument

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tests.shapes.made import Run, Shape

LAYOUTS: Final = Path(__file__).parent / "layouts"
# Shapes whose rows say when each reading was taken.
TIMED: Final = {"calibration_only", "printer_capture", "many_files", "utf_16", "height_and_area"}
# A file says no dilution where the shape has no column for it: every solution is then read as it stands.
UNDILUTED: Final = {"calibration_only"}
REASON: Final = "the analyst, by the papers of the instrument"


@dataclass(frozen=True)
class Described:
    """A layout as its YAML gives it, through the reader of controlled documents."""

    ref: DocumentRef
    layout: Layout


def made(name: str, seed: int) -> Shape:
    return SHAPES[name](Random(seed))  # noqa: S311  invented numbers, no secret


def described(text: str) -> Described:
    document = read_document(text.encode(), "layout.yaml")
    assert isinstance(document, ControlledDocument), [str(each) for each in document]
    assert isinstance(document.value, Layout)
    return Described(DocumentRef(document.id, 1, digest(document.canonical)), document.value)


def by_hand(name: str, supplied: Mapping[str, str]) -> str:
    """The hand-written layout. supplied: what somebody says of the instrument, put in place of each ``?``."""
    text = (LAYOUTS / f"{name}.yaml").read_text(encoding="utf-8")
    for fact, value in supplied.items():
        open_fact, said = f"{{fact: {fact}, value: '?', because: '?'}}", f"because: '{REASON}'"
        assert open_fact in text
        text = text.replace(open_fact, f"{{fact: {fact}, value: '{value}', {said}}}")
    return text


def runs_read(data: bytes, source: str, known: Described) -> tuple[RunDocument, ...]:
    """The runs of one file, recognised among the layouts and read whole."""
    found = recognise(data, [(known.ref, known.layout)], source)
    assert found == (known.ref, known.layout), found
    documents = read_file(data, source, known.layout, known.ref)
    assert all(isinstance(each, RunDocument) for each in documents), [str(each) for each in documents]
    return tuple(each for each in documents if isinstance(each, RunDocument))


def assert_facts(read: RunDocument, put: Run) -> None:
    facts = read.facts
    assert (facts.element, facts.wavelength_nm, facts.technique) == (put.element, put.wavelength_nm, put.technique)
    assert (facts.signal_is, facts.signal_unit) == (put.signal_is, put.signal_unit)
    assert facts.instrument_serial == put.instrument_serial
    assert facts.started_at == put.started.isoformat()


def assert_solutions(read: RunDocument, put: Run, name: str, *, first: int = 0, to: int | None = None) -> None:
    """Solutions and readings, digit for digit. first, to: which of the run's solutions this file holds."""
    tubes, solutions, readings = put.tubes[first:to], read.solutions, read.readings
    assert solutions.position == tuple(range(1, len(tubes) + 1))
    assert solutions.label == tuple(tube.label for tube in tubes)
    assert solutions.kind == tuple(tube.kind for tube in tubes)
    given = tuple(tube.given for tube in tubes)
    assert solutions.nominal == (given if name != "results_only" else ("",) * len(tubes))
    assert solutions.dilution == tuple("1" if name in UNDILUTED else tube.factor for tube in tubes)
    assert solutions.reading_count == tuple(len(tube.signals) for tube in tubes)
    assert readings.signal == tuple(_plain(signal) for tube in tubes for signal in tube.signals)
    assert readings.flag == ("",) * len(readings.signal)
    times = tuple(each.isoformat() for tube in tubes for each in tube.times)
    assert readings.taken_at == (times if name in TIMED else ("",) * len(times))


def assert_places(data: bytes, source: str, known: Described) -> None:
    """Every line has a place, and each reading stands at its line and column in the text of the file."""
    told = accounted(data, source, known.layout, known.ref)
    assert [line.number for line in told.lines if line.role == "no place"] == []
    assert list(told.problems) == []
    lines = text_lines(data, known.layout.file.encoding, source)
    assert isinstance(lines, list)
    assert [line.text for line in told.lines] == lines
    places: set[tuple[int, int]] = set()
    for run in told.documents:
        readings = run.readings
        for line, column, text, signal in zip(
            readings.line, readings.column, readings.as_read, readings.signal, strict=True
        ):
            cell = lines[line - 1].lstrip("\f")[column - 1 :]
            assert cell.startswith(text)
            assert not cell[len(text) : len(text) + 1].isdigit(), "the whole number stands there"
            assert _plain(text.replace(",", ".")) == signal
            places.add((line, column))
    assert len(places) == sum(len(run.readings.signal) for run in told.documents), "no place is read twice"


def _plain(signal: str) -> str:
    """Zero has no sign on record; what stands in the file is kept beside it."""
    return signal.removeprefix("-") if not signal.strip("-0.") else signal


def assert_read(name: str, shape: Shape, known: Described) -> None:
    """All files of a shape hold what was put into them. Where one run is spread over files, each holds its part."""
    first = 0
    for source, data in shape.files.items():
        runs = runs_read(data, source, known)
        assert_places(data, source, known)
        if len(shape.files) > 1:
            (run,), (put,) = runs, shape.runs
            assert_facts(run, put)
            to = first + len(run.solutions.label)
            assert_solutions(run, put, name, first=first, to=to)
            first = to
            continue
        assert len(runs) == len(shape.runs)
        for run, put in zip(runs, shape.runs, strict=True):
            assert_facts(run, put)
            assert_solutions(run, put, name)
    if len(shape.files) > 1:
        assert first == len(shape.runs[0].tubes), "no solution is lost between files"
