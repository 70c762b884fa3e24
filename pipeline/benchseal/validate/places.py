"""Where in the raw file a problem of a run document is found."""

from __future__ import annotations

from bisect import bisect_right
from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.records.run import RunDocument


def at_run(document: RunDocument) -> str:
    """The run, by its first line: the document does not keep where each fact stands."""
    return f"{document.source_name}, run beginning at line {document.facts.line}"


def at_solution(document: RunDocument, index: int) -> str:
    """The first line of a solution, with its position and label."""
    solutions, readings = document.solutions, document.readings
    first = solutions.first_reading[index]
    line = readings.line[first] if first < len(readings.line) else document.facts.line
    return f"{document.source_name}, line {line} (position {solutions.position[index]}, {solutions.label[index]})"


def at_reading(document: RunDocument, index: int) -> str:
    """The line of a reading, with the position and label of its solution."""
    solutions = document.solutions
    of = bisect_right(solutions.first_reading, index) - 1
    line = document.readings.line[index]
    return f"{document.source_name}, line {line} (position {solutions.position[of]}, {solutions.label[of]})"


def nearest(text: str, known: Iterable[str]) -> str:
    """Up to three known names near ``text``, or the first few there are."""
    names = sorted(set(known))
    near = get_close_matches(text, names, n=3, cutoff=0.5)
    return ", ".join(near or names[:5]) or "none"
