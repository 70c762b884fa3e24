"""Results of one run: for every visible sample, each requirement this element and method serve."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.run_budget import Share, Uncertainty, uncertainty_of
from benchseal.compute.run_numbers import exact_text, fraction_of, record_text
from benchseal.compute.run_outcome import Judged, below, below_limit, judge_outcome, quantified
from benchseal.compute.run_portions import Net, expression_of, factor_of, loss_of, net_of, steps_factor
from benchseal.compute.run_prepared_checks import sample_portions
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_singles import Single, single_verdict, with_singles
from benchseal.records.ids import result_id
from benchseal.records.quantities import plain
from benchseal.records.results import CALCULATION_RULES, NotReportable, Outcome, WorkedPortion, WorkedResult

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from fractions import Fraction

    from benchseal.compute.run_measured import Measured
    from benchseal.compute.run_portions import Chosen, PortionKey
    from benchseal.records.preparation import Portion
    from benchseal.records.run import DocumentRef
    from benchseal.records.specification import Requirement

_NAMED = 4  # labels and reasons; every portion's own reason stands beside it


@dataclass(frozen=True, slots=True)
class _Row:
    """One reading or unread portion of a result. net: set for the readings that count; limit: where computable."""

    portion: Portion
    measured: Measured | None
    net: Net | None
    factor: Fraction | None
    limit: str
    value: str
    loss: Loss | None


def results_of(chosen: Chosen, lost: Mapping[tuple[str, str], Loss]) -> tuple[WorkedResult, ...]:
    """Results in the order in which samples were first presented, then of their specification's requirements.

    lost: sample and batch to why it gets no value, where a required check on it failed.
    """
    batches: dict[str, list[str]] = {}
    for sample, batch in sample_portions(chosen):
        batches.setdefault(sample, []).append(batch)
    return tuple(
        _result(chosen, (sample, tuple(own)), asked, lost)
        for sample, own in batches.items()
        for asked in requirements_of(chosen, sample)
    )


def shares_of(chosen: Chosen, sample: str, requirement: Requirement) -> tuple[Share, ...]:
    """What the readings that count put into the value of one line of a sample's specification, portion by portion."""
    batches = tuple(batch for own, batch in sample_portions(chosen) if own == sample)
    rows = _rows(chosen, sample, batches, requirement)
    return tuple(_share(row, at_limit=False) for row in rows if row.net is not None)


def requirements_of(chosen: Chosen, sample: str) -> tuple[tuple[DocumentRef, Requirement], ...]:
    """The lines of a sample's specification that this element and method serve."""
    ref, specification = chosen.bench.specifications[chosen.bench.samples[sample].row.specification]
    return tuple(
        (ref, requirement)
        for requirement in specification.requirements
        if requirement.element == chosen.element and chosen.method.id in requirement.methods
    )


def _result(
    chosen: Chosen,
    of: tuple[str, tuple[str, ...]],
    asked: tuple[DocumentRef, Requirement],
    lost: Mapping[tuple[str, str], Loss],
) -> WorkedResult:
    """One result. of: sample and the batches read of it; asked: the specification and its line."""
    (sample, batches), (ref, requirement) = of, asked
    rows = tuple(_rows(chosen, sample, batches, requirement))
    used = [row for row in rows if row.net is not None]
    limits = [Decimal(row.limit) for row in rows if row.limit and (row.net is not None or not used)]
    limit = plain(max(limits)) if limits else ""
    obstacle = _obstacle(sample, batches, requirement, rows, lost)
    outcome, uncertainty, judged = _outcome(chosen, requirement, used, limit, obstacle)
    if not isinstance(outcome, NotReportable):
        judged = with_singles(judged, requirement, _singles(rows))
    method = chosen.method
    return WorkedResult(
        result_id=_name(chosen, sample, requirement),
        sample=sample,
        element=method.element,
        fraction=method.fraction,
        basis=requirement.basis,
        quantity=requirement.quantity,
        unit=requirement.unit,
        method=chosen.run.method_ref,
        specification=ref,
        outcome=outcome,
        quantification_limit=limit,
        detection_limit=_detection_limit(chosen, used or rows),
        portions=tuple(_worked(chosen, row, requirement) for row in rows),
        contributions=uncertainty.contributions,
        lower=requirement.lower,
        upper=requirement.upper,
        rule=requirement.rule,
        verdict=judged.verdict,
        acceptance_lower=judged.acceptance_lower,
        acceptance_upper=judged.acceptance_upper,
        probability=judged.probability,
        comment_required=judged.comment_required,
        exceedance_means=requirement.exceedance_means,
        calculation_rules=CALCULATION_RULES,
        expressed_as=requirement.expressed_as,
        expression_factor=_expression(requirement),
    )


