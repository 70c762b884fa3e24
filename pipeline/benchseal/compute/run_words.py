"""Words of the run calculation: how sentences name checks and limits."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.run_numbers import shown_against
from benchseal.records.quantities import PlainDecimal, unit_shown

if TYPE_CHECKING:
    from benchseal.records.method import CheckKind
    from benchseal.records.results import Calibration

CHECK_NAMES: dict[CheckKind, str] = {
    "second_source": "Second-source standard",
    "check_standard": "Check standard",
    "check_blank": "Check blank",
    "method_blank": "Method blank",
    "control_sample": "Control sample",
    "reference_material": "Reference material",
    "spike": "Spiked sample",
    "portions_agree": "Agreement of portions",
    "lowest_level": "Lowest-level standard",
    "post_spike": "Sample spiked after preparation",
    "spikes_agree": "Agreement of spiked portions",
    "dilution_test": "Dilution test",
    "return_to_zero": "Return to zero",
    "sensitivity": "Sensitivity",
    "acid_match": "Acid content",
}
_NO_SCATTER = Decimal("1e-12")  # of the largest signal: what rounding alone leaves of a residual


def slope_undetermined(calibration: Calibration) -> bool:
    """Whether the curve's rise at zero is no more than rounding leaves when all readings are equal."""
    coefficients = calibration.coefficients
    slope = coefficients[0 if len(coefficients) == 1 else 1]
    return not slope or abs(Decimal(slope) * Decimal(calibration.highest)) <= _NO_SCATTER * _largest(calibration)


def residual_words(calibration: Calibration, sd: str, name: str = "residual sd") -> str:
    """``residual sd 0.00021 A``; weighted, its unit is not that of the signal, so it is named and has none.

    sd: the record's residual standard deviation as it is to be shown.
    """
    weighted = calibration.weighting != "none"
    name = f"weighted {name}" if weighted else name
    if not calibration.residual_sd:
        return f"{name} not defined"
    if Decimal(calibration.residual_sd) <= _NO_SCATTER * _largest(calibration):
        return f"{name} 0, no scatter beyond rounding"
    return f"{name} {sd}" if weighted else f"{name} {sd} {calibration.signal_unit}"


def _largest(calibration: Calibration) -> Decimal:
    return max((abs(Decimal(level.mean_signal)) for level in calibration.levels), default=Decimal(0))


@dataclass(frozen=True, slots=True)
class Against:
    """A number found and the interval it is held against; an empty side is open."""

    found: PlainDecimal
    low: PlainDecimal
    high: PlainDecimal
    unit: str

    @property
    def inside(self) -> bool:
        """Whether the number found lies in the interval, both ends included."""
        value = Decimal(self.found)
        return (not self.low or value >= Decimal(self.low)) and (not self.high or value <= Decimal(self.high))

    @property
    def limits(self) -> str:
        """``limit 90 to 110 %``; an open side is left out."""
        tail = f" {unit_shown(self.unit)}" if self.unit else ""
        if self.low and self.high:
            return f"limit {self.low} to {self.high}{tail}"
        return f"limit at most {self.high}{tail}" if self.high else f"limit at least {self.low}{tail}"

    @property
    def words(self) -> str:
        """``87.1 %; limit 90 to 110 %``, with digits enough to see the side of the limit."""
        tail = f" {unit_shown(self.unit)}" if self.unit else ""
        return f"{shown_against(self.found, self.low, self.high)}{tail}; {self.limits}"
