"""Rules of the sheets of planning beyond the shape of one row: samples of a run plan, glassware at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.row_fault import RowFault
from benchseal.documents.rules_amounts import dilution_faults
from benchseal.documents.rules_kinds import uncertainty_faults, zero_faults
from benchseal.records.elements import SYMBOLS
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Glassware
    from benchseal.records.plan import PlanRow


def plan_row_faults(rows: tuple[PlanRow, ...]) -> Iterator[RowFault]:
    """Samples named once, own materials without one, volumes, elements and dilutions that can be."""
    first: dict[str, int] = {}
    for nth, row in enumerate(rows):
        yield from _whose(nth, row)
        if row.sample and row.sample in first:
            what, remedy = "The same sample stands twice.", "Give one row its number of portions."
            yield RowFault(nth, "sample", "row-twice", what, remedy, first[row.sample])
        first.setdefault(row.sample, nth)
        if decimal_of(row.volume_ml) <= 0:
            what = f"volume_ml is {row.volume_ml}; it must be above zero."
            yield RowFault(nth, "volume_ml", "amount-zero", what, "Correct it.")
        yield from _elements(nth, row)
        yield from _uncertainties(nth, row)
    if rows and not any(row.kind == "sample" for row in rows):
        yield RowFault(0, "kind", "plan-no-sample", "The sheet names no sample.", "Add a row for each sample.")


def _whose(nth: int, row: PlanRow) -> Iterator[RowFault]:
    if row.kind == "sample" and not row.sample:
        yield RowFault(nth, "sample", "portion-sample", "A sample needs its number.", "Enter it.")
    if row.kind != "sample" and row.sample:
        what = f"A {row.kind} is the laboratory's own and has no sample; found '{row.sample}'."
        yield RowFault(nth, "sample", "portion-sample", what, "Empty the cell, or correct the kind.")
    foreign = {"sample": ("expected_ug_per_g", "u_expected_ug_per_g"), "reference_material": ("added_ug",)}
    for column in foreign.get(row.kind, ()):
        if getattr(row, column):
            what = f"A {row.kind} has no {column}."
            yield RowFault(nth, column, "portion-cell-foreign", what, "Empty the cell, or correct the kind.")
    if row.kind != "sample" and row.spikes not in {"", "0"}:
        what = f"A {row.kind} has no spiked portions; found {row.spikes}."
        yield RowFault(nth, "spikes", "portion-spike", what, "Empty the cell.")


def _elements(nth: int, row: PlanRow) -> Iterator[RowFault]:
    for column in ("dilutions", "added_ug", "expected_ug_per_g", "u_expected_ug_per_g"):
        for element in getattr(row, column):
            if element not in SYMBOLS:
                yield RowFault(
                    nth, column, "element-unknown", f"'{element}' is no symbol of an element.", "Correct it."
                )
    for column in ("added_ug", "expected_ug_per_g"):
        for element, amount in getattr(row, column).items():
            if decimal_of(amount) == 0:
                what = f"{column} of {element} is {amount}; nothing can be recovered of nothing."
                yield RowFault(nth, column, "amount-zero", what, "Correct it, or leave the element out.")
    yield from dilution_faults(nth, row.dilutions)


def _uncertainties(nth: int, row: PlanRow) -> Iterator[RowFault]:
    for element, u in row.u_expected_ug_per_g.items():
        if element in row.expected_ug_per_g:
            content = row.expected_ug_per_g[element]
            yield from uncertainty_faults(nth, "u_expected_ug_per_g", f" of {element}", u, content)
        yield from zero_faults(nth, "u_expected_ug_per_g", f" of {element}", u)


def glassware_faults(rows: tuple[Glassware, ...]) -> Iterator[RowFault]:
    """Volumes above zero, and no piece twice: of two pieces of one kind and volume nobody could say which was used."""
    first: dict[tuple[str, object], int] = {}
    for nth, row in enumerate(rows):
        volume = decimal_of(row.nominal_ml)
        if volume <= 0:
            what = f"nominal_ml is {row.nominal_ml}; it must be above zero."
            yield RowFault(nth, "nominal_ml", "amount-zero", what, "Correct it.")
        yield from uncertainty_faults(nth, "tolerance_ml", "", row.tolerance_ml, row.nominal_ml)
        yield from zero_faults(nth, "tolerance_ml", "", row.tolerance_ml)
        yield from uncertainty_faults(nth, "s_fill_ml", "", row.s_fill_ml, row.nominal_ml)
        if (row.kind, volume) in first:
            what, remedy = f"The same {row.kind} stands twice.", "Keep the one that is used."
            yield RowFault(nth, "nominal_ml", "row-twice", what, remedy, first[row.kind, volume])
        first.setdefault((row.kind, volume), nth)