def _name(chosen: Chosen, sample: str, requirement: Requirement) -> str:
    of = (chosen.method.element, chosen.method.fraction, requirement.basis, requirement.quantity)
    return result_id(chosen.bench.ledger, sample, *of, requirement.expressed_as)


def _expression(requirement: Requirement) -> str:
    """Empty also where the factor cannot be given: then there is no value either, and the result says why."""
    try:
        return expression_of(requirement)
    except ValueError:
        return ""


def _outcome(
    chosen: Chosen, requirement: Requirement, used: Sequence[_Row], limit: str, obstacle: Loss | None
) -> tuple[Outcome, Uncertainty, Judged]:
    if obstacle is not None:
        return NotReportable("not_reportable", obstacle.code, obstacle.why), Uncertainty("", "", ()), Judged()
    values, limits = [row.value for row in used], [row.limit for row in used]
    small, k = below_limit(values, limits), chosen.method.uncertainty.coverage_factor
    uncertainty = uncertainty_of(chosen, requirement, [_share(row, at_limit=small) for row in used])
    outcome: Outcome = below(requirement, values, limit) if small else quantified(requirement, values, uncertainty, k)
    return outcome, uncertainty, judge_outcome(requirement, outcome, uncertainty.u, k)


def _singles(rows: Sequence[_Row]) -> tuple[Single, ...]:
    """Each portion of a result once, by the reading that counts; one entered as not determined was never measured."""
    found: dict[PortionKey, Single] = {}
    for row in rows:
        key = (row.portion.batch, row.portion.portion)
        if row.net is not None or (key not in found and not row.portion.not_determined):
            found[key] = Single(row.portion.portion, row.value, row.limit)
    return tuple(found.values())


def _share(row: _Row, *, at_limit: bool) -> Share:
    """Proportional terms are taken of the value, or of the limit for a "<" result, which is judged by its limit."""
    if row.net is None or row.factor is None:
        raise AssertionError("only readings that count have a share")
    return Share(row.net, float(row.factor), abs(float(row.limit if at_limit else row.value)))


def _obstacle(
    sample: str,
    batches: tuple[str, ...],
    requirement: Requirement,
    rows: Sequence[_Row],
    lost: Mapping[tuple[str, str], Loss],
) -> Loss | None:
    """Why there can be no result, whatever the portions say."""
    if len(batches) > 1:
        words = f"portions of batches {', '.join(batches)} were read in one run; a result is made of one batch"
        return Loss("portions.several-batches", words)
    count = sum(row.net is not None for row in rows)
    if count < requirement.portions:
        without = [row for row in rows if row.loss is not None and row.loss.code != "portion.not-used"]
        code = next((row.loss.code for row in without if row.loss is not None), "portions.too-few")
        return Loss(code, _too_few(count, requirement.portions, without))
    return lost.get((sample, batches[0]))


def _too_few(count: int, asked: int, without: Sequence[_Row]) -> str:
    """``0 of 2 portions give a value (A, B: Check blank ...)``: portions of one reason together, the first named."""
    by_reason: dict[str, dict[str, None]] = {}
    for row in without:
        if row.loss is not None:
            by_reason.setdefault(row.loss.why, {})[row.portion.portion] = None
    named = [f"{', '.join(_first([*labels], _NAMED))}: {why}" for why, labels in by_reason.items()]
    reasons = "; ".join(_first(named, _NAMED))
    what = "portion gives" if asked == 1 else "portions give"
    return f"{count} of {asked} {what} a value" + (f" ({reasons})" if reasons else "")


