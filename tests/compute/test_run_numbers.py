"""Numbers as records hold them and sentences show them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.compute.rounding import TooManyDigitsError
from benchseal.compute.run_numbers import decimal_text, exact_text, mean_text, record_text, shown, shown_against
from benchseal.records.quantities import is_plain_decimal

DECIMALS = st.decimals(-(10**9), 10**9, places=6).map(str)


@pytest.mark.parametrize("value", [nan, inf, -inf])
def test_no_number_is_empty_text(value: float) -> None:
    assert record_text(value) == ""


@given(st.floats(-1e40, 1e40, allow_nan=False))
def test_every_number_is_plain_decimal_text(value: float) -> None:
    """Round-off such as 1e-60 becomes zero at 50 places instead of text nothing can read."""
    assert is_plain_decimal(record_text(value))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        pytest.param(Fraction(20), "20", id="whole"),
        pytest.param(Fraction(5, 2), "2.5", id="ends"),
        pytest.param(Fraction(100, 3), "33.3333333333", id="does not end"),
        pytest.param(Fraction(100), "100", id="zeros of a whole number stay"),
        pytest.param(Fraction(0), "0", id="zero"),
    ],
)
def test_ratios_as_text(value: Fraction, text: str) -> None:
    assert exact_text(value) == text


@given(st.lists(DECIMALS, min_size=1, max_size=6))
def test_a_mean_is_exact_before_its_one_rounding(values: list[str]) -> None:
    exact = sum(map(Fraction, values), Fraction(0)) / len(values)
    found = Fraction(mean_text(values))
    assert abs(found - exact) <= abs(exact) / (2 * Fraction(10) ** 11)


@given(st.lists(DECIMALS, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_a_mean_does_not_depend_on_order(values: list[str], random: object) -> None:
    mixed = list(values)
    random.shuffle(mixed)  # type: ignore[attr-defined]
    assert mean_text(mixed) == mean_text(values)


def test_a_mean_of_halves_goes_to_the_even_digit_once() -> None:
    assert mean_text(["1.00000000000", "1.00000000001"]) == "1.00000000000"
    assert mean_text(["1.00000000001", "1.00000000002"]) == "1.00000000002"


@pytest.mark.parametrize(
    ("text", "limits", "words"),
    [
        pytest.param("87.0912345678", ("90", "110"), "87.09", id="far away"),
        pytest.param("110.000000001", ("90", "110"), "110.000000001", id="just beyond the limit shows it"),
        pytest.param("110.00000000000", ("90", "110"), "110", id="on the limit"),
        pytest.param("0.000", ("", "0.5"), "0", id="zero"),
        pytest.param("-0.0449999", ("-0.5", ""), "-0.045", id="small and negative"),
    ],
)
def test_a_number_is_shown_on_its_own_side_of_a_limit(text: str, limits: tuple[str, ...], words: str) -> None:
    assert shown_against(text, *limits) == words


@given(DECIMALS, DECIMALS)
def test_what_is_shown_never_changes_sides(text: str, limit: str) -> None:
    seen, value, bound = Decimal(shown_against(text, limit)), Decimal(text), Decimal(limit)
    assert (seen > bound) == (value > bound)
    assert (seen < bound) == (value < bound)


@given(DECIMALS)
def test_shown_keeps_four_digits(text: str) -> None:
    value = Decimal(text)
    assert abs(Decimal(shown(text)) - value) <= abs(value) * Decimal("0.0005")


def test_zero_is_plain() -> None:
    assert decimal_text(Decimal("-0.000")) == "0"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        pytest.param(1e-39, f"0.{'0' * 38}1{'0' * 11}", id="twelve digits end at the fiftieth place"),
        pytest.param(1.23456789012e-40, f"0.{'0' * 39}123456789012", id="and go one further where text has room"),
        pytest.param(1.23456789012e-52, f"0.{'0' * 50}", id="what would be too long is cut at fifty places"),
        pytest.param(1.23456789012e50, "123456789012" + "0" * 39, id="large"),
    ],
)
def test_the_smallest_numbers_of_record(value: float, text: str) -> None:
    """Plain decimal text has at most 64 characters."""
    assert record_text(value) == text


def test_a_number_too_large_for_a_record_is_refused() -> None:
    assert len(record_text(9.99e63)) == 64
    with pytest.raises(TooManyDigitsError):
        record_text(1e64)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        pytest.param(Fraction(1, 10**20), f"0.{'0' * 19}1", id="ends at the twentieth place"),
        pytest.param(Fraction(1, 10**21), f"0.{'0' * 20}100000000000", id="one further is a value of record"),
        pytest.param(Fraction(10**63), "1" + "0" * 63, id="as long as text may be"),
        pytest.param(Fraction(10**43) + Fraction(1, 10**20), f"1{'0' * 43}", id="whole part and places too long"),
        pytest.param(Fraction(-5, 4), "-1.25", id="below zero"),
    ],
)
def test_ratios_at_the_ends_of_their_text(value: Fraction, text: str) -> None:
    assert exact_text(value) == text


@pytest.mark.parametrize(
    ("text", "digits", "words"),
    [
        ("0.00012345", 4, "0.0001235"),
        ("12345", 4, "12350"),
        ("1.5000", 4, "1.5"),
        ("1000", 4, "1000"),
        ("-0.000", 4, "0"),
        ("2.0000", 6, "2"),
        ("0.12345650", 6, "0.123457"),
    ],
)
def test_numbers_in_sentences(text: str, digits: int, words: str) -> None:
    """A half goes up."""
    assert shown(text, digits) == words
