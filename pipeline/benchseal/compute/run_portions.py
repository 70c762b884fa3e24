"""From solutions to portions: which reading of a portion counts, the blank taken off, and factors to other quantities.

Which reading counts is decided by range, bracket and dilution alone, before any value is compared with a limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias, assert_never

from benchseal.compute.run_numbers import fraction_of, ratio_text
from benchseal.compute.run_signals import Loss
from benchseal.records.quantities import PlainDecimal, unit_factor
from benchseal.records.species import expression_factor

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.compute.run_curve import Solved
    from benchseal.compute.run_measured import Measured
    from benchseal.records.known import Bench
    from benchseal.records.method import Method
    from benchseal.records.preparation import Portion
    from benchseal.records.results import Voided
    from benchseal.records.run import Run
    from benchseal.records.specification import Requirement

PortionKey: TypeAlias = tuple[str, str]  # batch, label
_ALL_PERCENT = 100
# The check that voids a reading is named once, by the findings of the run, not by all that rests on the reading.
VOID_IN_SHORT = {
    "bracket.failed": "its bracket failed",
    "bracket.open": "no check closes its bracket",
    "bracket.too-long": "its bracket is too long",
    "carry-over.failed": "memory of the solution before it is not excluded",
    "drift.check-failed": "a check that it is corrected by failed",
}


@dataclass(frozen=True, slots=True, eq=False)
class Chosen:
    """One run with its choice made. by_key: the reading that counts for each portion that has one.

    lost: position to why a portion's reading gives no value, those not used included.
    """

    run: Run
    bench: Bench
    solved: Solved
    measured: tuple[Measured, ...]
    by_key: Mapping[PortionKey, Measured]
    lost: Mapping[int, Loss]

    @property
    def method(self) -> Method:
        """The run's method."""
        return self.run.method

    @property
    def element(self) -> str:
        """The element measured."""
        return self.run.method.element


@dataclass(frozen=True, slots=True)
class Blank:
    """The method blank of a batch: its readings, their whole dilutions, and the mean before dilution."""

    readings: tuple[Measured, ...]
    dilutions: tuple[float, ...]
    value: float


@dataclass(frozen=True, slots=True)
class Net:
    """A chosen reading before dilution, in the method's solution unit: gross, and less the blank."""

    measured: Measured
    portion: Portion
    dilution: Fraction
    blank: Blank | None
    gross: float
    value: float


def choose(run: Run, bench: Bench, solved: Solved, measured: tuple[Measured, ...], voided: Sequence[Voided]) -> Chosen:
    """The reading of each portion that counts: of those in range and not voided, the least diluted, then the first.

    A failed bracket is named before any other reason, so that a voided reading never looks like a choice.
    """
    void = {row.position: Loss(row.code, row.why) for row in voided}
    lost: dict[int, Loss] = {}
    by_key: dict[PortionKey, Measured] = {}
    for one in sorted((one for one in measured if one.portion is not None), key=lambda one: (one.extra, one.position)):
        loss = next((void[at] for at in one.positions if at in void), None) or _not_determined(one) or one.lost
        if loss is None and one.key in by_key:
            used = by_key[one.key]
            loss = Loss("portion.not-used", f"not used: the reading at position {used.position} counts")
        if loss is None:
            by_key[one.key] = one
        else:
            lost[one.position] = loss
    return Chosen(run, bench, solved, measured, by_key, lost)


def steps_factor(portion: Portion, element: str) -> Fraction:
    """Product of final over aliquot of the portion's dilution steps for ``element``; 1 for none."""
    factor = Fraction(1)
    for step in portion.dilutions.get(element, ()):
        factor *= fraction_of(step.final_ml) / fraction_of(step.aliquot_ml)
    return factor


def net_of(chosen: Chosen, key: PortionKey) -> Net | Loss:
    """What the chosen reading of a portion says of its digest, blank taken off where the method says so."""
    measured = chosen.by_key.get(key)
    if measured is None:
        return loss_of(chosen, key)
    portion = chosen.bench.portions[key]
    dilution = steps_factor(portion, chosen.element) * measured.extra
    gross = measured.x * float(dilution)
    blank = None if portion.kind == "method_blank" else _blank_for(chosen, portion)
    if isinstance(blank, Loss):
        return blank
    return Net(measured, portion, dilution, blank, gross, gross if blank is None else gross - blank.value)


