"""A stored curve in a worked calculation: which run it is of, and the factor that corrects signals, numbers put in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.explain_layout import STEP, formula, prose, put, said, spans
from benchseal.compute.run_signals import signals_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.explain_around import Around
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import StoredUse

_AT = {0: "{b}", 1: "{b} x {c}", 2: "{b} x {c} x {c}"}


def stored_lines(of: Around) -> Iterator[str]:
    """Below the equation of the curve: nothing where the run has a calibration of its own."""
    for use in of.work.calibration.stored:
        at = use.measured_at.replace("T", " ").replace("Z", " UTC")
        words = f"Curve of run {use.run}, version {use.version}, measured {at}: this run has no standards of its own."
        yield from prose(f"{words} Positions in the table below are those of {use.run}.")
        yield from _factor(of, use)


def corrected(of: Around, mean_signal: PlainDecimal) -> PlainDecimal | str:
    """What is read on the curve for a mean reading: itself, or (A - Ab) F in numbers."""
    for use in of.work.calibration.stored:
        return f"({put(mean_signal)} - {put(use.blank_signal)}) x {use.factor}"
    return mean_signal


def _factor(of: Around, use: StoredUse) -> Iterator[str]:
    unit, plan = of.work.calibration.signal_unit, of.method.stored_curve
    standard, blank = _label(of, use.position), _label(of, use.blank_position)
    words = f"Correction by one standard: {standard}, {use.nominal} {of.unit}, position {use.position}; "
    yield from prose(f"{words}its blank {blank}, position {use.blank_position}")
    within = STEP + STEP
    for name, position, value in (("As", use.position, use.signal), ("Ab", use.blank_position, use.blank_signal)):
        texts, lines = _read(of, position)
        where = f"{'line' if len(set(lines)) == 1 else 'lines'} {spans(lines)} of {of.file}"
        yield from prose(f"readings {', '.join(texts)} {unit}, {where}", within)
        total = " + ".join(put(text) for text in texts)
        yield from formula(name, f"({total}) / {len(texts)}", f"{value} {unit}", indent=within)
    yield from formula("An", _on_curve(of, use.nominal), f"{use.nominal_signal} {unit}", indent=within)
    net = f"({put(use.signal)} - {put(use.blank_signal)})"
    yield from formula("F", "An / (As - Ab)", f"{put(use.nominal_signal)} / {net}", use.factor, indent=within)
    words = f"limit {plan.smallest_factor} to {plan.largest_factor}; its standard uncertainty {use.u_factor}, of both"
    yield from prose(f"{words} mean readings with the s of the curve", within + STEP)
    yield from said("source of the correction", plan.source, within + STEP)
    yield from prose("Of every mean reading A of this run, (A - Ab) F is what is read on the curve.")


def _on_curve(of: Around, c: PlainDecimal) -> str:
    """The curve's equation at ``c``, in numbers."""
    found = of.work.calibration
    powers = (1,) if found.model == "line_through_zero" else range(len(found.coefficients))
    parts = [_AT[power].format(b=put(b), c=c) for power, b in zip(powers, found.coefficients, strict=True)]
    return " + ".join(parts)


def _label(of: Around, position: int) -> str:
    columns = of.run.document.solutions
    return columns.label[columns.position.index(position)]


def _read(of: Around, position: int) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """Readings of one solution of this run that are numbers, and its lines."""
    place, read = of.run.document.solutions.position.index(position), signals_of(of.run)
    return read.texts[place], read.lines[place]
