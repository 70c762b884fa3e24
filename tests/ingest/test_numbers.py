"""Number text of a file to plain decimal text."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.ingest.numbers import plain_number, remedy_of_mark, why_unreadable
from benchseal.records.quantities import is_plain_decimal


@pytest.mark.parametrize(
    ("text", "decimal_mark", "thousands_mark", "number"),
    [
        ("0.0500", ".", "", "0.0500"),
        ("-0.0012", ".", "", "-0.0012"),
        ("+0.5", ".", "", "0.5"),
        (".5", ".", "", "0.5"),
        ("-.5", ".", "", "-0.5"),
        ("0,123", ",", "", "0.123"),
        ("1.234,5", ",", ".", "1234.5"),
        ("12 345", ".", " ", "12345"),
        ("\N{MINUS SIGN}0.5", ".", "", "-0.5"),
        ("-0.0000", ".", "", "0.0000"),
        # Exponents become digits exactly.
        ("1.50E-3", ".", "", "0.00150"),
        ("1,5e+2", ",", "", "150"),
        ("2E3", ".", "", "2000"),
        ("9,2E-003", ",", "", "0.0092"),
        ("9.2E-003", ".", "", "0.0092"),
        ("1.5e+002", ".", "", "150"),
        ("1.234,5E-001", ",", ".", "123.45"),
        ("1E0001", ".", "", None),
        ("1E-100", ".", "", None),
        # Not numbers in this notation.
        ("1,5", ".", "", None),
        ("1.5", ",", "", None),
        ("0.123", ",", ".", None),
        ("1.23,4", ",", ".", None),
        ("1.2345", ",", ".", None),
        ("1.", ".", "", None),
        ("", ".", "", None),
        (".", ".", "", None),
        ("-", ".", "", None),
        ("+-1", ".", "", None),
        ("1 2", ".", "", None),
        ("1E", ".", "", None),
        ("1E999", ".", "", None),
        ("1E99", ".", "", None),
        ("NaN", ".", "", None),
        ("inf", ".", "", None),
        ("0x10", ".", "", None),
        ("1_000", ".", "", None),
        ("\u0661", ".", "", None),
        ("\uff11", ".", "", None),
        ("1\n", ".", "", None),
        ("9" * 65, ".", "", None),
        ("12,4O", ",", "", None),
    ],
)
def test_numbers(text: str, decimal_mark: str, thousands_mark: str, number: str | None) -> None:
    assert plain_number(text, decimal_mark, thousands_mark) == number


@given(st.decimals(-(10**6), 10**6, places=5), st.sampled_from(".,"))
def test_value_and_digits_are_kept(value: Decimal, mark: str) -> None:
    number = plain_number(f"{value:f}".replace(".", mark), mark)
    assert number is not None
    assert Decimal(number) == value
    assert len(number.partition(".")[2]) == 5


@given(
    st.text(st.sampled_from("0123456789.,eE+- '"), max_size=12), st.sampled_from(".,"), st.sampled_from(["", " ", "'"])
)
def test_whatever_is_read_is_plain_decimal_text(text: str, mark: str, thousands: str) -> None:
    number = plain_number(text, mark, thousands)
    assert number is None or is_plain_decimal(number)
    if number is not None:
        assert Decimal(text.replace(thousands or "_", "").replace(mark, ".")) == Decimal(number)


def test_the_likely_reason() -> None:
    assert "decimal mark ','" in why_unreadable("1,5", ".")
    assert why_unreadable("", ".") == "The cell is empty."
    assert "longer" in why_unreadable("9" * 70, ".")
    assert why_unreadable("ERR", ".") == ""
    assert "exponent" in why_unreadable("1E-100", ".")
    assert "exponent" in why_unreadable("1,5E-100", ",")
    assert why_unreadable("E", ".") == why_unreadable(".", ".") == ""


def test_the_other_decimal_mark_is_the_affair_of_the_layout() -> None:
    assert "decimal_mark '.'" in remedy_of_mark("0.0092", ",")
    assert "decimal_mark ','" in remedy_of_mark("1,5", ".")
    assert remedy_of_mark("ERR", ".") == remedy_of_mark("1E-100", ".") == ""


def test_an_empty_cell_and_a_ratio_are_not_exported_again_for_nothing() -> None:
    assert "no_dilution" in remedy_of_mark("", ".")
    assert remedy_of_mark("1:5", ".") == remedy_of_mark("1 / 5", ",")
    assert "factor" in remedy_of_mark("1:5", ".")
