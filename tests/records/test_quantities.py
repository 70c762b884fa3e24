"""Decimal text, rounding and units."""

from __future__ import annotations

import csv
import json
import math
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.records.quantities import (
    RoundingMode,
    decimal_of,
    decimals_of,
    is_plain_decimal,
    known_units,
    plain,
    round_to_decimals,
    round_to_significant,
    round_up_to_decimals,
    ucum_code,
    unit_factor,
    unit_shown,
    value_of_record,
)

_DECIMALS = st.decimals(-(10**9), 10**9, places=6)
_WIDE = Context(prec=80)
PUBLISHED = Path(__file__).parents[2] / "fixtures" / "published"


@pytest.mark.parametrize(
    ("text", "decimals", "mode", "rounded"),
    [
        # Half up on the decimal digits, away from zero for negatives: USP General Notices 7.20 (secondary quote).
        pytest.param("98.45", 1, "half_up", "98.5", id="half goes up"),
        pytest.param("-0.25", 1, "half_up", "-0.3", id="negative half goes away from zero"),
        pytest.param("0.3347", 2, "half_up", "0.33", id="once, not by way of 0.335"),
        pytest.param("89.96", 1, "half_up", "90.0", id="digits carry"),
        # To the even digit: ISO 80000-1 rule A (from memory).
        pytest.param("0.25", 1, "half_even", "0.2", id="half to even, down"),
        pytest.param("0.35", 1, "half_even", "0.4", id="half to even, up"),
        pytest.param("2.675", 2, "half_even", "2.68", id="no binary float hides below the half"),
        pytest.param("1250", -2, "half_even", "1.2E+3", id="places before the point"),
    ],
)
def test_rounding(text: str, decimals: int, mode: RoundingMode, rounded: str) -> None:
    assert str(round_to_decimals(Decimal(text), decimals, mode)) == rounded


@given(_DECIMALS, st.integers(0, 5), st.sampled_from(["half_up", "half_even"]))
def test_rounding_is_that_of_decimal(value: Decimal, decimals: int, mode: RoundingMode) -> None:
    how = ROUND_HALF_UP if mode == "half_up" else ROUND_HALF_EVEN
    assert round_to_decimals(value, decimals, mode) == value.quantize(
        Decimal(10) ** -decimals, rounding=how, context=_WIDE
    )
    assert abs(round_to_decimals(value, decimals, mode) - value) <= Decimal("0.5").scaleb(-decimals)


@given(_DECIMALS, st.integers(0, 5))
def test_rounding_up_never_goes_down(value: Decimal, decimals: int) -> None:
    rounded = round_up_to_decimals(value, decimals)
    assert 0 <= rounded - value < Decimal(1).scaleb(-decimals)


@given(_DECIMALS.filter(bool), st.integers(1, 6))
def test_significant_digits(value: Decimal, digits: int) -> None:
    rounded = round_to_significant(value, digits, "half_up")
    assert len(rounded.as_tuple().digits) <= digits
    assert abs(rounded - value) <= Decimal("0.5").scaleb(value.adjusted() - digits + 1)


def test_significant_digits_that_carry() -> None:
    assert str(round_to_significant(Decimal("0.0999"), 2, "half_up")) == "0.10"


_NOT_PLAIN = (
    "",
    "1.",
    ".5",
    "+1",
    "1e3",
    "0,5",
    "NaN",
    "inf",
    "1_0",
    "\u0661",
    " 1",
    "1\n",
    "0x1",
    "-",
    "1" * 65,
)


@pytest.mark.parametrize("text", _NOT_PLAIN)
def test_not_plain_decimal_text(text: str) -> None:
    assert not is_plain_decimal(text)
    with pytest.raises(ValueError, match="plain decimal"):
        decimal_of(text)


@given(_DECIMALS)
def test_plain_text_keeps_value_and_digits(value: Decimal) -> None:
    text = plain(value)
    assert is_plain_decimal(text)
    assert decimal_of(text) == value
    assert decimals_of(text) == 6


def test_plain_has_no_negative_zero() -> None:
    assert plain(Decimal("-0.00")) == "0.00"


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=1e-30, max_value=1e30))
def test_value_of_record_has_twelve_digits(value: float) -> None:
    text = value_of_record(value)
    assert is_plain_decimal(text)
    assert math.isclose(float(text), value, rel_tol=5.1e-12)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_value_of_record(value: float) -> None:
    with pytest.raises(ValueError, match="number of record"):
        value_of_record(value)


