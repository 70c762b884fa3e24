"""From the solution read to the sample: one product for each portion, written with letters and with numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, assert_never

from benchseal.compute.explain_layout import STEP, counted, formula, prose, put, said, turned
from benchseal.compute.explain_readings import readings, where
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.explain_around import Around
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import WorkedPortion, WorkedResult
    from benchseal.records.specification import Quantity

_IN: Final = STEP + STEP
QUANTITIES: Final[dict[Quantity, str]] = {
    "concentration": "concentration",
    "content": "content",
    "amount_per_unit": "amount per unit",
    "percent_of_claim": "percent of claim",
    "release_per_area": "release per area",
}
_AFTER_DILUTION: Final[dict[Quantity, str]] = {
    "concentration": "",
    "content": " x volume / mass",
    "amount_per_unit": " x volume / mass x unit mass",
    "percent_of_claim": " x volume / mass x unit mass / claim x 100",
    "release_per_area": " x volume / surface",
}
_READ_AS: Final = {"undiluted": "read undiluted", "same_dilution": "diluted as the samples are"}


@dataclass(frozen=True, slots=True)
class Product:
    """How one portion is carried from its solution to a result's quantity and unit."""

    of: Around
    result: WorkedResult
    portion: WorkedPortion

    @property
    def letters(self) -> str:
        """The product in words."""
        net = "(c x dilution - blank)" if self.portion.blank_value else "c x dilution"
        dry = " / (1 - moisture)" if self.result.basis == "dry" else ""
        substance = f" x factor to {self.result.expressed_as}" if self.result.expression_factor else ""
        return f"{net}{_AFTER_DILUTION[self.result.quantity]}{dry}{substance}"

    def numbers(self, start: PlainDecimal, *, less_blank: bool = False) -> str:
        """The product in numbers with their units; ``start`` in the method's unit of solutions."""
        net = f"{start} {self.of.unit} x {self.portion.dilution}"
        if less_blank and self.portion.blank_value:
            net = f"({net} - {put(f'{self.portion.blank_value} {self.of.unit}')})"
        return f"{net}{self._carried()}{self._dry()}{self._substance()}"

    def _carried(self) -> str:
        solution, unit, quantity = self.of.work.calibration.unit, self.result.unit, self.result.quantity
        if quantity == "concentration":
            return turned(solution, unit)
        portion = f"{turned(solution, 'mg/L')} x {self.portion.volume_ml} mL"
        per_mass = f"{portion} / {self.portion.mass_g} g"
        per_unit = f"{per_mass} x {self.portion.unit_mass_g} g"
        match quantity:
            case "content":
                return f"{per_mass}{turned('ug/g', unit)}"
            case "amount_per_unit":
                return f"{per_unit}{turned('ug', unit)}"
            case "percent_of_claim":
                return f"{per_unit}{turned('ug', 'mg')} / {self.of.requirement(self.result).claim_mg} mg x 100"
            case "release_per_area":
                return f"{portion} / {self.portion.area_dm2} dm²{turned('ug/dm2', unit)}"
            case _:
                assert_never(quantity)

    def _dry(self) -> str:
        return f" / (1 - {self.portion.moisture_percent}/100)" if self.result.basis == "dry" else ""

    def _substance(self) -> str:
        factor, substance = self.result.expression_factor, self.result.expressed_as
        return f" x {factor} ({self.result.element} to {substance})" if factor else ""


def portion_lines(of: Around, result: WorkedResult) -> Iterator[str]:
    """Every portion's product, or why it has none, and the limits carried to the sample likewise."""
    for one in result.portions:
        at = f", position {one.position}" if one.position else ""
        yield from prose(f"Portion {one.portion}{at}")
        if one.why:
            yield from prose(f"no value: {one.why}", _IN)
            continue
        yield from _dilution(one)
        yield from _value(of, result, one)
        yield from _limit(of, result, one)
    yield from _lowest(of, result)


def _dilution(one: WorkedPortion) -> Iterator[str]:
    factors = [f"{step.final_ml} mL / {step.aliquot_ml} mL" for step in one.steps]
    if not factors:
        how = "none" if one.extra_dilution == "1" else f"{one.extra_dilution}, at the instrument"
        yield from prose(f"dilution {how}", _IN)
        return
    if one.extra_dilution != "1":
        factors.append(f"{one.extra_dilution} (at the instrument)")
    yield from formula("dilution", " x ".join(factors), one.dilution, indent=_IN)


def _value(of: Around, result: WorkedResult, one: WorkedPortion) -> Iterator[str]:
    if one.blank_value:
        yield from _blank(of, one)
    product, name = Product(of, result, one), QUANTITIES[result.quantity]
    value = f"{one.value} {unit_shown(result.unit)}"
    yield from formula(name, product.letters, product.numbers(one.solution_value, less_blank=True), value, indent=_IN)


def _blank(of: Around, one: WorkedPortion) -> Iterator[str]:
    """The blank's readings: those of its batch that stand, as the calculation took them."""
    void = {row.position for row in of.work.voided}
    rows = of.run.document.solutions
    places = [
        place
        for place, (position, kind) in enumerate(zip(rows.position, rows.kind, strict=True))
        if kind == "method_blank" and of.run.portion[place][0] == one.batch and position not in void
    ]
    for place in places:
        own = range(rows.first_reading[place], rows.first_reading[place] + rows.reading_count[place])
        signals = [text for text in (of.run.document.readings.signal[row] for row in own) if text]
        lines = [of.run.document.readings.line[row] for row in own]
        text = f"method blank {rows.label[place]}, position {rows.position[place]}, {where(of, lines)}"
        yield from prose(f"{text}: {readings(of, signals)}", _IN)
    mean = f", mean of {counted(len(places), 'solution')}" if len(places) > 1 else ""
    stated = _READ_AS.get(of.method.blank_subtraction, of.method.blank_subtraction)
    stated += ", corrected for drift" if one.drift else ""
    words = f"blank {one.blank_value} {of.unit} before dilution{mean}, {stated}; taken off once, after the dilution"
    yield from prose(words, _IN)


def _limit(of: Around, result: WorkedResult, one: WorkedPortion) -> Iterator[str]:
    level, value = of.method.lowest_level, f"{one.quantification_limit} {unit_shown(result.unit)}"
    name = "quantification limit: the lowest level in place of c, nothing taken off"
    yield from formula(name, Product(of, result, one).numbers(level), value, indent=_IN)


def _lowest(of: Around, result: WorkedResult) -> Iterator[str]:
    """The limits of the result: those of the portion with the greatest, and what the method says of them."""
    method, unit, limit = of.method, unit_shown(result.unit), result.quantification_limit
    greatest = [one for one in result.portions if not one.why and one.quantification_limit == limit]
    if not greatest:
        return
    many = sum(not one.why for one in result.portions) > 1
    yield ""
    which = ", the greatest of its portions" if many else ""
    yield from prose(f"Quantification limit of the result{which}: {limit} {unit}")
    yield from said(f"source of the lowest level, {method.lowest_level} {of.unit}", method.lowest_level_source, _IN)
    if result.detection_limit:
        puts = Product(of, result, greatest[0]).numbers(method.detection_level)
        name = "Detection limit of that portion, shown and used for no verdict: the detection level in place of c"
        yield from formula(name, puts, f"{result.detection_limit} {unit}")
        source = method.detection_level_source
        yield from said(f"source of the detection level, {method.detection_level} {of.unit}", source, _IN)
