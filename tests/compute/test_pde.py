"""Limits from a daily exposure: cut, never rounded up; nothing left and too much are refused."""

from __future__ import annotations

from fractions import Fraction

import pytest

from benchseal.compute.pde import RoundedDown, pde_limit, rounded_down


@pytest.mark.parametrize(
    ("exposure", "dose", "decimals", "text"),
    [
        pytest.param(5, 10, 1, "0.5", id="ends"),
        pytest.param(2, 3, 2, "0.66", id="cut, not rounded up"),
        pytest.param(5, 3, 0, "1", id="no places"),
        pytest.param(100, 1, 2, "100.00", id="places that hold nothing are kept"),
        pytest.param(1, 100, 2, "0.01", id="the last unit there is"),
    ],
)
def test_a_limit_is_cut(exposure: int, dose: int, decimals: int, text: str) -> None:
    found = pde_limit(Fraction(exposure), Fraction(dose), decimals)
    assert isinstance(found, RoundedDown)
    assert (found.text, found.exact) == (text, Fraction(exposure, dose))


def test_less_than_a_unit_of_the_last_place_is_nothing() -> None:
    assert rounded_down(Fraction(99, 10_000), 2) == "rounds_to_zero"
    assert isinstance(rounded_down(Fraction(1, 100), 2), RoundedDown)


@pytest.mark.parametrize("decimals", [0, 3])
def test_fifty_digits_are_written_and_one_more_is_refused(decimals: int) -> None:
    most = rounded_down(Fraction(10**50 - 1, 10**decimals), decimals)
    assert isinstance(most, RoundedDown)
    assert most.text.replace(".", "") == "9" * 50
    assert rounded_down(Fraction(10**50, 10**decimals), decimals) == "too_many_digits"