def loss_of(chosen: Chosen, key: PortionKey) -> Loss:
    """Why a portion has no reading that counts: the reason of its last reading, the cause of a void one in short."""
    places = [one.position for one in chosen.measured if one.key == key and one.position in chosen.lost]
    if places:
        last = chosen.lost[places[-1]]
        return Loss(last.code, f"position {places[-1]}: {VOID_IN_SHORT.get(last.code, last.why)}")
    if chosen.bench.portions[key].not_determined:
        return Loss("portion.not-determined", f"not determined: {chosen.bench.portions[key].not_determined}")
    why = chosen.bench.unmeasured.get(chosen.bench.portions[key].sample, "")
    return Loss("portion.not-measured", f"not measured in this run{f': {why}' if why else ''}")


def factor_of(requirement: Requirement, solution_unit: str, portion: Portion) -> Fraction | Loss:
    """Exact factor from the concentration before dilution (``solution_unit``) to the requirement's quantity and unit.

    mg/L x mL/g = ug/g. A percentage of claim is of the milligrams claimed for one unit. On dry basis a content is
    divided by 1 - moisture; given as a substance, a value is multiplied by the factor of record.
    """
    try:
        factor = _factor(requirement, solution_unit, portion)
        return factor * _substance(requirement) / _dry_part(requirement, portion)
    except _LackingError as lack:
        return Loss("portion.incomplete", str(lack))
    except _BasisError as fault:
        return Loss("specification.basis", str(fault))
    except ValueError as fault:
        return Loss("specification.unit", str(fault))


def expression_of(requirement: Requirement) -> PlainDecimal:
    """Factor of record from the element to the substance the value is given as; empty for the element itself.

    The exact ratio of the tabled atomic weights, rounded once to 12 significant digits. Raises ValueError.
    """
    if not requirement.expressed_as:
        return ""
    if requirement.quantity == "percent_of_claim":
        raise ValueError(f"a percentage of the claim cannot be given as {requirement.expressed_as}")
    return ratio_text(expression_factor(requirement.expressed_as, requirement.element))


def per_portion(solution_unit: str, portion: Portion) -> Fraction:
    """Exact factor to micrograms in the whole portion: mg/L x mL = ug. Raises ValueError without a volume."""
    return unit_factor(solution_unit, "mg/L") * _entered(portion.volume_ml, "volume")


def amount_ratio(portion: Portion, other: Portion) -> Fraction:
    """How much of the sample ``portion`` holds against ``other``: by mass, else area, else volume. ValueError."""
    for name, ours, theirs in (
        ("mass", portion.mass_g, other.mass_g),
        ("area", portion.area_dm2, other.area_dm2),
    ):
        if ours or theirs:
            return _entered(ours, name) / _entered(theirs, name)
    return _entered(portion.volume_ml, "volume") / _entered(other.volume_ml, "volume")


def base_factor(solution_unit: str, portion: Portion) -> Fraction:
    """Factor to the portion's own content: ug/g with a mass, ug/dm2 with an area, else mg/L. ValueError."""
    if portion.mass_g:
        return per_portion(solution_unit, portion) / _entered(portion.mass_g, "mass")
    if portion.area_dm2:
        return per_portion(solution_unit, portion) / _entered(portion.area_dm2, "area")
    return unit_factor(solution_unit, "mg/L")


class _LackingError(ValueError):
    """A preparation row does not hold what a quantity needs."""


class _BasisError(ValueError):
    """A basis or a substance that the quantity cannot be given on."""


