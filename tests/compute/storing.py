"""Invented runs on the curve of an earlier one, for tests; never evidence that a number is right."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from tests.compute.making import BRACKETS, Shot, pb_method, run_of, standards

from benchseal.records.method import StoredCurvePlan
from benchseal.records.run import StoredCurve, StoredSolution

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import Method
    from benchseal.records.run import Run

SLOPE = 0.00293  # A s per ug/L on the day of the curve
PLAN = StoredCurvePlan("24", "0.8", "1.2", "test")
OFF = (0.0, 0.02, -0.02, 0.03, -0.04, 0.05, -0.03)  # ug/L by which each standard lies off the line


def stored_method(**plan: Any) -> Method:  # noqa: ANN401  fields of a record by name
    """The furnace line on signals zeroed on the blank, which may use a stored curve."""
    calibration = replace(pb_method().calibration, **plan)
    return pb_method(
        signal_is="absorbance_zeroed_on_blank", calibration=calibration, stored_curve=PLAN, checks=BRACKETS
    )


def around(signal: float, spread: float = 0.00005) -> tuple[str, ...]:
    """Three readings."""
    return tuple(f"{signal + by * spread:.7f}" for by in (-1.2, 0.2, 1.0))


def zeroed(slope: float = SLOPE, bend: float = 0.0) -> tuple[Shot, ...]:
    """The calibration without offset; ``bend`` takes off bend c^2."""
    return tuple(
        replace(shot, signals=around(slope * (float(shot.nominal) + off) - bend * float(shot.nominal) ** 2))
        for shot, off in zip(standards(), OFF, strict=True)
    )


def shot(kind: Any, label: str, holds: float, gain: float, rest: float = 0.0004, **fields: Any) -> Shot:  # noqa: ANN401
    """A solution on a later day: sensitivity ``gain`` times the earlier one's, ``rest`` what the blank reads."""
    return Shot(kind, label, signals=around(rest + gain * SLOPE * holds), **fields)


def checks(gain: float, standard: float = 10.0, blank: float = 0.02) -> tuple[Shot, ...]:
    """A check standard and a check blank of that day."""
    return (shot("check_standard", "CS", standard, gain), shot("check_blank", "CB", blank, gain))


def opening(gain: float = 0.95, holds: float = 15.0) -> tuple[Shot, ...]:
    """Blank and correction standard, then a pair of checks."""
    return (
        shot("calibration_blank", "S0", 0.0, gain),
        shot("correction_standard", "S5", holds, gain),
        *checks(gain),
    )


def curve_of(run: Run, number: str = "R-00003", **changes: Any) -> StoredCurve:  # noqa: ANN401
    """What a later run copies of ``run``."""
    columns, readings = run.document.solutions, run.document.readings
    copied = []
    for place, kind in enumerate(columns.kind):
        rows = slice(columns.first_reading[place], columns.first_reading[place] + columns.reading_count[place])
        if kind in {"standard", "calibration_blank"}:
            copied.append(
                StoredSolution(
                    position=columns.position[place],
                    label=columns.label[place],
                    kind=kind,
                    nominal=columns.nominal[place],
                    signals=readings.signal[rows],
                    lines=readings.line[rows],
                )
            )
    usual = StoredCurve(number, 1, "a" * 64, run.document.source_sha256, run.measured_at, tuple(copied))
    return replace(usual, **changes)


def later(shots: Sequence[Shot], curve: StoredCurve, method: Method, hidden: Sequence[int] = ()) -> Run:
    """A run of the day after on ``curve``."""
    run = run_of(shots, method, hidden)
    return replace(run, measured_at="2026-03-03T06:00:00Z", stored_curve=(curve,))
