"""Three preparation batches: what was written down of each portion, and what its tube truly holds."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from benchseal.demo import lots
from benchseal.demo.draws import Draws

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.preparation import PortionKind

ASSAY, TRACE, WARE = "AY-01", "TR-01", "WR-01"
NAMES = {ASSAY: "assay", TRACE: "trace", WARE: "ware"}
_ASSAY_STEPS = {"Zn": (("5", "100"),), "Mg": (("10", "100"), ("4", "100"))}
_TRACE_STEPS: dict[str, tuple[tuple[str, str], ...]] = {"As": (("5", "50"),), "Hg": (("5", "100"),)}
MISTYPED = "T-A4/1"
TRUE_MASS, TYPED_MASS = "0.5021", "0.5201"


@dataclass(frozen=True, slots=True)
class Tube:
    """One prepared portion: the row as entered, and ``held_mg_per_l`` of each element in its made-up volume.

    Texts as in ``records/preparation.Portion``. lot: empty for the laboratory's own. mass_g: as typed.
    """

    label: str
    batch: str
    kind: PortionKind
    lot: str
    volume_ml: str
    steps: dict[str, tuple[tuple[str, str], ...]]
    held_mg_per_l: dict[str, float]
    mass_g: str = ""
    area_dm2: str = ""
    unit_mass_g: tuple[str, str] = ("", "")
    spike_of: str = ""
    added_ug: dict[str, str] = field(default_factory=dict)
    expected_ug_per_g: dict[str, str] = field(default_factory=dict)
    not_determined: str = ""

    @property
    def elements(self) -> tuple[str, ...]:
        """Elements it was prepared for."""
        return tuple(self.held_mg_per_l)

    def measured_mg_per_l(self, element: str) -> float:
        """What the solution taken to the instrument holds, after the dilution steps."""
        held = self.held_mg_per_l[element]
        for aliquot, final in self.steps.get(element, ()):
            held = held * float(aliquot) / float(final)
        return held


def tubes(seed: int) -> dict[str, Tube]:
    """Every portion of the three batches by its label; labels are unique over all of them."""
    every = (*_assay(Draws(seed, "assay masses")), *_trace(Draws(seed, "trace masses")), *_ware())
    return {tube.label: tube for tube in every}


def _assay(draws: Draws) -> Iterator[Tube]:
    own = Tube("Y-MB", ASSAY, "method_blank", "", "100.0", _ASSAY_STEPS, {})
    yield replace(own, held_mg_per_l={one: lots.BLANK_UG[one] / 100.0 for one in lots.ASSAYS})
    for nth in (0, 1):
        yield replace(
            own,
            label=f"Y-CS{nth + 1}",
            kind="control_sample",
            mass_g=_weighed(draws, 0.9850, 1.0150),
            added_ug={one: added for one, (added, _) in lots.ASSAY_CONTROL_UG.items()},
            held_mg_per_l={
                one: float(added) * found[nth] / 100.0 for one, (added, found) in lots.ASSAY_CONTROL_UG.items()
            },
        )
    for nth in (0, 1):
        mass = _weighed(draws, 0.9850, 1.0150)
        yield replace(
            own,
            label=f"Y-RM{nth + 1}",
            kind="reference_material",
            mass_g=mass,
            expected_ug_per_g=dict(lots.ASSAY_REFERENCE_UG_PER_G),
            held_mg_per_l={
                one: float(value) * float(mass) / 100.0 for one, value in lots.ASSAY_REFERENCE_UG_PER_G.items()
            },
        )
    for lot in lots.FOODS:
        for nth in (0, 1):
            yield _weighed_in(lot, nth, own, _weighed(draws, 0.9850, 1.0150))


def _trace(draws: Draws) -> Iterator[Tube]:
    own = Tube("T-MB", TRACE, "method_blank", "", "25.0", _TRACE_STEPS, {})
    yield replace(own, held_mg_per_l={one: lots.BLANK_UG[one] / 25.0 for one in lots.TRACES})
    yield replace(
        own,
        label="T-CS",
        kind="control_sample",
        mass_g=_weighed(draws, 0.5000, 0.5050),
        added_ug={one: added for one, (added, _) in lots.CONTROL_UG.items()},
        held_mg_per_l={one: float(added) * found / 25.0 for one, (added, found) in lots.CONTROL_UG.items()},
    )
    mass = _weighed(draws, 0.5000, 0.5050)
    yield replace(
        own,
        label="T-RM",
        kind="reference_material",
        mass_g=mass,
        expected_ug_per_g=dict(lots.REFERENCE_UG_PER_G),
        held_mg_per_l={one: 0.98 * float(value) * float(mass) / 25.0 for one, value in lots.REFERENCE_UG_PER_G.items()},
    )
    for lot in lots.FOODS:
        for nth in (0, 1):
            portion = _weighed_in(lot, nth, own, _weighed(draws, 0.5000, 0.5050))
            if portion.label == MISTYPED:
                portion = replace(_weighed_in(lot, nth, own, TRUE_MASS), mass_g=TYPED_MASS)
            yield portion
    yield from (_spiked(nth, _weighed(draws, 0.5000, 0.5050), own) for nth in (0, 1))


def _weighed_in(lot: lots.Lot, nth: int, own: Tube, mass: str) -> Tube:
    """A portion of a lot: content times mass over volume."""
    prefix, elements = ("Y", lots.ASSAYS) if own.batch == ASSAY else ("T", lots.TRACES)
    held = {one: lot.content[one][nth] * float(mass) / float(own.volume_ml) for one in elements}
    return replace(
        own,
        label=f"{prefix}-{lot.lot.replace('-', '')}/{nth + 1}",
        kind="sample",
        lot=lot.lot,
        mass_g=mass,
        unit_mass_g=lot.unit_mass_g,
        held_mg_per_l=held,
    )


def _spiked(nth: int, mass: str, own: Tube) -> Tube:
    """A further portion of B-2 with an addition, of which the method finds a stated share."""
    lot = lots.BY_NAME["B-2"]
    held = {
        one: (lot.content[one][0] * float(mass) + float(added) * found[nth]) / 25.0
        for one, (added, found) in lots.SPIKE_UG.items()
    }
    return replace(
        own,
        label=f"T-B2/1 add {nth + 1}",
        kind="spiked_sample",
        lot=lot.lot,
        mass_g=mass,
        unit_mass_g=lot.unit_mass_g,
        held_mg_per_l=held,
        spike_of="T-B2/1",
        added_ug={one: added for one, (added, _) in lots.SPIKE_UG.items()},
    )


def _ware() -> Iterator[Tube]:
    """Blank and control in the same volume, four plates; a fifth was spilled."""
    own = Tube("W-MB", WARE, "method_blank", "", "350", {}, {"Pb": 0.003, "Cd": 0.0004})
    yield own
    yield replace(
        own,
        label="W-CS",
        kind="control_sample",
        added_ug={one: added for one, (added, _) in lots.WARE_CONTROL_UG.items()},
        held_mg_per_l={one: float(added) * found / 350.0 for one, (added, found) in lots.WARE_CONTROL_UG.items()},
    )
    lot = lots.BY_NAME["C-1"]
    plate = replace(own, kind="sample", lot="C-1", area_dm2="2.50")
    for nth in range(4):
        held = {one: lot.content[one][nth] * 2.50 / 0.350 for one in ("Pb", "Cd")}
        yield replace(plate, label=f"W-C1/{nth + 1}", held_mg_per_l=held)
    yield replace(plate, label="W-C1/5", not_determined="the leachate was spilled on the way to the instrument")


def _weighed(draws: Draws, least_g: float, most_g: float) -> str:
    """A mass as the balance prints it. Digests take at least 0.50 g, so that their limits stay as planned."""
    return f"{draws.between(least_g, most_g):.4f}"
