"""What a reading says by itself, whatever its bracket or its run says: in range, near the top, above it, how far.

Beyond the highest standard a curve gives no value. What is carried on beyond it is called an estimate and serves one
thing only: to choose a dilution for reading again.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import isfinite, sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.run_numbers import fraction_of, record_text

if TYPE_CHECKING:
    from benchseal.compute.run_signals import Signals
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Calibration, RunWork
    from benchseal.records.run import Run

NoEstimate: TypeAlias = Literal["", "no_number", "above_vertex", "no_curve"]
NEAR_TOP = Fraction(9, 10)  # of the highest standard; EPA 200.9, 11.4.9 dilutes from there on
_EDGE = Fraction(1, 10**11)  # of the highest standard: what 12 digits of the coefficients may move a reading


@dataclass(frozen=True, slots=True)
class Look:
    """One solution. over: above the highest standard, or over range by the instrument's own word.

    concentration: of the solution read, in the unit of the curve, beyond the highest standard the estimate; empty where
    there is none, then no_estimate says why. near_top: in range, above 90 % of the highest standard. background: some
    reading has more background than the method allows.
    """

    over: bool
    concentration: PlainDecimal
    no_estimate: NoEstimate
    near_top: bool
    background: bool


def looks_of(run: Run, work: RunWork, signals: Signals) -> tuple[Look, ...]:
    """Every solution of ``run`` in presented order, seen on the curve of record."""
    said = {row.position: row.code for row in work.voided}
    stands = curve_stands(work)
    return tuple(
        _look(run, work.calibration if stands else None, signals, index, said.get(position, ""))
        for index, position in enumerate(run.document.solutions.position)
    )


def curve_stands(work: RunWork) -> bool:
    """Whether every judgement of the calibration passed."""
    return all(one.verdict == "pass" for one in work.checks if one.check == "calibration")


def carried_on(calibration: Calibration, signal: float) -> float | NoEstimate:
    """Concentration where the curve of record meets ``signal``, also beyond its standards.

    The root on the rising branch, as in ``invert.py``. Above the vertex of a curve that bends down there is none.
    """
    if not all(calibration.coefficients):
        return "no_curve"
    b0, b1, b2 = _coefficients(calibration)
    if b2 == 0:
        return (signal - b0) / b1 if b1 > 0 else "no_curve"
    under = b1 * b1 - 4.0 * b2 * (b0 - signal)
    if not under > 0:
        return "above_vertex" if b2 < 0 else "no_curve"
    slopes = b1 + sqrt(under)  # twice the middle of the slopes at zero and at the root
    return 2.0 * (signal - b0) / slopes if slopes > 0 else "no_curve"


def _coefficients(calibration: Calibration) -> tuple[float, float, float]:
    numbers = [float(text) for text in calibration.coefficients]
    if calibration.model == "line_through_zero":
        return 0.0, numbers[0], 0.0
    return numbers[0], numbers[1], numbers[2] if calibration.model == "quadratic" else 0.0


def _look(run: Run, calibration: Calibration | None, signals: Signals, index: int, code: str) -> Look:
    columns = run.document
    first = columns.solutions.first_reading[index]
    own = slice(first, first + columns.solutions.reading_count[index])
    background = _too_much(columns.readings.background[own], run.method.conditions.largest_background)
    if "over_range" in columns.readings.flag[own]:
        return Look(over=True, concentration="", no_estimate="no_number", near_top=False, background=background)
    reached: float | NoEstimate = "no_number"
    if isfinite(signals.used[index]):
        reached = "no_curve" if calibration is None else carried_on(calibration, signals.used[index])
    over = code == "reading.over-range" or reached == "above_vertex"
    if calibration is None or isinstance(reached, str):
        why: NoEstimate = reached if isinstance(reached, str) else ""
        return Look(over=over, concentration="", no_estimate=why, near_top=False, background=background)
    text, highest = record_text(reached), fraction_of(calibration.highest)
    over = over or fraction_of(text) > highest * (1 + _EDGE)
    near = not over and fraction_of(text) > highest * NEAR_TOP
    return Look(over=over, concentration=text, no_estimate="", near_top=near, background=background)


def _too_much(found: tuple[PlainDecimal, ...], limit: PlainDecimal) -> bool:
    return bool(limit) and any(text and fraction_of(text) > fraction_of(limit) for text in found)
