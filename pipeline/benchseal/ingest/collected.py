"""Columns of one table while its rows are read: lists that grow, as ``records.run`` keeps them afterwards."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from benchseal.records.run import MeanColumns, ReadingColumns, SolutionColumns

if TYPE_CHECKING:
    from benchseal.records.run import SolutionKind


@dataclass(slots=True)
class Solutions:
    """Of each solution, in order."""

    position: list[int] = field(default_factory=list)
    label: list[str] = field(default_factory=list)
    kind: list[SolutionKind] = field(default_factory=list)
    nominal: list[str] = field(default_factory=list)
    dilution: list[str] = field(default_factory=list)
    first_reading: list[int] = field(default_factory=list)
    reading_count: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Readings:
    """Of each reading, in order."""

    signal: list[str] = field(default_factory=list)
    as_read: list[str] = field(default_factory=list)
    line: list[int] = field(default_factory=list)
    column: list[int] = field(default_factory=list)
    replicate: list[int] = field(default_factory=list)
    taken_at: list[str] = field(default_factory=list)
    background: list[str] = field(default_factory=list)
    flag: list[str] = field(default_factory=list)
    number: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Means:
    """Of each mean the instrument printed, in order."""

    solution: list[int] = field(default_factory=list)
    mean: list[str] = field(default_factory=list)
    line: list[int] = field(default_factory=list)


def as_records(
    solutions: Solutions, readings: Readings, means: Means
) -> tuple[SolutionColumns, ReadingColumns, MeanColumns]:
    """The lists as records keep them."""
    return (
        SolutionColumns(**{name: tuple(getattr(solutions, name)) for name in Solutions.__slots__}),
        ReadingColumns(**{name: tuple(getattr(readings, name)) for name in Readings.__slots__}),
        MeanColumns(**{name: tuple(getattr(means, name)) for name in Means.__slots__}),
    )
