"""The shape of a run document: its schema, then what a schema of columns cannot say."""

from __future__ import annotations

from dataclasses import fields
from operator import le
from typing import TYPE_CHECKING

from benchseal.documents.judge import shape_faults
from benchseal.problems import Problem
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.run import MeanColumns, ReadingColumns, RunDocument, SolutionColumns

_BY_US = "The document does not come from an unchanged file and layout: read the file again."


def shape_problems(document: RunDocument) -> tuple[Problem, ...]:
    """Every fault of shape; nothing else may be asked of a document that has one."""
    source = document.source_name or "run document"
    faults = tuple(
        Problem("validate.shape", f"{source}, {'/'.join(map(str, fault.path))}", fault.what, _BY_US)
        for fault in shape_faults("run-document", plain_of(document))
    )
    if faults:
        return faults
    lengths = tuple(_length_problems(document))
    return lengths or tuple(_order_problems(document))


def _say(document: RunDocument, what: str) -> Problem:
    return Problem("validate.columns", f"{document.source_name}, line {document.facts.line}", what, _BY_US)


def _length_problems(document: RunDocument) -> Iterator[Problem]:
    groups: tuple[SolutionColumns | ReadingColumns | MeanColumns, ...]
    groups = (document.solutions, document.readings, document.means)
    for group in groups:
        lengths = {field.name: len(getattr(group, field.name)) for field in fields(group)}
        if lengths.get("number") == 0:  # a file without reading numbers
            del lengths["number"]
        if len(set(lengths.values())) > 1:
            text = ", ".join(f"{name} {length}" for name, length in lengths.items())
            yield _say(document, f"Columns of one table differ in length: {text}.")


def _order_problems(document: RunDocument) -> Iterator[Problem]:
    solutions, readings = document.solutions, document.readings
    if any(map(le, solutions.position[1:], solutions.position)):
        yield _say(document, "Positions do not rise.")
    due = 0
    for index, (first, count) in enumerate(zip(solutions.first_reading, solutions.reading_count, strict=True)):
        if first != due:
            yield _say(document, f"The readings of solution {index + 1} begin at {first}; {due} is due.")
        due = first + count
    if due != len(readings.signal):
        yield _say(document, f"The solutions hold {due} readings, the columns {len(readings.signal)}.")
    ordinary = all(readings.signal) and not any(readings.flag)  # the quick yes
    if not ordinary and any(
        bool(signal) == bool(flag) for signal, flag in zip(readings.signal, readings.flag, strict=True)
    ):
        yield _say(document, "A reading has neither a signal nor a flag, or both.")
    if any(index >= len(solutions.label) for index in document.means.solution):
        yield _say(document, "A mean belongs to no solution.")
