"""Numbers as records hold them: decimal text, rounding by a named rule, units with exact factors."""

from __future__ import annotations

import re
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal, InvalidOperation
from fractions import Fraction
from functools import lru_cache
from typing import Literal, TypeAlias

PlainDecimal: TypeAlias = str  # -?digits[.digits], no exponent
RoundingMode: TypeAlias = Literal["half_up", "half_even"]

SIGNIFICANT_DIGITS_OF_RECORD = 12
_PLAIN = re.compile(r"-?[0-9]+(\.[0-9]+)?\Z")
_WIDE = Context(prec=60)
_MODE = {"half_up": ROUND_HALF_UP, "half_even": ROUND_HALF_EVEN}


def is_plain_decimal(text: str) -> bool:
    """Whether ``text`` is plain decimal text of at most 64 characters."""
    return len(text) <= 64 and _PLAIN.match(text) is not None


@lru_cache(maxsize=8192)
def decimal_of(text: str) -> Decimal:
    """Exact Decimal of plain decimal text. Raises ValueError for anything else."""
    if not is_plain_decimal(text):
        raise ValueError(f"{text!r} is not plain decimal text")
    return Decimal(text)


def plain(value: Decimal) -> PlainDecimal:
    """Plain decimal text of a finite Decimal; digits kept, no exponent, no negative zero."""
    if not value.is_finite():
        raise ValueError("not finite")
    text = f"{value:f}"
    return text.lstrip("-") if value == 0 else text


def value_of_record(value: float) -> PlainDecimal:
    """A computed number as it enters the record: 12 significant digits, as plain decimal text.

    Raises ValueError for NaN and infinities: a computation without a value has an outcome, not a number.
    """
    text = f"{value:.{SIGNIFICANT_DIGITS_OF_RECORD - 1}e}"
    try:
        return plain(Decimal(text))
    except (InvalidOperation, ValueError):
        raise ValueError(f"{value!r} is not a number of record") from None


def round_to_decimals(value: Decimal, decimals: int, mode: RoundingMode) -> Decimal:
    """``value`` rounded once to ``decimals`` places (may be negative).

    half_up goes away from zero at the half (USP General Notices 7.20, secondary quote); half_even goes to the
    even digit (ISO 80000-1 rule A, from memory).
    """
    return value.quantize(Decimal(1).scaleb(-decimals), rounding=_MODE[mode], context=_WIDE)


def round_to_significant(value: Decimal, digits: int, mode: RoundingMode) -> Decimal:
    """``value`` rounded once to ``digits`` significant digits; 0.0999 to two gives 0.10."""
    if value == 0:
        return Decimal(0)
    rounded = round_to_decimals(value, digits - 1 - value.adjusted(), mode)
    if rounded.adjusted() > value.adjusted():
        rounded = round_to_decimals(value, digits - 1 - rounded.adjusted(), mode)
    return rounded


def round_up_to_decimals(value: Decimal, decimals: int) -> Decimal:
    """``value`` rounded toward plus infinity, as U is shown (common practice, no source)."""
    return value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_CEILING, context=_WIDE)


def decimals_of(text: PlainDecimal) -> int:
    """Places after the point as printed: ``0.50`` has 2, ``10`` has 0."""
    return len(text.partition(".")[2])


# Factor to the first unit of each group. Codes are those of UCUM; tests take every factor from UCUM's prefixes and
# atoms. ``%`` is a mass fraction here; a percentage of claim is ``%`` too, and is never converted.
_GROUPS: tuple[dict[str, Fraction], ...] = (
    {"mg/L": Fraction(1), "ug/L": Fraction(1, 1000), "ng/L": Fraction(1, 10**6), "g/L": Fraction(1000),
     "mg/mL": Fraction(1000), "ug/mL": Fraction(1), "ng/mL": Fraction(1, 1000), "pg/mL": Fraction(1, 10**6),
     "ug/dL": Fraction(1, 100)},
    {"mg/kg": Fraction(1), "ug/g": Fraction(1), "ug/kg": Fraction(1, 1000), "ng/g": Fraction(1, 1000),
     "ng/kg": Fraction(1, 10**6), "mg/g": Fraction(1000), "g/kg": Fraction(1000), "%": Fraction(10000)},
    {"mg/dm2": Fraction(1), "ug/dm2": Fraction(1, 1000), "mg/m2": Fraction(1, 100), "ug/cm2": Fraction(1, 10)},
    {"mg": Fraction(1), "ug": Fraction(1, 1000), "ng": Fraction(1, 10**6), "pg": Fraction(1, 10**9),
     "g": Fraction(1000), "kg": Fraction(10**6)},
    {"mL": Fraction(1), "uL": Fraction(1, 1000), "L": Fraction(1000)},
    {"ug/d": Fraction(1), "ng/d": Fraction(1, 1000), "mg/d": Fraction(1000)},
)  # fmt: skip
# What is written otherwise than UCUM writes it: absorbance has no unit, its area that of time.
_UCUM = {"A": "1", "A.s": "s", "A s": "s", "nm": "nm"}
_SHOWN = {"ug": "µg", "uL": "µL", "dm2": "dm²", "cm2": "cm²", "m2": "m²", "d": "day"}


def unit_factor(unit: str, to: str) -> Fraction:
    """Exact factor from ``unit`` to the unit ``to``. Raises ValueError when they differ in kind."""
    for group in _GROUPS:
        if unit in group and to in group:
            return group[unit] / group[to]
    raise ValueError(f"{unit} cannot be turned into {to}")


def known_units() -> tuple[str, ...]:
    """Every unit code this version knows."""
    return tuple(unit for group in _GROUPS for unit in group)


def ucum_code(unit: str) -> str:
    """UCUM code of a unit of results, of a signal (``A`` is ``1``, ``A.s`` is ``s``) or of a wavelength.

    Raises ValueError for others, ``ppm`` among them: it does not say of what.
    """
    if unit in _UCUM:
        return _UCUM[unit]
    if unit not in known_units():
        raise ValueError(f"{unit} is no unit of this program")
    return unit


def unit_shown(unit: str) -> str:
    """The reader's form of a unit code: ``ug/g`` is shown as ``µg/g``."""
    return "/".join(_SHOWN.get(part, part) for part in unit.split("/"))
