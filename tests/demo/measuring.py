"""An invented run of any shipped method, written as an instrument file and taken the whole line. Evidence of nothing.

``measured`` reads a file of the form ``comma-list`` with the program's own reader, binds it and calculates it. Readings
follow a curve of the sensitivity the method calls usual, with a fixed scatter, so nothing is left to chance.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from benchseal.compute.run_work import work_run
from benchseal.documents.reading import ControlledDocument, read_document
from benchseal.ingest.reader import read_file
from benchseal.problems import Problem
from benchseal.records.known import Bench, Known
from benchseal.records.layout import Layout
from benchseal.records.preparation import Portion
from benchseal.records.quantities import plain, unit_factor
from benchseal.records.registers import Instrument, Sample, SampleRow, StandardLot
from benchseal.records.run import DocumentRef, Run, RunDocument
from benchseal.records.specification import Requirement, Specification
from benchseal.shipped import starter
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.records.method import CheckRule, Method
    from benchseal.records.results import RunWork
    from benchseal.records.specification import Quantity

REF = DocumentRef("invented", 1, "0" * 64)
_ROLES = {
    "calibration_blank": "zero", "standard": "standard", "second_source": "other source", "check_standard": "check",
    "check_blank": "check zero", "method_blank": "method blank", "control_sample": "control", "sample": "sample",
    "duplicate": "second portion", "spiked_sample": "with addition", "post_spiked_sample": "late addition",
    "lowest_level": "lowest", "reference_material": "reference", "rinse": "rinse",
}  # fmt: skip
_TECHNIQUES = {"flame": "flame", "furnace": "tube", "cold_vapour": "cold cell", "hydride": "hot cell"}
_BACKGROUND = {"none": "no", "deuterium": "by lamp", "zeeman": "by field"}
_PREPARED = (
    "method_blank", "control_sample", "reference_material", "sample", "duplicate", "spiked_sample",
    "post_spiked_sample",
)  # fmt: skip
_MASS_G, _VOLUME_ML, _AREA_DM2 = Decimal("0.5000"), Decimal("25.0"), Decimal("4.00")


@dataclass(frozen=True, slots=True)
class Tube:
    """One solution of the file: what it is, its label, the concentration it holds and its extra dilution."""

    kind: str
    label: str
    holds: Decimal
    nominal: str = ""
    dilution: str = "1"


def measured(
    method: Method, tubes: Iterable[Tube], settings: Iterable[str] = (), *, acid_percent: str = ""
) -> RunWork | tuple[Problem, ...]:
    """The file of ``tubes``, read, bound and calculated; or the first problems on the way.

    settings: lines of the file's head beyond the usual ones. acid_percent: of the samples' solutions.
    """
    shown = list(tubes)
    layout = _layout()
    found = read_file(_file(method, shown, settings), "invented.txt", layout, REF)
    (document,) = found if isinstance(found[0], RunDocument) else (None,)
    if not isinstance(document, RunDocument):
        return tuple(one for one in found if isinstance(one, Problem))
    prepared = {one.label: one for one in reversed(shown) if one.kind in _PREPARED}
    portions = [portion_of(method, one, shown, acid_percent) for one in prepared.values()]
    by_label = {one.portion: (one,) for one in portions}
    instrument = Instrument("bench-1", "TQ-1", method.technique, "Europe/Berlin", "2025-01-07")
    known = Known(((REF, method),), by_label, frozenset(), (instrument,), lots(method), "2026-03-03T00:00:00Z")
    run = check_run(document, known)
    return work_run(run, bench(method, portions)) if isinstance(run, Run) else run


def usual_tubes(method: Method) -> list[Tube]:
    """Calibration, every check the method asks for, two portions of a sample, its spikes, and the check pair again."""
    top = Decimal(method.standards[-1].concentration)
    amount, rules = top * Decimal("0.3"), {rule.check: rule for rule in method.checks}
    rows = [Tube("second_source", "SS", Decimal(rules["second_source"].expected)), *pair(method, 1)]
    if "lowest_level" in rules:
        rows.append(Tube("lowest_level", "LL", Decimal(method.lowest_level)))
    rows += [Tube("method_blank", "MB", Decimal(0)), Tube("control_sample", "CS", amount)]
    rows += [Tube("sample", "A/1", amount), Tube("duplicate", "A/2", amount)]
    if "reference_material" in rules and quantity_of(method) == "content":
        rows.append(Tube("reference_material", "RM", amount))
    if "return_to_zero" in rules:
        rows.append(Tube("rinse", "R", Decimal(0)))
    if "spike" in rules:
        rows += [Tube("spiked_sample", "A/1+", 2 * amount), Tube("spiked_sample", "A/1++", 2 * amount)]
    if "post_spike" in rules:
        rows.append(Tube("post_spiked_sample", "A/1L", 2 * amount))
    if "dilution_test" in rules:
        rows += [Tube("sample", "B/1", top * Decimal("0.8")), Tube("sample", "B/1", top * Decimal("0.8"), "", "5")]
    return [*calibration(method), *rows, *pair(method, 2)]


def calibration(method: Method) -> list[Tube]:
    """The standards of the method."""
    return [
        Tube(
            "standard" if Decimal(one.concentration) else "calibration_blank",
            one.label,
            Decimal(one.concentration),
            one.concentration,
        )
        for one in method.standards
    ]


def pair(method: Method, nth: int, off: str = "1") -> list[Tube]:
    """A check standard that holds ``off`` times what it should, and a check blank."""
    rule = next(rule for rule in method.checks if rule.check == "check_standard")
    return [
        Tube("check_standard", f"CHK-{nth}", Decimal(rule.expected) * Decimal(off)),
        Tube("check_blank", f"CB-{nth}", Decimal(0)),
    ]


def absorbance(method: Method, concentration: Decimal) -> Decimal:
    """Signal of the invented curve: the sensitivity the method calls usual, or 0.4 at the top; bent where it may."""
    top = Decimal(method.standards[-1].concentration)
    slope = Decimal("0.4") / top
    usual = next((rule for rule in method.checks if rule.check == "sensitivity"), None)
    if usual is not None:
        slope = _slope(method, usual)
    bend = slope / top / 10 if method.calibration.model == "quadratic" else Decimal(0)
    return Decimal("0.0010") + slope * concentration - bend * concentration**2


def _slope(method: Method, usual: CheckRule) -> Decimal:
    """Signal for one solution unit, of a characteristic concentration, or of a characteristic mass in pg (ug/L, uL)."""
    one_percent = Decimal("0.0044")
    if method.technique == "furnace":
        return one_percent * Decimal(method.conditions.injection_ul) / Decimal(usual.expected)
    return one_percent / Decimal(usual.expected)


def _file(method: Method, tubes: list[Tube], settings: Iterable[str]) -> bytes:
    head = [
        "Tern reading list,3", "Instrument number,TQ-1", "Read by,", f"Method,{method.file_names[0]}",
        f"Element,{method.element}", f"Line in nm,{method.wavelength_nm}",
        f"Atomised by,{_TECHNIQUES[method.technique]}", "Quantity,absorbance",
        f"Unit,{'A s' if method.signal_unit == 'A.s' else 'A'}",
        f"Background taken off,{_BACKGROUND[method.background_correction]}", *settings, "Begun,2026-03-02 09:00:00",
        "Place,Name,Role,Given,Thinned,Reading,Signal,Ground,Time",
    ]  # fmt: skip
    rows = []
    for place, tube in enumerate(tubes, 1):
        middle = absorbance(method, tube.holds / Decimal(tube.dilution))
        for nth in range(1, method.replicates.count + 1):
            signal = middle * (1 + Decimal("0.003") * (nth - 2))
            start = f"{place},{tube.label},{_ROLES[tube.kind]},{tube.nominal},{tube.dilution},{nth}"
            rows.append(f"{start},{signal:.7f},0.050,")
    return "\n".join([*head, *rows, f"End of readings,{len(rows)}", "List closed", ""]).encode()


def _layout() -> Layout:
    found = read_document(starter("layouts/comma-list.yaml").encode(), "comma-list.yaml")
    assert isinstance(found, ControlledDocument)
    assert isinstance(found.value, Layout)
    return found.value


def portion_of(method: Method, tube: Tube, tubes: list[Tube], acid_percent: str) -> Portion:
    """The preparation row of a tube: ware by area, a liquid by volume alone, all else by mass."""
    native = next(one.holds for one in tubes if one.kind == "sample")
    usual = Portion(
        portion=tube.label,
        batch="P-1",
        kind=tube.kind,  # type: ignore[arg-type]  # one of the prepared kinds
        sample="",
        elements=(method.element,),
        volume_ml=str(_VOLUME_ML),
        prepared_by="p-a",
        prepared_at="2026-03-01T10:00:00",
        mass_g="" if quantity_of(method) != "content" else str(_MASS_G),
        area_dm2="" if quantity_of(method) != "release_per_area" else str(_AREA_DM2),
    )
    if tube.kind == "method_blank":
        return usual
    if tube.kind == "reference_material":
        return replace(usual, expected_ug_per_g={method.element: f"{due(method, tube.holds):.9f}"})
    if tube.kind == "control_sample":
        return replace(usual, added_ug=_micrograms(method, tube.holds))
    sample = f"S-0000{1 if tube.label.startswith('A') else 2}"
    if tube.kind in {"sample", "duplicate"}:
        return replace(usual, sample=sample, acid_percent=acid_percent)
    return replace(usual, sample=sample, spike_of="A/1", added_ug=_micrograms(method, tube.holds - native))


def _micrograms(method: Method, concentration: Decimal) -> dict[str, str]:
    in_mg_per_l = Fraction(concentration) * unit_factor(method.solution_unit, "mg/L") * Fraction(_VOLUME_ML)
    return {method.element: plain(Decimal(in_mg_per_l.numerator) / Decimal(in_mg_per_l.denominator))}


def quantity_of(method: Method) -> Quantity:
    """What is reported by a method: ware by area, a liquid as it is, all else by mass."""
    if method.fraction == "released":
        return "release_per_area"
    return "concentration" if method.uncertainty.mass_g == "0" else "content"


def due(method: Method, concentration: Decimal) -> float:
    """What a portion of this solution comes to, in mg/L, ug/g or mg/dm2."""
    in_mg_per_l = Fraction(concentration) * unit_factor(method.solution_unit, "mg/L")
    over = {
        "concentration": Fraction(1),
        "content": Fraction(_VOLUME_ML) / Fraction(_MASS_G),
        "release_per_area": Fraction(_VOLUME_ML) / Fraction(_AREA_DM2) / 1000,
    }
    return float(in_mg_per_l * over[quantity_of(method)])


def bench(method: Method, portions: Iterable[Portion]) -> Bench:
    """What calculating needs: two samples of one product, its specification without a limit, two lots."""
    own = {(one.batch, one.portion): one for one in portions}
    units = {"concentration": "mg/L", "content": "ug/g", "release_per_area": "mg/dm2"}
    asked = Requirement(
        element=method.element,
        quantity=quantity_of(method),
        unit=units[quantity_of(method)],
        methods=(method.id,),
        portions=1,
        lower="",
        upper="",
        rule="simple",
        rounding="half_up",
        decimals=-1,
        exceedance_means="report",
        limit_source="",
    )
    product = Specification("specification", "product", "Product", "Product", "C-1", "", "", (asked,))
    rows = {number: Sample(number, _row(number)) for number in ("S-00001", "S-00002")}
    return Bench("0" * 64, own, rows, {"product": (REF, product)}, {lot.lot: lot for lot in lots(method)})


def _row(number: str) -> SampleRow:
    return SampleRow(number, "Product", "C-1", "product", "", "", "", "", "2026-02-27", "", "", "")


def lots(method: Method) -> tuple[StandardLot, ...]:
    """A lot to calibrate with, and one of another maker."""
    return (
        StandardLot(
            "L-1", method.element, "calibration", "1000", "mg/L", "0.2", "a", "C-1", "2026-01-02", "2026-12-31"
        ),
        StandardLot(
            "L-2", method.element, "second_source", "1000", "mg/L", "0.3", "b", "C-2", "2026-01-02", "2026-12-31"
        ),
    )