def _factor(requirement: Requirement, solution_unit: str, portion: Portion) -> Fraction:
    quantity, unit = requirement.quantity, requirement.unit
    match quantity:
        case "concentration":
            return unit_factor(solution_unit, unit)
        case "content":
            return _content(solution_unit, portion) * unit_factor("ug/g", unit)
        case "amount_per_unit":
            return _per_unit(solution_unit, portion) * unit_factor("ug", unit)
        case "percent_of_claim":
            claimed_ug = _entered(requirement.claim_mg, "claim") * 1000
            return _per_unit(solution_unit, portion) / claimed_ug * 100 * unit_factor("%", unit)
        case "release_per_area":
            area = _entered(portion.area_dm2, "area")
            return per_portion(solution_unit, portion) / area * unit_factor("ug/dm2", unit)
        case _:
            assert_never(quantity)


def _substance(requirement: Requirement) -> Fraction:
    try:
        return fraction_of(expression_of(requirement) or "1")
    except ValueError as fault:
        raise _BasisError(str(fault)) from None


def _dry_part(requirement: Requirement, portion: Portion) -> Fraction:
    """The part of the portion's mass the value is of: 1 as received, 1 - moisture on dry basis."""
    if requirement.basis == "as received":
        return Fraction(1)
    if requirement.quantity != "content":
        raise _BasisError(f"{requirement.quantity.replace('_', ' ')} on dry basis has no meaning")
    if not portion.moisture_percent:
        raise _LackingError("no moisture is entered")
    left = 1 - fraction_of(portion.moisture_percent) / _ALL_PERCENT
    if not 0 < left <= 1:
        raise _LackingError(f"the moisture entered is {portion.moisture_percent} %")
    return left


def _content(solution_unit: str, portion: Portion) -> Fraction:
    return per_portion(solution_unit, portion) / _entered(portion.mass_g, "mass")


def _per_unit(solution_unit: str, portion: Portion) -> Fraction:
    return _content(solution_unit, portion) * _entered(portion.unit_mass_g, "mean unit mass")


def _entered(text: str, name: str) -> Fraction:
    value = fraction_of(text) if text else Fraction(0)
    if value <= 0:
        raise _LackingError(f"no {name} is entered" if not text else f"the {name} entered is {text}")
    return value


def _not_determined(one: Measured) -> Loss | None:
    if one.portion is None or not one.portion.not_determined:
        return None
    return Loss("portion.not-determined", f"not determined: {one.portion.not_determined}")


def _blank_for(chosen: Chosen, portion: Portion) -> Blank | Loss | None:
    """Mean of the batch's valid method blanks, each before its own dilution: taken off once, after the dilution.

    With blank and sample at the same dilution, c DF - b DF is (c - b) DF; undiluted, it is c DF - b. What the reagents
    bring in is the same amount in every vessel, so it is the same concentration only in equal volumes.
    """
    stated = chosen.method.blank_subtraction
    if stated == "none":
        return None
    found = [
        one
        for one in chosen.by_key.values()
        if one.portion is not None and one.kind == "method_blank" and one.portion.batch == portion.batch
    ]
    if not found:
        return Loss("blank.missing", f"the method blank of batch {portion.batch} has no valid reading")
    other = _other_volume(found, portion.volume_ml)
    if other:
        words = f"the method blank was made up to {other} mL, this portion to {portion.volume_ml} mL"
        return Loss("blank.dilution", f"{words}; only a blank prepared alike can be taken off")
    found.sort(key=lambda one: one.position)
    steps = [steps_factor(one.portion, chosen.element) for one in found if one.portion is not None]
    wanted = Fraction(1) if stated == "undiluted" else steps_factor(portion, chosen.element)
    if any(factor != wanted for factor in steps):
        return Loss("blank.dilution", f"the method blank is not diluted as the method states ({stated})")
    dilutions = tuple(float(factor * one.extra) for factor, one in zip(steps, found, strict=True))
    total = 0.0
    for one, dilution in zip(found, dilutions, strict=True):
        total = total + one.x * dilution
    return Blank(tuple(found), dilutions, total / len(found))


def _other_volume(blanks: Sequence[Measured], volume_ml: PlainDecimal) -> PlainDecimal:
    """The first volume of ``blanks`` that is not ``volume_ml`` as a number; empty where all are, or none is known."""
    known = [one.portion.volume_ml for one in blanks if one.portion is not None and one.portion.volume_ml]
    return next((own for own in known if volume_ml and fraction_of(own) != fraction_of(volume_ml)), "")
