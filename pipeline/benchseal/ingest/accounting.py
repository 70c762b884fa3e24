"""A file beside what a layout makes of it, line by line: for whoever writes the layout."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.ingest.lines import listed, of_another_encoding, text_lines
from benchseal.ingest.looks import packed
from benchseal.ingest.reader import walked
from benchseal.ingest.walk import Role  # noqa: TC001  the record is told as JSON by its types
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.ingest.walk import Facts, Walk
    from benchseal.problems import Problem
    from benchseal.records.layout import Layout
    from benchseal.records.run import DocumentRef, RunDocument


@dataclass(frozen=True, slots=True)
class SeenLine:
    """One line of the file: its number, its text, what it was taken for, and what was read from it, in words."""

    number: int
    text: str
    role: Role
    says: str


@dataclass(frozen=True, slots=True)
class Accounted:
    """Every line of a file in order, the runs it holds, and the problems that would have it refused."""

    lines: tuple[SeenLine, ...]
    documents: tuple[RunDocument, ...]
    problems: tuple[Problem, ...]


def accounted(data: bytes, source_name: str, layout: Layout, ref: DocumentRef) -> Accounted:
    """The file as the layout reads it. A file that is no text has no lines."""
    if refused := packed(data, source_name):
        return Accounted((), (), (refused,))
    lines = text_lines(data, layout.file.encoding, source_name, layout.file.printer_codes)
    if isinstance(lines, tuple):
        return Accounted((), (), lines)
    walk, documents = walked(lines, (source_name, digest(data), len(data)), layout, ref)
    says = _said(walk, documents)
    seen = tuple(
        SeenLine(number, text, walk.roles.get(number, "no place"), "; ".join(says.get(number, ())))
        for number, text in enumerate(lines, 1)
    )
    other = of_another_encoding(data, layout.file.encoding, source_name)
    return Accounted(seen, documents, (other,) if other else listed(iter(walk.problems), source_name))


def _said(walk: Walk, documents: tuple[RunDocument, ...]) -> dict[int, list[str]]:
    """By line: the facts it gave, and the readings and means that begin there."""
    says: dict[int, list[str]] = {}
    for facts in (walk.facts, *(section.facts for section in walk.sections)):
        _facts(facts, says)
    for document in documents:
        _readings(document, says)
    return says


def _facts(facts: Facts, says: dict[int, list[str]]) -> None:
    for name, fact in facts.items():
        says.setdefault(fact.line, []).append(f"{name} = {fact.text}")


def _readings(document: RunDocument, says: dict[int, list[str]]) -> None:
    solutions, readings, means = document.solutions, document.readings, document.means
    for place, first in enumerate(solutions.first_reading):
        rows = range(first, first + solutions.reading_count[place])
        told: set[int] = set()
        for row in rows:
            line = readings.line[row]
            if line not in told:
                told.add(line)
                says.setdefault(line, []).append(" ".join(_solution(document, place)))
            says[line].append(_reading(document, row))
    for solution, mean, line in zip(means.solution, means.mean, means.line, strict=True):
        words = f"mean of {solutions.label[solution]} as printed: {mean}, kept for comparison"
        says.setdefault(line, []).append(words)


def _solution(document: RunDocument, place: int) -> Iterator[str]:
    solutions = document.solutions
    kind = solutions.kind[place].replace("_", " ") or "kind not known"
    yield f"{solutions.position[place]} {solutions.label[place]}: {kind}"
    if solutions.nominal[place]:
        yield f"of {solutions.nominal[place]}"
    if solutions.dilution[place] != "1":
        yield f"diluted {solutions.dilution[place]} times"


def _reading(document: RunDocument, row: int) -> str:
    readings = document.readings
    value = readings.signal[row] or readings.flag[row].replace("_", " ")
    background = f", background {readings.background[row]}" if readings.background[row] else ""
    at = f", at {readings.taken_at[row]}" if readings.taken_at[row] else ""
    return f"{readings.replicate[row]}: {value} (column {readings.column[row]}{background}{at})"
