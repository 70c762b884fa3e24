"""The sensitivity of a run as a value of a chart: figure, unit, basis, and why there is none. Invented curves."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import pb_method
from tests.compute.test_run_words import curve

from benchseal.compute.history_sensitivity import Curve, sensitivity_value

if TYPE_CHECKING:
    from benchseal.compute.history_chart import Value
    from benchseal.records.method import Method


def of(method: Method, *coefficients: str, **changes: str) -> Value:
    calibration = replace(curve(), coefficients=coefficients, **changes)  # type: ignore[arg-type]
    return sensitivity_value(Curve("R-00007", 2, "2026-03-02T08:00:00Z", "PB-CAL", 41, method, calibration))


def flame(**changes: object) -> Method:
    return pb_method(technique="flame", solution_unit="mg/L", signal_unit="A", **changes)


def test_the_characteristic_concentration_of_a_flame_line() -> None:
    """0.0044 over the slope (IUPAC, from memory): 0.2 A per mg/L gives 0.022 mg/L."""
    found = of(flame(), "0.001", "0.2", signal_unit="A", unit="mg/L")
    assert float(found.found) == 0.022
    assert (found.unit, found.basis, found.why) == ("mg/L", "A", "")
    assert (float(found.slope), found.slope_unit) == (0.2, "A/(mg/L)")
    assert (found.run, found.version, found.lot, found.entry) == ("R-00007", 2, "PB-CAL", 41)
    assert (found.measured_at, found.place, found.position) == ("2026-03-02T08:00:00Z", 0, 0)


def test_the_characteristic_mass_of_a_furnace_line() -> None:
    """0.0044 V/slope: 20 uL at 0.0044 A s per ug/L are 1 ug/L x 20 uL = 20 pg."""
    method = pb_method()
    method = replace(method, conditions=replace(method.conditions, injection_ul="20"))
    found = of(method, "0.001", "0.0044")
    assert (float(found.found), found.unit, found.basis) == (20, "pg", "A s")
    assert found.slope_unit == "A s/(ug/L)"


def test_a_line_through_zero_and_a_quadratic_have_their_slope_at_zero() -> None:
    for coefficients in (("0.2",), ("0.001", "0.2", "-0.01")):
        assert float(of(flame(), *coefficients).found) == 0.022


def test_a_furnace_method_that_injects_nothing_known_has_no_mass() -> None:
    found = of(pb_method(), "0.001", "0.0044")
    assert (found.found, found.why) == ("", "the method does not say how much is injected")
    assert float(found.slope) == 0.0044


@pytest.mark.parametrize("slope", ["0", "-0.2"])
def test_a_curve_that_does_not_rise_has_none(slope: str) -> None:
    found = of(flame(), "0.001", slope)
    assert (found.found, found.why) == ("", "the curve does not rise at zero")


@pytest.mark.parametrize(
    ("slope", "absurd"),
    [
        pytest.param("0.0000000000000000044", True, id="a thousand million millions"),
        pytest.param("0.00000000000000000441", False, id="a little less"),
        pytest.param("4400000000000", True, id="as small"),
        pytest.param("4390000000000", False, id="a little more"),
    ],
)
def test_a_figure_of_absurd_size_is_none(slope: str, absurd: bool) -> None:
    """0.0044/slope against 1e15 and 1e-15; the readings are as large, so that the slope counts as one."""
    levels = tuple(replace(one, mean_signal="0") for one in curve().levels)
    calibration = replace(curve(), coefficients=("0", slope), levels=levels)
    found = sensitivity_value(Curve("R", 1, "", "", 1, flame(), calibration))
    assert (found.why == "its size is absurd") is absurd
    assert (found.found == "") is absurd
