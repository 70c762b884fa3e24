"""Sensitivity of one run as a value of a chart: what its curve gave, with the functions that judge a run by it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from benchseal.compute.history_chart import Value, text_of
from benchseal.compute.run_sensitivity import characteristic, slope_at_zero

if TYPE_CHECKING:
    from benchseal.records.method import Method
    from benchseal.records.results import Calibration

_SENSIBLE = Fraction(10) ** 15  # further from 1 no laboratory is; the texts of such figures would not end


@dataclass(frozen=True, slots=True)
class Curve:
    """One run's curve and where it is from; lot: of the calibration. entry: of the ledger, that put it on record."""

    run: str
    version: int
    measured_at: str
    lot: str
    entry: int
    method: Method
    calibration: Calibration


def sensitivity_value(curve: Curve) -> Value:
    """Characteristic concentration in the solution unit, or in the furnace the characteristic mass in pg.

    Values are compared in one unit and for one form of the signal only: peak height and area are different figures.
    """
    method, calibration = curve.method, curve.calibration
    found = characteristic(method, calibration)
    if isinstance(found, Fraction) and not 1 / _SENSIBLE < found < _SENSIBLE:
        found = "its size is absurd"
    return Value(
        run=curve.run,
        version=curve.version,
        place=0,
        position=0,
        measured_at=curve.measured_at,
        lot=curve.lot,
        found=text_of(found) if isinstance(found, Fraction) else "",
        unit="pg" if method.technique == "furnace" else method.solution_unit,
        entry=curve.entry,
        basis=calibration.signal_unit,
        why="" if isinstance(found, Fraction) else found,
        slope=text_of(slope_at_zero(calibration)),
        slope_unit=f"{calibration.signal_unit}/({calibration.unit})",
    )
