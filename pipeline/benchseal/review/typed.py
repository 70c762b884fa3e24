"""Values typed by hand that a result rests on, and which of them a second person has to confirm (EU GMP Annex 11, 6).

A value is not typed where it came from a balance's own file, and needs nobody where a validated range check holds it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.preparation import Portion
    from benchseal.records.registers import StandardLot
    from benchseal.records.site_rules import TypedRange

_PLAIN = ("area_dm2", "unit_mass_g", "u_unit_mass_g", "volume_ml", "moisture_percent", "u_moisture_percent")
_OF_LOT = ("value", "u_percent", "prepared_as")


@dataclass(frozen=True, slots=True)
class TypedValue:
    """One typed value as a second person compares it with the original record."""

    name: str
    text: str

    def __str__(self) -> str:
        """``mass_g 1.0120``."""
        return f"{self.name} {self.text}"


def typed_in_portion(row: Portion, ranges: Sequence[TypedRange], *, weighed_by_file: bool) -> tuple[TypedValue, ...]:
    """Values of a preparation row that a second person has to look at; weighed_by_file: its mass is a balance's own."""
    found: list[TypedValue] = []
    if row.mass_g and not weighed_by_file and not _in_range("mass_g", row.mass_g, ranges):
        found.append(TypedValue("mass_g", row.mass_g))
    for name in _PLAIN:
        text = str(getattr(row, name))
        if text and not _in_range(name, text, ranges):
            found.append(TypedValue(name, text))
    found += _dilutions(row, ranges)
    for name, amounts in (("added_ug", row.added_ug), ("expected_ug_per_g", row.expected_ug_per_g),
                          ("u_expected_ug_per_g", row.u_expected_ug_per_g)):  # fmt: skip
        found += [TypedValue(name, f"{element} {amount}") for element, amount in amounts.items()]
    for element, tubes in row.additions.items():
        found.append(TypedValue("additions", f"{element} " + " ".join(f"{tube.label}={tube.added}" for tube in tubes)))
    return tuple(found)


def typed_in_lot(lot: StandardLot, ranges: Sequence[TypedRange]) -> tuple[TypedValue, ...]:
    """Values of a standard lot that a second person has to look at, the unit beside the value."""
    found = []
    for name in _OF_LOT:
        text = str(getattr(lot, name, ""))
        if text and not (name == "value" and _in_range("standard_value", text, ranges)):
            found.append(TypedValue(name, f"{text} {lot.unit}" if name != "u_percent" else text))
    return tuple(found)


def _dilutions(row: Portion, ranges: Sequence[TypedRange]) -> Iterator[TypedValue]:
    for element, steps in row.dilutions.items():
        if not all(_step_in_range(step.aliquot_ml, step.final_ml, ranges) for step in steps):
            yield TypedValue(
                "dilutions", f"{element} " + " ".join(f"{step.aliquot_ml}/{step.final_ml}" for step in steps)
            )


def _step_in_range(aliquot_ml: str, final_ml: str, ranges: Sequence[TypedRange]) -> bool:
    """Whether aliquot times low is at most final, and final at most aliquot times high: the factor, undivided."""
    aliquot, final = decimal_of(aliquot_ml), decimal_of(final_ml)
    return any(
        one.quantity == "dilution_factor" and aliquot * decimal_of(one.low) <= final <= aliquot * decimal_of(one.high)
        for one in ranges
    )


def _in_range(quantity: str, text: str, ranges: Sequence[TypedRange]) -> bool:
    return any(
        one.quantity == quantity and decimal_of(one.low) <= decimal_of(text) <= decimal_of(one.high) for one in ranges
    )
