"""Numbers of a run as the record holds them, and as sentences show them."""

from __future__ import annotations

from decimal import Context, Decimal
from fractions import Fraction
from math import isfinite
from typing import TYPE_CHECKING

from benchseal.compute.rounding import TooManyDigitsError
from benchseal.records.quantities import (
    SIGNIFICANT_DIGITS_OF_RECORD,
    PlainDecimal,
    is_plain_decimal,
    plain,
    round_to_decimals,
    round_to_significant,
    value_of_record,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

_WIDE = Context(prec=200)  # wider than any sum of record texts: the quotient's own rounding cannot show
_MOST_PLACES = 50  # keeps plain decimal text within its 64 characters


def record_text(value: float) -> PlainDecimal:
    """Value of record, or empty where there is no number; at most 50 places (round-off of perfect fits)."""
    if not isfinite(value):
        return ""
    return _within_bounds(value_of_record(value))


def decimal_text(value: Decimal) -> PlainDecimal:
    """A Decimal as value of record: rounded once to 12 significant digits."""
    if value == 0:
        return "0"
    return _within_bounds(plain(round_to_significant(value, SIGNIFICANT_DIGITS_OF_RECORD, "half_even")))


def exact_text(value: Fraction) -> PlainDecimal:
    """A ratio as plain decimal text: exact where it ends within 20 places, else the value of record."""
    scaled = value * 10**20
    if scaled.denominator != 1:
        return record_text(float(value))
    text = plain(Decimal(scaled.numerator).scaleb(-20))
    return (
        (text.rstrip("0").rstrip(".") if "." in text else text) if is_plain_decimal(text) else record_text(float(value))
    )


def fraction_of(text: PlainDecimal) -> Fraction:
    """Exact ratio of plain decimal text."""
    return Fraction(Decimal(text))


def ratio_text(value: Fraction) -> PlainDecimal:
    """A ratio as value of record: one division, one rounding."""
    return decimal_text(_WIDE.divide(Decimal(value.numerator), Decimal(value.denominator)))


def mean_text(values: Iterable[PlainDecimal]) -> PlainDecimal:
    """Mean of values of record, itself a value of record: exact sum, one division, one rounding."""
    numbers = [fraction_of(text) for text in values]
    return ratio_text(sum(numbers, Fraction(0)) / len(numbers))


def shown(text: PlainDecimal, digits: int = 4) -> str:
    """A number of record as sentences show it: at most ``digits`` significant, without trailing zeros."""
    value = Decimal(text)
    if value == 0:
        return "0"
    short = plain(round_to_significant(value, digits, "half_up"))
    return short.rstrip("0").rstrip(".") if "." in short else short


def shown_against(text: PlainDecimal, *limits: PlainDecimal) -> str:
    """As ``shown``, with as many digits as it takes to stand on the same side of each limit as the number itself."""
    value = Decimal(text)
    bounds = [Decimal(limit) for limit in limits if limit]
    for digits in range(4, SIGNIFICANT_DIGITS_OF_RECORD):
        short = Decimal(shown(text, digits))
        if all((short > bound) == (value > bound) and (short < bound) == (value < bound) for bound in bounds):
            return shown(text, digits)
    return text


def _within_bounds(text: PlainDecimal) -> PlainDecimal:
    """``text`` as it is, or at 50 places. Raises TooManyDigitsError for too many digits before the point."""
    if is_plain_decimal(text):
        return text
    if abs(Decimal(text)) >= 1:
        raise TooManyDigitsError("a record holds no number of more than 64 characters")
    return plain(round_to_decimals(Decimal(text), _MOST_PLACES, "half_even"))
