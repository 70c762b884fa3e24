"""Rounding of values of record: once, in decimal digits, by a named rule."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.records.quantities import (
    PlainDecimal,
    RoundingMode,
    plain,
    round_to_decimals,
    round_to_significant,
    round_up_to_decimals,
)

if TYPE_CHECKING:
    from decimal import Decimal

MOST_DIGITS = 50


@dataclass(frozen=True, slots=True)
class Reported:
    """What is printed: the value and its expanded uncertainty, to the same place."""

    value_text: PlainDecimal
    expanded_text: PlainDecimal
    decimals: int


def rounded_text(
    value: Decimal, mode: RoundingMode, *, decimals: int | None = None, significant: int | None = None
) -> PlainDecimal:
    """Text of ``value`` rounded once to ``decimals`` places or to ``significant`` digits (exactly one is given).

    Raises ValueError where more than 50 digits would be written.
    """
    if (decimals is None) == (significant is None):
        raise AssertionError("decimals or significant digits, one of them")
    if decimals is not None:
        require_room(value, decimals)
        return plain(round_to_decimals(value, decimals, mode))
    assert significant is not None  # noqa: S101  narrows for the type checker; excluded above
    if value == 0:
        return plain(round_to_decimals(value, significant - 1, mode))
    require_room(value, significant - 1 - value.adjusted())
    return plain(round_to_significant(value, significant, mode))


def places_of_uncertainty(expanded: Decimal) -> int:
    """Decimal places at which ``expanded`` > 0, rounded up, keeps two significant digits; negative for tens."""
    decimals = 1 - expanded.adjusted()
    raised = round_up_to_decimals(expanded, decimals)
    return decimals - 1 if raised.adjusted() > expanded.adjusted() else decimals


def reported(value: Decimal, expanded: Decimal, mode: RoundingMode, *, decimals: int | None = None) -> Reported:
    """Value and expanded uncertainty to one place: that of the specification if given, else from U.

    U is rounded up, so that it is never understated (common practice, no source). Raises ValueError for U not
    above zero where the place comes from U, for a negative U, and beyond 50 digits.
    """
    if expanded < 0 or (decimals is None and expanded == 0):
        raise ValueError("the expanded uncertainty must be above zero")
    places = places_of_uncertainty(expanded) if decimals is None else decimals
    require_room(value, places)
    require_room(expanded, places)
    return Reported(
        plain(round_to_decimals(value, places, mode)), plain(round_up_to_decimals(expanded, places)), places
    )


class TooManyDigitsError(ValueError):
    """A text of more digits would be written than a record holds."""


def require_room(value: Decimal, decimals: int) -> None:
    """Raises TooManyDigitsError where ``value`` at ``decimals`` places has more than 50 digits."""
    if value.adjusted() + 1 + decimals > MOST_DIGITS:
        raise TooManyDigitsError(f"more than {MOST_DIGITS} digits")
