"""The readings of one run, solution by solution: numbers, mean, scatter, and what is lacking."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import nan
from typing import TYPE_CHECKING

import numpy as np

from benchseal.compute.run_words import Against
from benchseal.compute.statistics import rsd_percent, statistics

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.run import Run


@dataclass(frozen=True, slots=True)
class Loss:
    """Why a reading, a solution or a portion gives no value: a stable code and words."""

    code: str
    why: str


@dataclass(frozen=True, slots=True)
class Signals:
    """Readings of one run; tuples of one entry a solution.

    lines: raw file lines. texts, values: the readings that are numbers, in file order. mean, rsd_percent: NaN where
    there is none. used: what is read on the curve, the mean as it is or corrected. lost: over range, missing or too few
    readings, too much background; None where all can be used (and for hidden ones).
    """

    lines: tuple[tuple[int, ...], ...]
    texts: tuple[tuple[str, ...], ...]
    values: tuple[tuple[float, ...], ...]
    mean: tuple[float, ...]
    used: tuple[float, ...]
    rsd_percent: tuple[float, ...]
    lost: tuple[Loss | None, ...]


def signals_of(run: Run) -> Signals:
    """The readings of ``run``. A mean is taken over numbers only; ``lost`` says when some were lacking."""
    solutions, readings = run.document.solutions, run.document.readings
    rows = [
        range(first, first + count)
        for first, count in zip(solutions.first_reading, solutions.reading_count, strict=True)
    ]
    texts = tuple(tuple(readings.signal[row] for row in own if readings.signal[row]) for own in rows)
    values = tuple(tuple(float(text) for text in own) for own in texts)
    mean, rsd = _means(values)
    lost = tuple(
        None if hidden else _lack([readings.flag[row] for row in own], len(numbers), wanted) or _background(run, own)
        for hidden, own, numbers, wanted in zip(run.hidden, rows, values, _wanted(run), strict=True)
    )
    lines = tuple(tuple(readings.line[row] for row in own) for own in rows)
    return Signals(lines, texts, values, mean, mean, rsd, lost)


def _means(values: Sequence[tuple[float, ...]]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Mean and relative standard deviation of each solution; solutions of equal count are one call."""
    mean, rsd = [nan] * len(values), [nan] * len(values)
    for count in sorted({len(own) for own in values} - {0}):
        places = [place for place, own in enumerate(values) if len(own) == count]
        found = statistics(np.array([values[place] for place in places]).T)
        for place, middle, scatter in zip(places, found.mean.tolist(), rsd_percent(found).tolist(), strict=True):
            mean[place], rsd[place] = middle, scatter
    return tuple(mean), tuple(rsd)


def _wanted(run: Run) -> list[int]:
    """Readings each solution needs; of a rinse one will do, since nothing is reported from it."""
    return [1 if kind == "rinse" else run.method.replicates.count for kind in run.document.solutions.kind]


def _lack(flags: Sequence[str], numbers: int, wanted: int) -> Loss | None:
    if "excluded" in flags:
        return Loss("reading.excluded", "left out by a person for a cause found and recorded")
    if "over_range" in flags:
        return Loss("reading.over-range", "the instrument gave no number: over range; dilute and read again")
    if numbers < len(flags):
        return Loss("reading.missing", f"{len(flags) - numbers} of {len(flags)} readings are missing; read again")
    if numbers < wanted:
        return Loss("reading.missing", f"{numbers} of {wanted} readings were taken; read again")
    return None


def _background(run: Run, rows: Sequence[int]) -> Loss | None:
    """Whether the background absorbance of some reading is more than the method allows, or not known.

    More background than the correction can take makes a reading wrong in silence (EPA 200.9, 9.4.1: below 1.0 in the
    furnace). Where the method judges it, a reading without one was not judged and is not used either.
    """
    limit = run.method.conditions.largest_background
    if not limit:
        return None
    found = [run.document.readings.background[row] for row in rows]
    unknown = found.count("")
    against = Against(max(filter(None, found), key=Decimal, default="0"), "", limit, "")
    if not against.inside:
        words = f"background absorbance {against.words}; dilute or change the programme, and read again"
    elif unknown:
        words = f"{unknown} of {len(found)} readings come without background absorbance, which the method limits; "
        words += "read again"
    else:
        return None
    return Loss("reading.background", words)
