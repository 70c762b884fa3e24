"""Rounding, budgets, content, drift, standard additions, recovery."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import inf
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchseal.compute.arrays import column
from benchseal.compute.budget import (
    combine,
    rectangular,
    triangular,
    u_of_balance_difference,
    u_of_resolution,
    u_of_volume,
)
from benchseal.compute.content import BlankWas, Portion, content
from benchseal.compute.drift import Addition, Drift, drift, standard_addition
from benchseal.compute.fit import fit
from benchseal.compute.recovery import recovery_percent, relative_percent_difference
from benchseal.compute.rounding import places_of_uncertainty, reported, rounded_text

if TYPE_CHECKING:
    from benchseal.records.quantities import RoundingMode


@given(st.integers(-(10**12), 10**12), st.integers(0, 9), st.integers(0, 9), st.sampled_from(["half_up", "half_even"]))
def test_rounding_against_whole_number_arithmetic(digits: int, places: int, keep: int, mode: RoundingMode) -> None:
    value = Decimal(digits).scaleb(-places)
    scaled = abs(Fraction(digits, 10**places)) * 10**keep
    whole, rest = divmod(scaled.numerator, scaled.denominator)
    twice = 2 * rest - scaled.denominator
    up = twice > 0 or (twice == 0 and (mode == "half_up" or whole % 2 == 1))
    expected = (whole + up) * (-1 if digits < 0 else 1)
    text = rounded_text(value, mode, decimals=keep)
    assert Decimal(text) == Decimal(expected).scaleb(-keep)
    assert len(text.partition(".")[2]) == keep
    assert not (Decimal(text) == 0 and text.startswith("-"))


@pytest.mark.parametrize(
    ("value", "kept", "mode", "text"),
    [
        pytest.param("0.3347", {"decimals": 2}, "half_up", "0.33", id="once, not 0.335 then 0.34"),
        pytest.param("2.675", {"decimals": 2}, "half_up", "2.68", id="a float would give 2.67"),
        pytest.param("2.675", {"decimals": 2}, "half_even", "2.68", id="half to even, odd before"),
        pytest.param("2.665", {"decimals": 2}, "half_even", "2.66", id="half to even, even before"),
        pytest.param("-0.125", {"decimals": 2}, "half_up", "-0.13", id="away from zero below zero"),
        pytest.param("-0.004", {"decimals": 2}, "half_up", "0.00", id="no negative zero"),
        pytest.param("0.0099951", {"significant": 3}, "half_up", "0.0100", id="carry keeps the digits"),
        pytest.param("12345", {"significant": 2}, "half_up", "12000", id="tens"),
        pytest.param("0", {"significant": 3}, "half_up", "0.00", id="zero"),
        pytest.param("1250", {"decimals": -2}, "half_even", "1200", id="negative places"),
    ],
)
def test_rounding(value: str, kept: dict[str, int], mode: RoundingMode, text: str) -> None:
    assert rounded_text(Decimal(value), mode, **kept) == text


@pytest.mark.parametrize(
    ("value", "expanded", "decimals", "texts"),
    [
        pytest.param("0.26017", "0.03568", None, ("0.260", "0.036"), id="two digits of U"),
        pytest.param("0.26017", "0.0331", None, ("0.260", "0.034"), id="U is rounded up"),
        pytest.param("1.23456", "0.0995", None, ("1.23", "0.10"), id="a carry leaves two digits"),
        pytest.param("56789.4", "1234", None, ("56800", "1300"), id="tens"),
        pytest.param("0.5", "0.014", None, ("0.500", "0.014"), id="exactly two digits stay"),
        pytest.param("0.26017", "0.03568", 2, ("0.26", "0.04"), id="the specification's places win"),
        pytest.param("0.26017", "0.0001", 1, ("0.3", "0.1"), id="U is never shown as zero"),
    ],
)
def test_value_and_expanded_uncertainty(
    value: str, expanded: str, decimals: int | None, texts: tuple[str, str]
) -> None:
    found = reported(Decimal(value), Decimal(expanded), "half_up", decimals=decimals)
    assert (found.value_text, found.expanded_text) == texts


@given(st.decimals("1e-12", "1e9", allow_nan=False, places=12))
def test_places_of_uncertainty_keep_two_digits(expanded: Decimal) -> None:
    places = places_of_uncertainty(expanded)
    shown = Decimal(reported(Decimal(0), expanded, "half_up").expanded_text)
    assert expanded <= shown < expanded * Decimal("1.1")
    assert shown == shown.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    assert 10 <= shown.scaleb(places) < 100


@pytest.mark.parametrize("expanded", ["0", "-1"])
def test_an_uncertainty_that_names_no_place(expanded: str) -> None:
    with pytest.raises(ValueError, match="above zero"):
        reported(Decimal(1), Decimal(expanded), "half_up")


def test_a_budget_of_one_term_keeps_its_degrees_of_freedom() -> None:
    """Rounding must not take a whole one away: 5 must not become 4."""
    rng = np.random.default_rng(5)
    for df in range(1, 60):
        found = combine(rng.uniform(1e-9, 1e9, (1, 20)), np.full((1, 20), float(df)))
        assert found.df.tolist() == [df] * 20


def test_budget_edges() -> None:
    none = combine(column([1.0, 2.0]), column([inf, inf]))
    assert (float(none.df[0]), round(float(none.k[0]), 6)) == (inf, 1.959964)
    zero = combine(column([0.0, 0.0]), column([5.0, inf]))
    assert float(zero.u[0]) == 0
    assert np.isnan(zero.shares_percent).all()
    thin = combine(column([1.0]), column([0.5]))
    assert np.isnan(thin.k[0])
    tiny = combine(column([3e-200, 4e-200]), column([3.0, 3.0]))
    assert float(tiny.u[0]) == pytest.approx(5e-200)


def test_divisors() -> None:
    """JCGM 100, 4.3.7 and 4.3.9; water expansion as in QUAM example A1: 100 mL, 0.1 mL, 4 K."""
    assert rectangular(0.1) == pytest.approx(0.057735, rel=1e-5)
    assert triangular(0.1) == pytest.approx(0.040825, rel=1e-5)
    assert u_of_resolution(0.001) == pytest.approx(0.000288675, rel=1e-5)
    assert u_of_balance_difference(0.15, 0.0) == pytest.approx(0.1225, rel=1e-3)
    assert u_of_volume(100.0, 0.1, 0.02, 4.0) == pytest.approx(0.066, abs=0.001)


def portion(**values: float) -> Portion:
    base = {"solution_mg_per_l": 0.0, "blank_mg_per_l": 0.0, "dilution": 0.0, "volume_ml": 0.0, "mass_g": 0.0}
    return Portion(**{name: np.array([value]) for name, value in {**base, "moisture_fraction": 0.0, **values}.items()})


MEASURED = {"solution_mg_per_l": 0.5, "blank_mg_per_l": 0.02, "dilution": 10.0, "volume_ml": 50.0, "mass_g": 0.5}


@pytest.mark.parametrize(("blank_was", "mg_per_kg"), [("undiluted", 498.0), ("same_dilution", 480.0)])
def test_a_blank_is_taken_off_where_it_was_prepared_alike(blank_was: BlankWas, mg_per_kg: float) -> None:
    found = content(portion(**MEASURED), blank_was, portion())
    assert float(found.mg_per_kg[0]) == pytest.approx(mg_per_kg, rel=1e-12)
    dry = content(portion(**MEASURED, moisture_fraction=0.2), blank_was, portion())
    assert float(dry.mg_per_kg[0]) == pytest.approx(mg_per_kg / 0.8, rel=1e-12)


@pytest.mark.parametrize("blank_was", ["undiluted", "same_dilution"])
def test_contributions_are_the_partial_derivatives(blank_was: BlankWas) -> None:
    """Each input moved by itself, as the spreadsheet method of QUAM does."""
    inputs = {**MEASURED, "moisture_fraction": 0.1}
    us = {name: 1e-6 * value for name, value in inputs.items()}
    found = content(portion(**inputs), blank_was, portion(**us))
    base = float(found.mg_per_kg[0])
    for place, name in enumerate(inputs):
        moved = content(portion(**{**inputs, name: inputs[name] + us[name]}), blank_was, portion())
        assert abs(float(moved.mg_per_kg[0]) - base) == pytest.approx(float(found.contributions[place, 0]), rel=1e-4)


def test_uncertainty_of_a_blank_difference_near_zero() -> None:
    """Relative quadrature would make it vanish or explode."""
    inputs = {**MEASURED, "solution_mg_per_l": 0.02, "dilution": 1.0}
    found = content(portion(**inputs), "undiluted", portion(solution_mg_per_l=0.003, blank_mg_per_l=0.004))
    assert float(found.mg_per_kg[0]) == 0
    assert float(found.u_mg_per_kg[0]) == pytest.approx(0.005 * 100)


def test_drift_halfway() -> None:
    blank, standard = ((0.0, 0.002), (10.0, 0.004)), ((0.0, 0.202), (10.0, 0.184))
    found = drift(blank, standard, np.array([0.0, 5.0, 10.0, 11.0]), np.array([0.1, 0.1, 0.1, 0.1]))
    assert isinstance(found, Drift)
    assert found.drift_percent == pytest.approx(-10.0)
    np.testing.assert_allclose(found.blank[:3], [0.002, 0.003, 0.004])
    np.testing.assert_allclose(found.factor[:3], [1.0, 0.2 / 0.19, 0.2 / 0.18])
    np.testing.assert_allclose(found.corrected[:3], found.net[:3] * found.factor[:3])
    assert found.bracketed.tolist() == [True, True, True, False]
    assert np.isnan(found.corrected[3])


@settings(max_examples=50)
@given(st.floats(0.05, 1.0), st.floats(-0.01, 0.01), st.floats(-0.01, 0.01), st.floats(0.5, 1.5), st.floats(0, 1))
def test_drift_is_undone(true: float, b0: float, b1: float, sensitivity: float, f: float) -> None:
    """A net signal distorted by a straight baseline and sensitivity comes back."""
    baseline, span = b0 + (b1 - b0) * f, 1 + (sensitivity - 1) * f
    blank, standard = ((0.0, b0), (1.0, b1)), ((0.0, b0 + 0.3), (1.0, b1 + 0.3 * sensitivity))
    found = drift(blank, standard, np.array([f]), np.array([baseline + true * span]))
    assert isinstance(found, Drift)
    assert float(found.corrected[0]) == pytest.approx(true, rel=1e-9)


def test_drift_refuses() -> None:
    here, later = ((0.0, 0.0), (1.0, 0.0)), ((1.0, 0.2), (1.0, 0.2))
    nothing = np.array([0.5])
    assert drift(here, later, nothing, nothing) == "positions_equal"
    assert drift(here, here, nothing, nothing) == "no_sensitivity"


def test_standard_addition_refuses() -> None:
    x = column([0.0, 1.0, 2.0, 3.0])
    assert standard_addition(fit(x, 3.0 - x, "line")) == "not_rising"
    assert standard_addition(fit(x[:2], x[:2], "line")) == "not_fitted"
    noisy = column([1.0, 9.0, 2.0, 8.0])
    assert standard_addition(fit(x, noisy, "line")) == "slope_not_significant"


def test_standard_addition_is_the_delta_method_of_b0_over_b1() -> None:
    x, y = column([0.0, 1.0, 2.0, 3.0, 4.0]), column([0.31, 0.49, 0.72, 0.9, 1.08])
    line = fit(x, y, "line")
    found = standard_addition(line)
    assert isinstance(found, Addition)
    gradient = np.array([1.0, -found.x]) / float(line.coefficients[1, 0])
    assert found.u == pytest.approx(float(np.sqrt(gradient @ line.covariance[:, :, 0] @ gradient)), rel=1e-10)


def test_recovery_and_rpd_are_decimal() -> None:
    assert recovery_percent(Decimal("0.3"), Decimal("0.2"), Decimal("0.1")) == 100
    assert recovery_percent(Decimal(1), Decimal(0)) is None
    assert relative_percent_difference(Decimal("1.1"), Decimal("0.9")) == 20
    assert relative_percent_difference(Decimal(1), Decimal(-1)) is None
    assert relative_percent_difference(Decimal(-1), Decimal(-2)) is None
