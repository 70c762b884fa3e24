"""Limits from a permitted daily exposure: divided by the daily dose, rounded down, never up."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Context, Decimal
from fractions import Fraction
from typing import Literal, TypeAlias

from benchseal.records.quantities import PlainDecimal, plain

NoPdeLimit: TypeAlias = Literal["rounds_to_zero", "too_many_digits"]
CONTROL_THRESHOLD = Fraction(3, 10)  # of the PDE: a threshold of the risk assessment, no limit (ICH Q3D)
OPTION_1_DOSE_G = 10
_MOST_DIGITS = 50


@dataclass(frozen=True, slots=True)
class RoundedDown:
    """A limit as it may be printed: its text never exceeds the exact value."""

    exact: Fraction
    text: PlainDecimal


def pde_limit(pde_ug_per_day: Fraction, dose_g_per_day: Fraction, decimals: int) -> RoundedDown | NoPdeLimit:
    """Limit in ug/g: PDE/dose (ICH Q3D), rounded down to ``decimals`` places: rounded up it would exceed the PDE."""
    return rounded_down(pde_ug_per_day / dose_g_per_day, decimals)


def rounded_down(exact: Fraction, decimals: int) -> RoundedDown | NoPdeLimit:
    """``exact`` > 0 cut at ``decimals`` places (0 or more); refused where nothing is left of it."""
    units = exact.numerator * 10**decimals // exact.denominator
    if units == 0:
        return "rounds_to_zero"
    if len(str(units)) > _MOST_DIGITS:
        return "too_many_digits"
    places = Decimal(units).scaleb(-decimals, context=Context(prec=_MOST_DIGITS, rounding=ROUND_FLOOR))
    return RoundedDown(exact, plain(places))
