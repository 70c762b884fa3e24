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

    The solutions judged are those of the calibration; where a stored curve was corrected, the correction standard and
    its blank.
    """
    name, positions = CHECK_NAMES["sensitivity"], tuple(level.position for level in calibration.levels)
    for use in calibration.stored:
        positions = tuple(sorted((use.position, use.blank_position)))
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

    c0 = 0.0044/b1, b1 the slope at zero (of a quadratic its linear coefficient); m0 = c0 V (IUPAC, from memory). On a
    stored curve b1 is that of its day; today's slope is b1 over the factor of the correction.
    """
    if slope_undetermined(calibration):
        return "the curve does not rise at zero"
    slope = slope_at_zero(calibration)
    if method.technique == "furnace":
        volume = fraction_of(method.conditions.injection_ul or "0")
        if volume == 0:
            return "the method does not say how much is injected"
        found = characteristic_mass_pg(unit_factor(method.solution_unit, "mg/L"), slope, volume)
    else:
        found = characteristic_concentration(Fraction(1), slope)
    return "the curve does not rise at zero" if isinstance(found, str) else found


def slope_at_zero(calibration: Calibration) -> Fraction:
    """The curve's slope at zero on the day of the run, in signal per solution unit."""
    coefficients = calibration.coefficients
    slope = fraction_of(coefficients[0 if len(coefficients) == 1 else 1] or "0")
    for use in calibration.stored:
        slope /= fraction_of(use.factor)
    return slope
