"""Scores against a certified value: worked by hand, and what must hold whatever the numbers are."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.compute.scores import e_n_score, zeta_score

VALUES = st.decimals("-1000", "1000", places=4)
SIZES = st.decimals("0.0001", "100", places=4)
TINY = Fraction(1, 10**50)


@pytest.mark.parametrize(
    ("found", "certified", "zeta", "e_n"),
    [
        pytest.param(("10", "3"), ("5", "4"), "1", "0.5", id="three and four make five"),
        pytest.param(("5", "3"), ("10", "4"), "-1", "-0.5", id="below"),
        pytest.param(("1.30", "0.5"), ("0", "1.2"), "1", "0.5", id="five, twelve, thirteen"),
        pytest.param(("7", "0"), ("5", "1"), "2", "1", id="found without uncertainty"),
        pytest.param(("7", "1"), ("5", "0"), "2", "1", id="certified without uncertainty"),
        pytest.param(("5", "1"), ("5", "1"), "0", "0", id="equal"),
    ],
)
def test_scores_worked_by_hand(found: tuple[str, str], certified: tuple[str, str], zeta: str, e_n: str) -> None:
    """Formulas of ISO 13528 (from memory), on values and u whose roots are whole."""
    asked = *map(Decimal, found), *map(Decimal, certified)
    assert zeta_score(*asked) == Decimal(zeta)
    assert e_n_score(*asked) == Decimal(e_n)


def test_without_any_uncertainty_there_is_no_score() -> None:
    assert zeta_score(Decimal(1), Decimal(0), Decimal(2), Decimal(0)) is None
    assert e_n_score(Decimal(1), Decimal(0), Decimal(2), Decimal(0)) is None


@given(VALUES, SIZES, VALUES, SIZES)
def test_the_square_of_a_score_is_the_ratio_of_squares(
    found: Decimal, u: Decimal, certified: Decimal, u_certified: Decimal
) -> None:
    score = zeta_score(found, u, certified, u_certified)
    e_n = e_n_score(found, u, certified, u_certified)
    assert score is not None
    assert e_n is not None
    due = Fraction(found - certified) ** 2 / (Fraction(u) ** 2 + Fraction(u_certified) ** 2)
    assert abs(Fraction(score) ** 2 - due) <= due * TINY
    assert abs(4 * Fraction(e_n) ** 2 - due) <= due * TINY
    assert (score > 0, e_n > 0) == (found > certified, found > certified)


@given(VALUES, SIZES, VALUES, SIZES)
def test_the_two_sides_are_equals(found: Decimal, u: Decimal, certified: Decimal, u_certified: Decimal) -> None:
    there, back = zeta_score(found, u, certified, u_certified), zeta_score(certified, u_certified, found, u)
    assert there is not None
    assert back is not None
    assert Fraction(there) == -Fraction(back)