@pytest.mark.parametrize(
    ("unit", "to", "factor"),
    [
        # Powers of ten of the SI prefixes.
        ("ug/L", "mg/L", Fraction(1, 1000)),
        ("ug/g", "mg/kg", Fraction(1)),
        ("mg/m2", "mg/dm2", Fraction(1, 100)),
        ("mg/mL", "ng/mL", Fraction(10**6)),
        ("%", "mg/kg", Fraction(10000)),
        ("ug/dL", "ug/L", Fraction(10)),
    ],
)
def test_unit_factors(unit: str, to: str, factor: Fraction) -> None:
    assert unit_factor(unit, to) == factor
    assert unit_factor(to, unit) == 1 / factor


def ucum_atoms() -> dict[str, dict[str, str]]:
    """UCUM's prefixes and atoms, kind to code to value."""
    found: dict[str, dict[str, str]] = {}
    with (PUBLISHED / "ucum_atoms.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            found.setdefault(row["kind"], {})[row["code"]] = f"{row['value']} {row['unit']}".strip()
    return found


def in_base_units(code: str) -> Fraction:
    """A UCUM code of the forms ``mg/dm2``, ``%`` in metres, grams and seconds, from prefixes and atoms alone."""
    if "/" in code:
        over, under = code.split("/")
        return in_base_units(over) / in_base_units(under)
    if code.endswith("2"):
        return in_base_units(code[:-1]) ** 2
    atoms = ucum_atoms()
    whole = atoms["base"] | atoms["unit"] | atoms["metric"]
    if code in whole:
        number, _, unit = whole[code].partition(" ")
        if unit == "dm3":
            return Fraction(number) * in_base_units("dm") ** 3
        return Fraction(number) * (in_base_units(unit) if unit not in {"", "1"} else 1)
    return Fraction(atoms["prefix"][code[0]]) * in_base_units(code[1:])


@pytest.mark.parametrize("unit", known_units())
@pytest.mark.parametrize("to", known_units())
def test_every_factor_follows_from_the_prefixes_and_atoms_of_ucum(unit: str, to: str) -> None:
    try:
        factor = unit_factor(unit, to)
    except ValueError:
        return
    assert factor == in_base_units(ucum_code(unit)) / in_base_units(ucum_code(to))


def test_codes_are_those_of_the_table() -> None:
    """fixtures/published/units_ucum.csv, from memory as its SOURCE.md says."""
    ours = {"ug/day": "ug/d", "mg/day": "mg/d"}  # the display form with the word
    with (PUBLISHED / "units_ucum.csv").open(encoding="utf-8", newline="") as lines:
        rows = [(ours.get(row["display"], row["display"]), row["ucum"]) for row in csv.DictReader(lines)]
    assert len(rows) > 20
    for unit, code in rows:
        if unit in {"ppm", "ppb", "umol/L"}:
            with pytest.raises(ValueError, match="no unit of this program"):
                ucum_code(unit)
        else:
            assert ucum_code(unit) == code
    assert ucum_code("A.s") == ucum_code("A s") == "s"


@pytest.mark.parametrize("name", ["specification", "run-work", "evidence"])
def test_schemas_know_the_units_results_can_have(name: str) -> None:
    """Of every kind but volumes, which no result is reported in."""
    reported = {unit for unit in known_units() if unit not in {"mL", "uL", "L", "kg", "pg"}} - {"ng/d"}
    schema = json.loads((PUBLISHED.parents[1] / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8"))
    of = schema["$defs"]["Requirement" if name == "specification" else "WorkedResult"]
    assert set(of["properties"]["unit"]["enum"]) == reported


@pytest.mark.parametrize(("unit", "to"), [("mg/L", "mg/kg"), ("mg", "%"), ("ppm", "mg/L"), ("mL", "mg")])
def test_units_of_another_kind(unit: str, to: str) -> None:
    with pytest.raises(ValueError, match="cannot"):
        unit_factor(unit, to)


def test_units_as_shown() -> None:
    assert unit_shown("ug/g") == "µg/g"
    assert unit_shown("mg/dm2") == "mg/dm²"
    assert unit_shown("ug/d") == "µg/day"
    assert all(unit.isascii() for unit in known_units())
