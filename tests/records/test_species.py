"""Formulas and factors from an element to a substance; atomic weights against the copied table."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.records.elements import ELEMENT_NAMES
from benchseal.records.quantities import is_plain_decimal
from benchseal.records.species import ATOMIC_WEIGHTS, atoms_in, expression_factor, molar_mass

TABLE = Path(__file__).parents[2] / "fixtures" / "published" / "atomic_weights.csv"
FROM_MEMORY = {"Br", "I"}


def test_atomic_weights_are_those_of_the_published_table() -> None:
    """CIAAW 2021: conventional values where it gives an interval; SOURCE.md says how each was confirmed."""
    with TABLE.open(encoding="utf-8", newline="") as lines:
        published = {row["element"]: Fraction(row["conventional_value"]) for row in csv.DictReader(lines)}
    assert {symbol: Fraction(text) for symbol, text in ATOMIC_WEIGHTS.items() if symbol not in FROM_MEMORY} == published
    assert all(is_plain_decimal(text) for text in ATOMIC_WEIGHTS.values())


def test_every_element_that_can_be_measured_has_a_weight() -> None:
    assert set(ELEMENT_NAMES) <= set(ATOMIC_WEIGHTS)


@pytest.mark.parametrize(
    ("formula", "atoms"),
    [
        pytest.param("CaCO3", {"Ca": 1, "C": 1, "O": 3}, id="C is not Ca"),
        pytest.param("CoCO3", {"Co": 1, "C": 1, "O": 3}, id="Co is not C and O"),
        pytest.param("Fe2O3", {"Fe": 2, "O": 3}, id="two of the element"),
        pytest.param("Pb(NO3)2", {"Pb": 1, "N": 2, "O": 6}, id="a bracket counted"),
        pytest.param("Mg3(PO4)2(OH)", {"Mg": 3, "P": 2, "O": 9, "H": 1}, id="a bracket counted once"),
        pytest.param("K(Al(SO4)2)", {"K": 1, "Al": 1, "S": 2, "O": 8}, id="brackets in brackets"),
        pytest.param("C6H12O6", {"C": 6, "H": 12, "O": 6}, id="a count of two figures"),
        pytest.param("CH3COOH", {"C": 2, "H": 4, "O": 2}, id="an element named twice"),
    ],
)
def test_atoms_of_a_formula(formula: str, atoms: dict[str, int]) -> None:
    assert atoms_in(formula) == atoms


@pytest.mark.parametrize(
    ("formula", "words"),
    [
        pytest.param("", "1 to 40 signs", id="nothing"),
        pytest.param("Ca" * 21, "1 to 40 signs", id="too long"),
        pytest.param("CaCO3*H2O", "no meaning", id="a sign of crystal water"),
        pytest.param("Ca CO3", "no meaning", id="a blank"),
        pytest.param("caCO3", "no meaning", id="a small letter first"),
        pytest.param("CaCO\u0663", "no meaning", id="a figure of another script"),
        pytest.param("Xx2O3", "no atomic weight is tabled for Xx", id="no such element"),
        pytest.param("CaCO0", "a count is 2 to 999, not 0", id="none of it"),
        pytest.param("Ca1O", "not 1", id="a count of one"),
        pytest.param("CaCO03", "not 03", id="a leading zero"),
        pytest.param("CaO1000", "not 1000", id="a large count"),
        pytest.param("CaCO" + "9" * 30, "a count is 2 to 999", id="a very large count"),
        pytest.param("2CaO", "follows no element", id="a count in front"),
        pytest.param("Ca(2OH)", "follows no element", id="a count after an opening bracket"),
        pytest.param("Pb(NO3", "does not close", id="open bracket"),
        pytest.param("PbNO3)2", "nothing is open", id="closing bracket"),
        pytest.param("Pb()2", "empty", id="empty bracket"),
    ],
)
def test_a_formula_that_cannot_be_read(formula: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        atoms_in(formula)


@pytest.mark.parametrize(
    ("formula", "element", "factor"),
    [
        # The factors of gravimetry tables, as every textbook prints them (from memory).
        ("CaCO3", "Ca", "2.497"),
        ("CaO", "Ca", "1.399"),
        ("Fe2O3", "Fe", "1.430"),
        ("MgO", "Mg", "1.658"),
        ("P2O5", "P", "2.291"),
        ("K2O", "K", "1.205"),
        ("Na2O", "Na", "1.348"),
        ("SiO2", "Si", "2.139"),
        ("NaCl", "Na", "2.542"),
    ],
)
def test_factors_as_tables_print_them(formula: str, element: str, factor: str) -> None:
    assert f"{float(expression_factor(formula, element)):.3f}" == factor


def test_a_factor_is_exact() -> None:
    assert expression_factor("CaCO3", "Ca") == Fraction("100.086") / Fraction("40.078")
    assert molar_mass("Fe2O3") == Fraction("159.687")
    assert expression_factor("Fe2O3", "Fe") == Fraction("159.687") / (2 * Fraction("55.845"))


@pytest.mark.parametrize(
    ("formula", "element", "words"),
    [
        pytest.param("CaCO3", "Mg", "CaCO3 holds no Mg", id="another element"),
        pytest.param("CoO", "C", "holds no C", id="a letter of another symbol"),
        pytest.param("Pb", "Pb", "the element itself", id="the element"),
        pytest.param("Hg2", "Hg", "the element itself", id="two atoms of it"),
    ],
)
def test_a_substance_that_does_not_fit_its_element(formula: str, element: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        expression_factor(formula, element)


@given(st.sampled_from(sorted(ATOMIC_WEIGHTS)), st.sampled_from(sorted(ATOMIC_WEIGHTS)), st.integers(2, 999))
def test_the_mass_parts_of_a_substance_make_it_whole(one: str, other: str, count: int) -> None:
    if one == other:
        return
    formula = f"{one}({other}){count}"
    parts = 1 / expression_factor(formula, one) + 1 / expression_factor(formula, other)
    assert parts == 1
    assert molar_mass(f"({formula})3") == 3 * molar_mass(formula)


@given(st.text("CaOH()23x ", max_size=12))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        atoms = atoms_in(text)
    except ValueError:
        return
    assert atoms
    assert all(count > 0 for count in atoms.values())