def _first(texts: Sequence[str], most: int) -> list[str]:
    rest = len(texts) - most
    return [*texts[:most], *([f"{rest} more"] if rest > 0 else [])]


def _rows(chosen: Chosen, sample: str, batches: tuple[str, ...], requirement: Requirement) -> Iterator[_Row]:
    """Every reading of the sample's portions in presented order, then its portions of these batches not read."""
    read: set[PortionKey] = set()
    for one in chosen.measured:
        portion = one.portion
        if portion is not None and portion.sample == sample and portion.kind in {"sample", "duplicate"}:
            read.add(one.key)
            yield _row(chosen, portion, one, requirement)
    for key in sorted(chosen.bench.portions):
        portion = chosen.bench.portions[key]
        if (
            portion.sample == sample
            and portion.batch in batches
            and portion.kind in {"sample", "duplicate"}
            and chosen.element in portion.elements
            and key not in read
        ):
            yield _row(chosen, portion, None, requirement)


def _row(chosen: Chosen, portion: Portion, one: Measured | None, requirement: Requirement) -> _Row:
    key = (portion.batch, portion.portion)
    factor = factor_of(requirement, chosen.method.solution_unit, portion)
    loss = loss_of(chosen, key) if one is None else chosen.lost.get(one.position)
    net = net_of(chosen, key) if loss is None else loss
    if isinstance(factor, Loss):
        return _Row(portion, one, None, None, "", "", loss or factor)
    limit = ""
    if one is not None:
        dilution = steps_factor(portion, chosen.element) * one.extra
        limit = record_text(float(fraction_of(chosen.method.lowest_level) * dilution * factor))
    if isinstance(net, Loss):
        return _Row(portion, one, None, factor, limit, "", net)
    return _Row(portion, one, net, factor, limit, record_text(net.value * float(factor)), None)


def _detection_limit(chosen: Chosen, rows: Sequence[_Row]) -> str:
    """The greatest of the portions', from the method's detection level; empty where the method has none."""
    level = chosen.method.detection_level
    found = [
        fraction_of(level) * steps_factor(row.portion, chosen.element) * row.measured.extra * row.factor
        for row in rows
        if level and row.measured is not None and row.factor is not None
    ]
    return record_text(float(max(found))) if found else ""


def _worked(chosen: Chosen, row: _Row, requirement: Requirement) -> WorkedPortion:
    portion, one, net = row.portion, row.measured, row.net
    extra = fraction_of("1") if one is None else one.extra
    return WorkedPortion(
        batch=portion.batch,
        portion=portion.portion,
        position=0 if one is None else one.position,
        lines=() if one is None else one.lines,
        signals=() if one is None else one.signals,
        mean_signal="" if one is None else one.mean_signal,
        rsd_percent="" if one is None else one.rsd_percent,
        solution_value="" if one is None else one.x_text,
        u_solution="" if one is None else one.u_text,
        extra_dilution=exact_text(extra),
        steps=portion.dilutions.get(chosen.element, ()),
        dilution=exact_text(steps_factor(portion, chosen.element) * extra),
        blank_value="" if net is None or net.blank is None else record_text(net.blank.value),
        mass_g=portion.mass_g,
        volume_ml=portion.volume_ml,
        area_dm2=portion.area_dm2,
        unit_mass_g=portion.unit_mass_g,
        value=row.value,
        quantification_limit=row.limit,
        why="" if row.loss is None else row.loss.why,
        moisture_percent=portion.moisture_percent if requirement.basis == "dry" else "",
        series=() if one is None or one.series is None else (one.series,),
        bracket=() if one is None or one.bracket is None else (one.bracket,),
        drift=() if one is None or one.drift is None else (one.drift,),
        verdict=single_verdict(requirement, row.value, row.limit),
    )
