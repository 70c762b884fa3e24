"""Presented solutions as the list for the bench sees them, and which of several readings says what to do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal.compute.reread_reading import Look, looks_of
from benchseal.compute.run_curve import points_of
from benchseal.compute.run_drift import drift_of, signals_drifted
from benchseal.compute.run_numbers import fraction_of
from benchseal.compute.run_signals import signals_of
from benchseal.compute.run_stored import signals_of_record
from benchseal.records.run import PRESENTED_KINDS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from fractions import Fraction

    from benchseal.compute.run_portions import PortionKey
    from benchseal.records.preparation import Portion
    from benchseal.records.results import RunWork, Voided
    from benchseal.records.run import Run, SolutionKind


@dataclass(frozen=True, slots=True)
class Solution:
    """One presented solution. void: its row of record, None where it gives a number that can be used.

    of_series: it is a tube of standard additions; void is that of the whole series, and one tube ``stands`` for it.
    """

    position: int
    key: PortionKey
    kind: SolutionKind
    extra: Fraction
    look: Look
    void: Voided | None
    of_series: bool = False
    stands: bool = True


def presented_of(run: Run, work: RunWork, portions: Mapping[PortionKey, Portion]) -> tuple[Solution, ...]:
    """Every presented solution of ``run`` in presented order. portions: of its batches."""
    columns, void = run.document.solutions, {row.position: row for row in work.voided}
    read = signals_of(run)
    drifted = drift_of(run, portions, read, points_of(run, read))
    signals = signals_drifted(drifted, signals_of_record(work.calibration, read))
    looks, series = looks_of(run, work, signals), _by_additions(run, portions)
    found = []
    for index, position in enumerate(columns.position):
        key = run.portion[index] if run.portion[index][1] else ("", f"position {position}")
        kind = portions[key].kind if key in portions else columns.kind[index]
        if run.hidden[index] or kind in PRESENTED_KINDS:
            extra = fraction_of(columns.dilution[index] or "1")
            one = Solution(position, key, kind, extra, looks[index], void.get(position))
            found.append(_tube(one, series[key], void) if key in series else one)
    return tuple(found)


def telling(own: Sequence[Solution]) -> Solution:
    """The reading that says what to do: the least diluted in range; where all were over range, the most diluted.

    Of a series of additions that is lost, the tube that stands for it.
    """
    if own[0].of_series:
        return next(one for one in own if one.stands)
    inside = [one for one in own if not one.look.over]
    if inside:
        return min(inside, key=lambda one: (one.extra, one.position))
    return max(own, key=lambda one: (bool(one.look.concentration), one.extra, -one.position))


def _by_additions(run: Run, portions: Mapping[PortionKey, Portion]) -> dict[PortionKey, tuple[int, ...]]:
    """Positions of each series of additions that was read, the tube that stands for it first: the least added."""
    element, labels = run.method.element, run.document.solutions.label
    found: dict[PortionKey, dict[int, int]] = {}
    for index, key in enumerate(run.portion):
        own = portions[key].labels_for(element) if key in portions and portions[key].additions.get(element) else ()
        if run.method.calibration.additions and labels[index] in own:
            found.setdefault(key, {})[run.document.solutions.position[index]] = own.index(labels[index])
    return {key: tuple(sorted(places, key=places.__getitem__)) for key, places in found.items()}


def _tube(one: Solution, places: tuple[int, ...], void: Mapping[int, Voided]) -> Solution:
    """Over range where any tube is: then the series is lost as a whole, and ``void`` says so."""
    row = next((void[place] for place in places if place in void), None)
    return replace(one, void=row, of_series=True, stands=one.position == places[0])
