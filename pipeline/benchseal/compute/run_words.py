"""Words of the run calculation: how sentences name checks and limits."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.run_numbers import shown_against
from benchseal.records.quantities import PlainDecimal, unit_shown

if TYPE_CHECKING:
    from benchseal.records.method import CheckKind

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
