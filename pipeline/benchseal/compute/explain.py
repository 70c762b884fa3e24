"""The worked calculation of one result in plain text, numbers put in. It renders the record and computes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from benchseal.records.quantities import unit_factor, unit_shown
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Calibration, WorkedPortion, WorkedResult
    from benchseal.records.specification import Quantity

_CURVES = {
    "line": "A = b0 + b1 c",
    "line_through_zero": "A = b1 c",
    "quadratic": "A = b0 + b1 c + b2 c²",
}
_INVERSIONS = {
    "line": "c = (A - b0)/b1 = ({a} - {b0})/{b1}",
    "line_through_zero": "c = A/b1 = {a}/{b1}",
    "quadratic": "c = 2 (A - b0)/(b1 + √(b1² - 4 b2 (b0 - A)))"
    " = 2 ({a} - {b0})/({b1} + √({b1}² - 4 x {b2} x ({b0} - {a})))",
}
_QUANTITY_WORDS: dict[Quantity, str] = {
    "concentration": "concentration",
    "content": "content",
    "amount_per_unit": "amount per unit",
    "percent_of_claim": "percent of claim",
    "release_per_area": "release per area",
}


def explain(work: WorkedResult, calibration: Calibration, claim_mg: PlainDecimal = "") -> tuple[str, ...]:
    """Lines from raw readings to verdict. ``calibration`` is the run's; ``claim_mg`` the requirement's, if any.

    Every number is the record's own text, so that a reader with a calculator gets the next one.
    """
    unit, method, specification = unit_shown(work.unit), work.method, work.specification
    what = f"{_QUANTITY_WORDS[work.quantity]} in {unit}, {work.basis}"
    versions = f"method {method.id} version {method.version}, specification {specification.id} version"
    return (
        f"{work.element} ({work.fraction}), sample {work.sample}: {what}",
        f"{versions} {specification.version}, calculation rules {work.calculation_rules}",
        *_curve(calibration),
        *(line for portion in work.portions for line in _portion(work, calibration, portion, claim_mg)),
        *_outcome(work),
        *_limits(work),
    )


def _curve(of: Calibration) -> Iterator[str]:
    values = zip(_names(of), of.coefficients, of.standard_errors, strict=True)
    yield f"calibration: {_CURVES[of.model]}, weighting {of.weighting}, fitted on {of.fit_on}, n {of.n}, df {of.df}"
    yield from (f"  {name} = {value} (standard error {error})" for name, value, error in values)
    unit = unit_shown(of.unit)
    yield f"  from {of.lowest} to {of.highest} {unit}; residual sd {of.residual_sd} {of.signal_unit}; r² {of.r_squared}"


def _names(of: Calibration) -> tuple[str, ...]:
    return ("b1",) if of.model == "line_through_zero" else ("b0", "b1", "b2")[: len(of.coefficients)]


def _portion(work: WorkedResult, of: Calibration, one: WorkedPortion, claim_mg: PlainDecimal) -> Iterator[str]:
    at = f", position {one.position}" if one.position else ""
    yield f"portion {one.portion} (batch {one.batch}){at}"
    if one.signals:
        lines = ", ".join(map(str, one.lines))
        yield f"  readings (file lines {lines}): {', '.join(one.signals)} {of.signal_unit}"
        scatter = f"; relative standard deviation {one.rsd_percent} %" if one.rsd_percent else ""
        yield f"  mean {one.mean_signal} {of.signal_unit}{scatter}"
    if one.solution_value:
        numbers = dict(zip(_names(of), of.coefficients, strict=True))
        inversion = _INVERSIONS[of.model].format(a=one.mean_signal, **numbers)
        yield f"  {inversion} = {one.solution_value} {unit_shown(of.unit)}, u = {one.u_solution}"
    if one.why:
        yield f"  no value: {one.why}"
        return
    yield from _dilution(one)
    if one.blank_value:
        yield f"  method blank, before dilution: {one.blank_value} {unit_shown(of.unit)}, taken off once"
    yield f"  {_product(work, of, one, claim_mg)} = {one.value} {unit_shown(work.unit)}"
    yield f"  quantification limit of this portion: {one.quantification_limit} {unit_shown(work.unit)}"


def _dilution(one: WorkedPortion) -> Iterator[str]:
    steps = [f"{step.aliquot_ml} mL to {step.final_ml} mL" for step in one.steps]
    if one.extra_dilution != "1":
        steps.append(f"{one.extra_dilution} times at the instrument")
    yield f"  dilution: {', then '.join(steps) if steps else 'none'}; whole factor {one.dilution}"


def _product(work: WorkedResult, of: Calibration, one: WorkedPortion, claim_mg: PlainDecimal) -> str:
    """The product that gives a portion's value, with units to follow it by."""
    net = f"{one.solution_value} x {one.dilution}"
    if one.blank_value:
        net = f"({net} - {one.blank_value})"
    solution = f"{net} {unit_shown(of.unit)}"
    volume, mass = f" x {one.volume_ml} mL", f" / {one.mass_g} g"
    match work.quantity:
        case "concentration":
            return f"{solution}{_to(of.unit, work.unit)}"
        case "content":
            return f"{solution}{_to(of.unit, 'mg/L')}{volume}{mass}{_to('ug/g', work.unit)}"
        case "amount_per_unit":
            return f"{solution}{_to(of.unit, 'mg/L')}{volume}{mass} x {one.unit_mass_g} g{_to('ug', work.unit)}"
        case "percent_of_claim":
            per_unit = f"{solution}{_to(of.unit, 'mg/L')}{volume}{mass} x {one.unit_mass_g} g"
            return f"{per_unit}{_to('ug', 'mg')} / {claim_mg or 'claim in'} mg x 100"
        case "release_per_area":
            return f"{solution}{_to(of.unit, 'mg/L')}{volume} / {one.area_dm2} dm²{_to('ug/dm2', work.unit)}"
        case _:
            assert_never(work.quantity)


