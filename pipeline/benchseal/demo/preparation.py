"""Tubes as preparation rows: who, when, and what was written down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.demo import batches
from benchseal.demo.calendar import at
from benchseal.demo.lots import LOTS
from benchseal.demo.people import FLAME_ANALYST, TRACE_ANALYST
from benchseal.records.ids import sample_number
from benchseal.records.preparation import DilutionStep, Portion

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from benchseal.demo.batches import Tube

# Batch: who prepared it, and on which working day and when it was finished.
_PREPARED = {
    batches.ASSAY: (FLAME_ANALYST, 1, "13:10"),
    batches.TRACE: (TRACE_ANALYST, 3, "10:20"),
    batches.WARE: (FLAME_ANALYST, 7, "09:40"),
}
# Samples are numbered in the order of the register: a site founded for the demo counts from one.
SAMPLE_OF_LOT = {lot.lot: sample_number(count) for count, lot in enumerate(LOTS, 1)}


def portions(start: date, tubes: Mapping[str, Tube]) -> dict[str, tuple[Portion, ...]]:
    """Batch to its rows, in the order they were prepared."""
    found: dict[str, list[Portion]] = {batch: [] for batch in _PREPARED}
    for tube in tubes.values():
        person, day, clock = _PREPARED[tube.batch]
        found[tube.batch].append(portion_row(tube, person, at(start, day, clock).isoformat(), SAMPLE_OF_LOT))
    return {batch: tuple(rows) for batch, rows in found.items()}


def portion_row(tube: Tube, person: str, prepared_at: str, sample_of_lot: Mapping[str, str]) -> Portion:
    """A tube as a row of a preparation sheet. prepared_at: local time."""
    mass, u_mass = tube.unit_mass_g
    return Portion(
        portion=tube.label,
        batch=tube.batch,
        kind=tube.kind,
        sample=sample_of_lot.get(tube.lot, ""),
        elements=tube.elements,
        volume_ml=tube.volume_ml,
        prepared_by=person,
        prepared_at=prepared_at,
        mass_g=tube.mass_g,
        area_dm2=tube.area_dm2,
        unit_mass_g=mass if tube.batch == batches.ASSAY else "",
        u_unit_mass_g=u_mass if tube.batch == batches.ASSAY else "",
        dilutions={
            element: tuple(DilutionStep(aliquot, final) for aliquot, final in steps)
            for element, steps in tube.steps.items()
        },
        spike_of=tube.spike_of,
        added_ug=tube.added_ug,
        expected_ug_per_g=tube.expected_ug_per_g,
        not_determined=tube.not_determined,
    )
