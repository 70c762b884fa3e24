"""Roots of sums of squares, of numbers of any size."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.compute.arrays import root_of_squares, square


@pytest.mark.parametrize(
    ("values", "root"),
    [
        pytest.param((), 0.0, id="none"),
        pytest.param((0.0, 0.0), 0.0, id="zeros"),
        pytest.param((3.0, 4.0), 5.0, id="Pythagoras"),
        pytest.param((-3.0, 4.0), 5.0, id="a sign is nothing"),
        pytest.param((3e200, 4e200), 5e200, id="squares above any float"),
        pytest.param((3e-200, 4e-200), 5e-200, id="squares below any float"),
        pytest.param((1.7e308, 1.7e308), math.inf, id="a root above any float"),
        pytest.param((1.0, math.inf), math.inf, id="infinite"),
        pytest.param((5e-324,), 5e-324, id="the smallest float"),
    ],
)
def test_roots(values: tuple[float, ...], root: float) -> None:
    assert root_of_squares(values) == pytest.approx(root, rel=1e-15)


@given(st.lists(st.floats(-1e150, 1e150).filter(lambda one: one == 0 or abs(one) > 1e-140), max_size=8))
def test_a_root_of_middling_numbers_is_that_of_exact_arithmetic(values: list[float]) -> None:
    exact = math.sqrt(sum((Fraction(one) ** 2 for one in values), Fraction(0)))
    assert root_of_squares(values) == pytest.approx(exact, rel=4e-15)


def test_a_square_too_large_is_infinite() -> None:
    assert square(1e200) == math.inf
    assert square(-3.0) == 9.0
