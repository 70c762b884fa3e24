"""Characteristic concentration and mass, and whether a check absorbs what its own history expects. Exact."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

NoCharacteristic: TypeAlias = Literal["no_signal"]
ONE_PERCENT = Fraction("0.0044")  # -log10(0.99) = 0.004365, taken as 0.0044 (IUPAC, from memory)
LEAST_HISTORY = 3  # common practice, no source
PG_PER_MG_PER_L_UL = 1000  # mg/L x uL = ng


def characteristic_concentration(concentration: Fraction, absorbance: Fraction) -> Fraction | NoCharacteristic:
    """Concentration that absorbs 1 %: 0.0044 c/A, in the unit of c, for a standard in the linear range."""
    return ONE_PERCENT * concentration / absorbance if absorbance > 0 else "no_signal"


def characteristic_mass_pg(
    mg_per_l: Fraction, absorbance: Fraction, volume_ul: Fraction
) -> Fraction | NoCharacteristic:
    """Mass that gives 0.0044 A, or 0.0044 A s integrated, in pg: 0.0044 V c/A (furnace; IUPAC, from memory)."""
    found = characteristic_concentration(mg_per_l, absorbance)
    return found if isinstance(found, str) else found * volume_ul * PG_PER_MG_PER_L_UL


@dataclass(frozen=True, slots=True)
class Expected:
    """What the history expects of a check, and how the measured absorbance stands to it."""

    history: Fraction
    absorbance: Fraction
    ratio: Fraction

    def within(self, window: Fraction) -> bool:
        """Whether measured/expected lies from 1 - window to 1 + window."""
        return abs(self.ratio - 1) <= window


def expected(today: Fraction, absorbance: Fraction, history: Sequence[Fraction]) -> Expected | Literal["too_few"]:
    """Expected absorbance from the median of earlier characteristic figures of the same kind and unit as ``today``.

    Since each is 0.0044 c/A (times a volume), A_expected = A today/history, and measured/expected = history/today.
    The median, so that one bad day does not move it. History and today above zero.
    """
    if len(history) < LEAST_HISTORY:
        return "too_few"
    middle = _median(history)
    return Expected(middle, absorbance * today / middle, middle / today)


def _median(values: Sequence[Fraction]) -> Fraction:
    ordered = sorted(values)
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2
