"""A preparation row: masses, volumes, dilution steps, spikes of one portion of one sample."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from benchseal.records.quantities import PlainDecimal
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

PortionKind: TypeAlias = Literal[
    "sample", "duplicate", "spiked_sample", "post_spiked_sample", "method_blank", "control_sample", "reference_material"
]


@dataclass(frozen=True, slots=True)
class DilutionStep:
    """One dilution: aliquot taken, made up to final."""

    aliquot_ml: PlainDecimal
    final_ml: PlainDecimal


@dataclass(frozen=True, slots=True)
class Addition:
    """One tube of a series of standard additions: its label, and the concentration added.

    added: in the solution measured, in the method's solution unit; 0 for the tube without addition.
    """

    label: str
    added: PlainDecimal


@dataclass(frozen=True, slots=True)
class Portion:
    """One prepared portion.

    portion: the label its tube and the instrument's file carry, unique within batch. sample: empty for the
    laboratory's own (blank, control, reference). elements: which it was prepared for. mass_g or area_dm2: one of them
    unless the sample is a liquid. dilutions: element to steps after the volume, absent means none.
    unit_mass_g: mean mass of one unit (tablet, lozenge) and its standard uncertainty. spike_of: the unspiked portion.
    added_ug: element to micrograms added (post_spiked_sample: to the volume after preparation). expected_ug_per_g: of
    a reference material; u_expected_ug_per_g: its standard uncertainty. not_determined: why there is nothing to
    measure (portion lost), or empty. moisture_percent: water in the portion, mass fraction in percent, with its
    standard uncertainty in the same percent. acid_percent: of the solution measured, volume fraction in percent.
    additions: element to the tubes of its standard additions, rising from the one without, which carries the portion's
    own label; all hold the same share of the portion, and what the dilutions say was made up to them. reagent_lots: of
    acids, modifiers and other reagents, in the laboratory's own words; kept and shown, judged by nothing.
    """

    portion: str
    batch: str
    kind: PortionKind
    sample: str
    elements: tuple[str, ...]
    volume_ml: PlainDecimal
    prepared_by: str
    prepared_at: str
    mass_g: PlainDecimal = ""
    area_dm2: PlainDecimal = ""
    unit_mass_g: PlainDecimal = ""
    u_unit_mass_g: PlainDecimal = ""
    dilutions: dict[str, tuple[DilutionStep, ...]] = field(default_factory=dict)
    spike_of: str = ""
    added_ug: dict[str, PlainDecimal] = field(default_factory=dict)
    expected_ug_per_g: dict[str, PlainDecimal] = field(default_factory=dict)
    not_determined: str = ""
    u_expected_ug_per_g: dict[str, PlainDecimal] = field(default_factory=dict)
    moisture_percent: PlainDecimal = ""
    u_moisture_percent: PlainDecimal = ""
    acid_percent: PlainDecimal = ""
    additions: dict[str, tuple[Addition, ...]] = field(default_factory=dict)
    reagent_lots: str = field(default="", metadata=LEFT_OUT_WHEN_EMPTY)

    def labels_for(self, element: str) -> tuple[str, ...]:
        """Labels by which a file may name this portion when ``element`` is measured."""
        return tuple(tube.label for tube in self.additions.get(element, ())) or (self.portion,)

    def only(self, element: str) -> Portion:
        """The row as far as ``element`` rests on it: what it says of other elements left out."""
        return replace(
            self,
            elements=tuple(own for own in self.elements if own == element),
            dilutions={own: steps for own, steps in self.dilutions.items() if own == element},
            added_ug={own: amount for own, amount in self.added_ug.items() if own == element},
            expected_ug_per_g={own: content for own, content in self.expected_ug_per_g.items() if own == element},
            u_expected_ug_per_g={own: u for own, u in self.u_expected_ug_per_g.items() if own == element},
            additions={own: tubes for own, tubes in self.additions.items() if own == element},
        )

    @property
    def labels(self) -> tuple[str, ...]:
        """Labels by which a file may name this portion, whatever is measured; its own first."""
        tubes = (tube.label for own in self.additions.values() for tube in own)
        return tuple(dict.fromkeys((self.portion, *tubes)))
