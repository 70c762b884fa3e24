"""Atomic weights and unit codes as their standards print them. What the program makes of them: tests/records."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from benchseal.records.elements import ELEMENT_NAMES
from benchseal.records.quantities import decimals_of, known_units, ucum_code
from benchseal.records.species import ATOMIC_WEIGHTS, expression_factor, molar_mass

from .published import table

WEIGHTS = table("atomic_weights")


@pytest.mark.parametrize("row", WEIGHTS, ids=lambda row: row["element"])
def test_a_conventional_atomic_weight_is_the_standard_one_or_lies_in_its_interval(row: dict[str, str]) -> None:
    """CIAAW, standard atomic weights 2021; conventional values of IUPAC for the elements given as intervals.

    A conventional value is rounded: it lies between the ends rounded to its places (15.999, 204.38).
    """
    standard, value = row["standard_2021"], Fraction(row["conventional_value"])
    assert Fraction(ATOMIC_WEIGHTS[row["element"]]) == value
    interval = re.fullmatch(r"\[([0-9.]+), ([0-9.]+)\]", standard)
    if interval is not None:
        half_a_place = Fraction(1, 2 * 10 ** decimals_of(row["conventional_value"]))
        assert Fraction(interval[1]) - half_a_place <= value <= Fraction(interval[2]) + half_a_place
        return
    printed = re.fullmatch(r"([0-9.]+)\([0-9]+\)", standard)
    assert printed is not None
    assert row["conventional_value"] == printed[1]


def test_atomic_weights_of_all_measured_elements_in_the_order_of_atomic_number() -> None:
    assert set(ELEMENT_NAMES) <= {row["element"] for row in WEIGHTS}
    numbers = [int(row["atomic_number"]) for row in WEIGHTS]
    assert numbers == sorted(set(numbers))
    assert {row["confirmed"] for row in WEIGHTS if int(row["atomic_number"]) <= 52} == {"yes"}


@pytest.mark.parametrize(
    ("formula", "element", "grams_per_mole", "factor"),
    [
        pytest.param("CaCO3", "Ca", "100.086", "2.4973", id="calcium carbonate"),
        pytest.param("As2O3", "As", "197.840", "1.3203", id="arsenic trioxide"),
        pytest.param("ZnO", "Zn", "81.379", "1.2447", id="zinc oxide"),
        pytest.param("K2O", "K", "94.196", "1.2046", id="potassium oxide"),
    ],
)
def test_factors_of_common_tables(formula: str, element: str, grams_per_mole: str, factor: str) -> None:
    """Gravimetric factors as handbooks print them (from memory), to their last printed place."""
    assert abs(molar_mass(formula) - Fraction(grams_per_mole)) < Fraction(2, 1000)
    assert abs(expression_factor(formula, element) - Fraction(factor)) < Fraction(1, 10000)


def test_every_unit_of_the_program_has_a_code_of_letters_ucum_defines() -> None:
    """Prefix, atom and exponent of each part; UCUM knows no other letters here."""
    atoms = table("ucum_atoms")
    prefixes = "|".join(row["code"] for row in atoms if row["kind"] == "prefix")
    metric = "|".join(row["code"] for row in atoms if row["kind"] in {"base", "metric"})
    other = "|".join(re.escape(row["code"]) for row in atoms if row["kind"] == "unit")
    part = rf"(?:(?:{prefixes})?(?:{metric})[23]?|{other}|1)"
    code = re.compile(rf"{part}(?:/{part})?")
    for unit in known_units():
        assert code.fullmatch(ucum_code(unit)), unit
    for wrong in ("ppm", "mg/kG", "ug/day", "mcg/g", "kd"):
        assert code.fullmatch(wrong) is None
    assert all(code.fullmatch(row["ucum"]) for row in table("units_ucum"))
