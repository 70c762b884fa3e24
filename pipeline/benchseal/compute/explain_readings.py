"""Readings of a sample's portions: the raw lines, their mean, the concentration of the solution read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.explain_curve import inversion
from benchseal.compute.explain_layout import STEP, counted, formula, heading, prose, put, spans
from benchseal.compute.run_numbers import shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.explain_around import Around
    from benchseal.records.results import WorkedPortion

_IN = STEP + STEP


def reading_lines(of: Around) -> Iterator[str]:
    """The section of the readings, in the order in which they were presented."""
    read = [one for one in of.portions if one.position]
    yield from heading("Readings")
    if not read:
        yield from prose("No portion of the sample was read in this run.")
    for one in read:
        yield from prose(f"Portion {one.portion}, batch {one.batch}, position {one.position}, {where(of, one.lines)}")
        yield from _reading(of, one)


def where(of: Around, lines: Sequence[int]) -> str:
    """``line 26 of flame-assay.txt``."""
    return f"{'line' if len(set(lines)) == 1 else 'lines'} {spans(lines)} of {of.file}" if lines else of.file


def readings(of: Around, signals: Sequence[str]) -> str:
    """``readings 0.3289, 0.3279, 0.3269 A``."""
    word = "reading" if len(signals) == 1 else "readings"
    return f"{word} {', '.join(signals)} {of.work.calibration.signal_unit}"


def _reading(of: Around, one: WorkedPortion) -> Iterator[str]:
    unit = of.work.calibration.signal_unit
    if not one.signals:
        yield from prose("no number was read", _IN)
        return
    yield from prose(readings(of, one.signals), _IN)
    if not one.mean_signal:
        return
    total = " + ".join(put(text) for text in one.signals)
    mean = f"({total}) / {len(one.signals)}" if len(one.signals) > 1 else total
    yield from formula("A", mean, f"{one.mean_signal} {unit}", indent=_IN)
    if one.rsd_percent:
        many = counted(len(one.signals), "reading")
        yield from prose(f"relative standard deviation of the {many} {shown(one.rsd_percent)} %", _IN)
    if one.solution_value:
        letters, numbers = inversion(of.work.calibration, one.mean_signal)
        yield from formula("c", letters, numbers, f"{one.solution_value} {of.unit}", indent=_IN)
    if one.u_solution:
        yield from prose(f"standard uncertainty of c, from readings and curve, {one.u_solution} {of.unit}", _IN)
