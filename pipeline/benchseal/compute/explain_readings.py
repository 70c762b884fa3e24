"""Readings of a sample's portions: the raw lines, their mean, the concentration of the solution read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.explain_additions import series_lines
from benchseal.compute.explain_bracketing import bracket_lines, standard_lines
from benchseal.compute.explain_curve import inversion
from benchseal.compute.explain_drift import drift_lines, pair_lines
from benchseal.compute.explain_layout import STEP, counted, formula, heading, prose, put, spans
from benchseal.compute.run_numbers import shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.explain_around import Around
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import AddedSeries, WorkedPortion

_IN = STEP + STEP


def reading_lines(of: Around) -> Iterator[str]:
    """The section of the readings, in the order in which they were presented."""
    read = [one for one in of.portions if one.position]
    yield from standard_lines(of)
    yield from pair_lines(of)
    yield from heading("Readings")
    if not read:
        yield from prose("No portion of the sample was read in this run.")
    for one in read:
        if one.series:
            yield from _by_additions(of, one, one.series[0])
            continue
        between = ", between two standards" if one.bracket else ""
        at = f"position {one.position}, {where(of, one.lines)}{between}"
        yield from prose(f"Portion {one.portion}, batch {one.batch}, {at}")
        yield from _reading(of, one)


def where(of: Around, lines: Sequence[int]) -> str:
    """``line 26 of flame-assay.txt``."""
    return f"{'line' if len(set(lines)) == 1 else 'lines'} {spans(lines)} of {of.file}" if lines else of.file


def readings(of: Around, signals: Sequence[str]) -> str:
    """``readings 0.3289, 0.3279, 0.3269 A``."""
    word = "reading" if len(signals) == 1 else "readings"
    return f"{word} {', '.join(signals)} {of.work.calibration.signal_unit}"


def _by_additions(of: Around, one: WorkedPortion, series: AddedSeries) -> Iterator[str]:
    """A portion with its own line: every tube, then the line."""
    at = spans([tube.position for tube in series.tubes])
    yield from prose(f"Portion {one.portion}, batch {one.batch}, positions {at}, by standard additions")
    for tube in series.tubes:
        added = f"{tube.added} {of.unit} added"
        yield from prose(f"Tube {tube.label}, position {tube.position}, {where(of, tube.lines)}: {added}", _IN)
        yield from _mean(of, tube.signals, tube.mean_signal, tube.rsd_percent)
    yield from series_lines(of, one, series)


def _mean(
    of: Around, signals: Sequence[PlainDecimal], mean_signal: PlainDecimal, rsd_percent: PlainDecimal
) -> Iterator[str]:
    """Readings of one solution, their mean and scatter."""
    if not signals:
        yield from prose("no number was read", _IN)
        return
    yield from prose(readings(of, signals), _IN)
    if not mean_signal:
        return
    total = " + ".join(put(text) for text in signals)
    mean = f"({total}) / {len(signals)}" if len(signals) > 1 else total
    yield from formula("A", mean, f"{mean_signal} {of.work.calibration.signal_unit}", indent=_IN)
    if rsd_percent:
        many = counted(len(signals), "reading")
        yield from prose(f"relative standard deviation of the {many} {shown(rsd_percent)} %", _IN)


def _reading(of: Around, one: WorkedPortion) -> Iterator[str]:
    yield from _mean(of, one.signals, one.mean_signal, one.rsd_percent)
    if one.bracket:
        yield from bracket_lines(of, one, one.bracket[0])
        return
    made_of = ("readings", "curve")
    read = inversion(of, one.mean_signal)
    for step in one.drift:
        yield from drift_lines(of, one, step)
        made_of, read = ("readings, curve", "the checks it is corrected by"), inversion(of, step.corrected, "Ac")
    if one.solution_value:
        yield from formula("c", *read, f"{one.solution_value} {of.unit}", indent=_IN)
    if one.u_solution:
        yield from prose(f"standard uncertainty of c, from {' and '.join(made_of)}, {one.u_solution} {of.unit}", _IN)
