"""One addition of known amount, and what the slope of several additions says of the external calibration."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.run_numbers import fraction_of, record_text

if TYPE_CHECKING:
    from benchseal.compute.fit import Fit

NoSingle: TypeAlias = Literal["addition_not_seen"]
LARGEST_MATRIX_EFFECT = Fraction(1, 10)  # common practice, no source


@dataclass(frozen=True, slots=True)
class Spiked:
    """Two equal aliquots, or a standard uncertainty of each figure.

    signal_with, signal_without: blank-corrected signals with and without the addition. added_ml of a standard of
    concentration ``added`` went into one, as much of blank solution into the other; sample_ml: sample in each.
    """

    signal_with: float
    signal_without: float
    added_ml: float
    added: float
    sample_ml: float


def single_addition(of: Spiked, u: Spiked) -> tuple[float, float] | NoSingle:
    """Concentration of the sample, in the unit of ``of.added``, and its standard uncertainty. EPA 7000B, 9.10.1.

    C_x = S_B V_S C_S/((S_A - S_B) V_x); volumes and concentration above zero. Derivatives are exact, inputs
    independent (JCGM 100, 5.1.2). A signal below the blank keeps its sign.
    """
    rise = of.signal_with - of.signal_without
    if rise <= 0:
        return "addition_not_seen"
    amount = of.added_ml * of.added / of.sample_ml
    value = of.signal_without / rise * amount
    parts = (
        value / rise * u.signal_with,
        of.signal_with / rise * (amount / rise) * u.signal_without,
        value / of.added_ml * u.added_ml,
        value / of.added * u.added,
        value / of.sample_ml * u.sample_ml,
    )
    total = 0.0
    for part in parts:
        total = total + part * part
    return value, sqrt(total)


def correlation(line: Fit) -> tuple[float, float] | None:
    """Correlation coefficient and its square of one unweighted line; None where all y are equal."""
    squared = float(line.r_squared[0])
    if not squared <= 1:
        return None
    squared = max(squared, 0.0)
    rising = float(line.coefficients[1, 0]) >= 0
    return (sqrt(squared) if rising else -sqrt(squared)), squared


def external_unsafe(slope_ratio: float) -> bool:
    """Whether the slopes differ by more than 10 %, judged on the value of record. Common practice, no source."""
    return abs(fraction_of(record_text(slope_ratio)) - 1) > LARGEST_MATRIX_EFFECT
