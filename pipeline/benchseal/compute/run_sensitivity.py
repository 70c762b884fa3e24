"""Sensitivity of one run: characteristic concentration or mass from the slope of its curve at zero."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from benchseal.compute.characteristic import characteristic_concentration, characteristic_mass_pg
from benchseal.compute.run_checks import not_evaluated
from benchseal.compute.run_numbers import fraction_of, record_text, shown
from benchseal.compute.run_words import CHECK_NAMES, Against, slope_undetermined
from benchseal.records.quantities import unit_factor, unit_shown

if TYPE_CHECKING:
    from benchseal.records.method import CheckRule, Method
    from benchseal.records.results import Calibration, CheckVerdict


def sensitivity_check(rule: CheckRule, method: Method, calibration: Calibration) -> tuple[CheckVerdict, ...]:
    """What the run's curve gives, in percent of what is usual in this laboratory (``rule.expected``).

    The solutions judged are those of the calibration.
    """
    name, positions = CHECK_NAMES["sensitivity"], tuple(level.position for level in calibration.levels)
    open_verdict = replace(not_evaluated(rule, method, positions, ""), expected=rule.expected)
    found = characteristic(method, calibration)
    if isinstance(found, str):
        return (replace(open_verdict, why=f"{name}: {found}"),)
    if not rule.expected or Decimal(rule.expected) == 0:
        return (replace(open_verdict, why=f"{name}: the method does not say what is usual"),)
    percent = record_text(float(100 * found / fraction_of(rule.expected)))
    against = Against(percent, rule.low, rule.high, "%")
    if against.inside:
        return (replace(open_verdict, found=percent, verdict="pass"),)
    what, unit = ("mass", "pg") if method.technique == "furnace" else ("concentration", method.solution_unit)
    amount = f"{shown(record_text(float(found)))} {unit_shown(unit)}"
    why = f"{name}: the characteristic {what}, {amount}, is of the usual one {against.words}"
    return (replace(open_verdict, found=percent, verdict="fail", why=why),)


def characteristic(method: Method, calibration: Calibration) -> Fraction | str:
    """Characteristic concentration in the solution unit, in the furnace the mass in pg; or why there is none.

    c0 = 0.0044/b1, b1 the slope at zero (of a quadratic its linear coefficient); m0 = c0 V (IUPAC, from memory).
    """
    coefficients = calibration.coefficients
    if slope_undetermined(calibration):
        return "the curve does not rise at zero"
    slope = fraction_of(coefficients[0 if len(coefficients) == 1 else 1] or "0")
    if method.technique == "furnace":
        volume = fraction_of(method.conditions.injection_ul or "0")
        if volume == 0:
            return "the method does not say how much is injected"
        found = characteristic_mass_pg(unit_factor(method.solution_unit, "mg/L"), slope, volume)
    else:
        found = characteristic_concentration(Fraction(1), slope)
    return "the curve does not rise at zero" if isinstance(found, str) else found
