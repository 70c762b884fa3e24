"""Rules of a preparation row: which cells are of which kind of portion, and which uncertainties can be meant."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.row_fault import RowFault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.preparation import Portion

SPIKED = {"spiked_sample", "post_spiked_sample"}
OF_A_SAMPLE = {"sample", "duplicate", *SPIKED}
_KINDS = {
    "added_ug": {*SPIKED, "control_sample"},
    "expected_ug_per_g": {"reference_material", "control_sample"},
    "u_expected_ug_per_g": {"reference_material", "control_sample"},
    "unit_mass_g": OF_A_SAMPLE,
    "u_unit_mass_g": OF_A_SAMPLE,
}


def kind_faults(nth: int, row: Portion) -> Iterator[RowFault]:
    """Cells filled in of a portion of a kind they say nothing of: the kind, or the cell, was typed in another row."""
    for column, kinds in _KINDS.items():
        if getattr(row, column) and row.kind not in kinds:
            what = f"A {row.kind} has no {column}; it is of {', '.join(sorted(kinds))}."
            yield RowFault(nth, column, "portion-cell-foreign", what, "Empty the cell, or correct the kind.")


def portion_uncertainty_faults(nth: int, row: Portion) -> Iterator[RowFault]:
    """Standard uncertainties above what they are of."""
    pairs = [("u_unit_mass_g", "", row.u_unit_mass_g, row.unit_mass_g)]
    pairs += [
        ("u_expected_ug_per_g", f" of {element}", u, row.expected_ug_per_g.get(element, ""))
        for element, u in row.u_expected_ug_per_g.items()
    ]
    for column, of, u, value in pairs:
        if u and value:
            yield from uncertainty_faults(nth, column, of, u, value)
        if u and column == "u_expected_ug_per_g":
            yield from zero_faults(nth, column, of, u)


def uncertainty_faults(nth: int, column: str, of: str, u: str, value: str) -> Iterator[RowFault]:
    """An uncertainty above its value: a figure slipped, or one of them is in another unit (common practice, no source).

    Values near zero may have such a one: of moisture it is not asked.
    """
    if decimal_of(u) > decimal_of(value) > 0:
        what = f"{column}{of} is {u}, more than the value itself, {value}."
        yield RowFault(nth, column, "uncertainty-large", what, "Look at the units and at the point; correct one.")


def zero_faults(nth: int, column: str, of: str, u: str) -> Iterator[RowFault]:
    """An uncertainty or a tolerance of zero: no certified value, no volume is exact (common practice, no source)."""
    if decimal_of(u) == 0:
        what = f"{column}{of} is {u}; no certified value and no volume is exact."
        remedy = "Take it from the certificate or the class; where a content has none, leave its cell empty."
        yield RowFault(nth, column, "uncertainty-zero", what, remedy)
