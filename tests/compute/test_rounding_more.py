"""Rounding: the room of a record, to the digit, and what is asked of the caller."""

from __future__ import annotations

from decimal import Decimal

import pytest

from benchseal.compute.rounding import TooManyDigitsError, reported, rounded_text


@pytest.mark.parametrize("value", ["12", "-12", "0.00012", "1.2e9"])
def test_fifty_significant_digits_have_room_and_one_more_has_not(value: str) -> None:
    text = rounded_text(Decimal(value), "half_up", significant=50)
    assert Decimal(text) == Decimal(value)
    assert len(text.lstrip("-0.").replace(".", "")) == 50
    with pytest.raises(TooManyDigitsError):
        rounded_text(Decimal(value), "half_up", significant=51)


def test_fifty_digits_by_places_have_room_and_one_more_has_not() -> None:
    assert rounded_text(Decimal(12), "half_up", decimals=48) == f"12.{'0' * 48}"
    with pytest.raises(TooManyDigitsError):
        rounded_text(Decimal(12), "half_up", decimals=49)


def test_a_value_too_long_beside_its_uncertainty_is_refused() -> None:
    with pytest.raises(TooManyDigitsError):
        reported(Decimal(10) ** 40, Decimal("1e-20"), "half_up")
    with pytest.raises(TooManyDigitsError):
        reported(Decimal(1), Decimal(10) ** 30, "half_up", decimals=20)


@pytest.mark.parametrize("kept", [{}, {"decimals": 1, "significant": 1}])
def test_places_or_digits_are_given_and_not_both(kept: dict[str, int]) -> None:
    with pytest.raises(AssertionError, match="one of them"):
        rounded_text(Decimal(1), "half_up", **kept)