def _to(unit: str, to: str) -> str:
    """The exact factor between two units, left out when it is 1."""
    factor = unit_factor(unit, to)
    return "" if factor == 1 else f" x {factor} ({unit_shown(unit)} to {unit_shown(to)})"


def _outcome(work: WorkedResult) -> Iterator[str]:
    outcome, unit = work.outcome, unit_shown(work.unit)
    match outcome:
        case NotReportable():
            yield f"not reportable ({outcome.code}): {outcome.why}"
        case BelowLimit():
            yield f"{_mean(work)} {outcome.value} {unit}: below the quantification limit {outcome.limit} {unit}"
            yield from _budget(work, f"uncertainty at the limit, {unit}")
            yield f"reported: {outcome.value_text} {unit}"
        case Quantified():
            yield f"{_mean(work)} {outcome.value} {unit}"
            yield from _budget(work, f"uncertainty, {unit}")
            df = f", effective degrees of freedom {outcome.df}" if outcome.df else ""
            yield f"  combined standard uncertainty u = {outcome.u}{df}"
            yield f"  expanded U = k u = {outcome.k} x {outcome.u}"
            yield f"reported, rounded once: {outcome.value_text} ± {outcome.expanded_text} {unit} (k = {outcome.k})"
        case _:
            assert_never(outcome)


def _mean(work: WorkedResult) -> str:
    used = [portion.value for portion in work.portions if not portion.why]
    return "value" if len(used) == 1 else f"mean of {len(used)} portions = ({' + '.join(used)})/{len(used)} ="


def _budget(work: WorkedResult, title: str) -> Iterator[str]:
    yield f"{title}:"
    yield from (f"  {one.name}: {one.u} ({one.share_percent} % of the variance)" for one in work.contributions)


def _limits(work: WorkedResult) -> Iterator[str]:
    unit = unit_shown(work.unit)
    if work.quantification_limit:
        yield f"quantification limit {work.quantification_limit} {unit}"
    if work.detection_limit:
        yield f"detection limit {work.detection_limit} {unit}"
    limits = [f"{side} {text}" for side, text in (("at least", work.lower), ("at most", work.upper)) if text]
    if not limits:
        yield "no limit is specified"
        return
    bounds = [text for text in (work.acceptance_lower, work.acceptance_upper) if text]
    accepted = f", acceptance limit {' to '.join(bounds)}" if bounds else ""
    yield f"limit {', '.join(limits)} {unit}; rule {work.rule}{accepted}: {work.verdict}"
    if work.probability:
        yield f"probability that the true value conforms (normal model, for information): {work.probability}"
    if work.comment_required:
        yield f"comment required: {work.comment_required}"
