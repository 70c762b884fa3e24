"""What an instrument saw, before any file shape: series of solutions with their readings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from benchseal.records.method import Method
    from benchseal.records.run import SolutionKind

OVER_RANGE = "above-top"


@dataclass(frozen=True, slots=True)
class Presented:
    """A solution on its way to the instrument. concentration: true one in it; nominal, dilution: as the file prints."""

    kind: SolutionKind
    label: str
    concentration: float
    nominal: str = ""
    dilution: str = "1"


@dataclass(frozen=True, slots=True)
class Read:
    """One reading as printed: number or word, background (or empty), local time."""

    signal: str
    background: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Seen:
    """A solution with its readings and the mean as the instrument prints it."""

    presented: Presented
    readings: tuple[Read, ...]
    mean: str


@dataclass(frozen=True, slots=True)
class Series:
    """One run as the instrument saw it. started: local time."""

    method: Method
    serial: str
    operator: str
    started: datetime
    solutions: tuple[Seen, ...]
    signal_is: str = "absorbance"
    signal_unit: str = ""
