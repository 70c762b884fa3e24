"""What a worked result comes to: the mean of its portions, what is reported, and the verdict with its rule."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final, assert_never

from benchseal.compute.explain_layout import STEP, counted, formula, prose, put, said, turned
from benchseal.compute.run_singles import asked_of_singles, singles_limit
from benchseal.records.quantities import unit_shown
from benchseal.records.results import BelowLimit, NotReportable, Quantified

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.explain_around import Around
    from benchseal.records.quantities import RoundingMode
    from benchseal.records.results import WorkedPortion, WorkedResult
    from benchseal.records.specification import DecisionRule, Requirement

_IN: Final = STEP + STEP
_ROUNDING: Final[dict[RoundingMode, tuple[str, str]]] = {
    "half_up": ("a half goes up, away from zero", "USP General Notices 7.20, secondary quote"),
    "half_even": ("a half goes to the even digit", "ISO 80000-1 rule A, from memory"),
}
_UP: Final = "always up (common practice, no source)"
_RULES: Final[dict[DecisionRule, str]] = {
    "simple": "the value itself is compared with the limit; the uncertainty does not move the limit",
    "guarded": "the value must keep U away from the limit",
    "guarded_5": "the value must keep 1.645 u away from the limit: a risk of at most about 5 % of a wrong pass",
    "nonbinary": "pass where the value keeps U away from the limit, conditional pass where it lies within the limit,"
    " conditional fail where it lies beyond it by less than U, else fail",
    "pharma": "the value is rounded once to the places of the limit as written, half up, and then compared; the"
    " uncertainty does not move the limit",
    "beyond_doubt": "fail only where the value lies beyond the limit by more than U",
}
_RULE_SOURCES: Final[dict[DecisionRule, str]] = {
    "simple": "ILAC-G8:09/2019, simple acceptance",
    "guarded": "ILAC-G8:09/2019, guard band U",
    "guarded_5": "ILAC-G8:09/2019; 1.645 is the one-sided normal quantile",
    "nonbinary": "ILAC-G8:09/2019, guard bands on both sides",
    "pharma": "USP General Notices 7.20, secondary quote",
    "beyond_doubt": "EU practice for food controls, from memory",
}
_BELOW: Final = 'a result "<" passes when its limit itself does not exceed the acceptance limit'
# What is taken off an upper limit and added to a lower one: with letters, with numbers.
_GUARDS: Final[dict[DecisionRule, tuple[str, str]]] = {
    "guarded": ("k u", "{k} x {u}"),
    "guarded_5": ("1.645 u", "1.645 x {u}"),
    "nonbinary": ("k u", "{k} x {u}"),
    "beyond_doubt": ("k u", "{k} x {u}"),
}
_EXCEEDED: Final = {
    "investigate": "the specification asks to investigate",
    "report": "the specification asks to report it",
    "notify": "the specification asks to notify the customer",
}


def mean_lines(result: WorkedResult) -> Iterator[str]:
    """The mean of the portions that count, or why there is no result."""
    outcome, unit = result.outcome, unit_shown(result.unit)
    yield ""
    if isinstance(outcome, NotReportable):
        yield from prose(f"No result ({outcome.code}): {outcome.why}")
        return
    used = [put(one.value) for one in result.portions if not one.why]
    if len(used) > 1:
        total = f"({' + '.join(used)}) / {len(used)}"
        yield from formula(f"Mean of {len(used)} portions", total, f"{outcome.value} {unit}")
    else:
        yield from prose(f"One portion makes the result: {outcome.value} {unit}")
    if isinstance(outcome, BelowLimit):
        yield from prose(
            f"This lies below the quantification limit {outcome.limit} {unit}: the result is less than it."
        )
        if result.detection_limit:
            above = Decimal(outcome.value) >= Decimal(result.detection_limit)
            side = "not below" if above else "below"
            said_of = "it is said to be detected" if above else "it is not said to be detected"
            yield from prose(f"It lies {side} the detection limit {result.detection_limit} {unit}: {said_of}.")


def reported_lines(of: Around, result: WorkedResult) -> Iterator[str]:
    """What is printed, and how it was rounded."""
    outcome, unit, requirement = result.outcome, unit_shown(result.unit), of.requirement(result)
    mode, source = _ROUNDING[requirement.rounding]
    match outcome:
        case NotReportable():
            return
        case BelowLimit():
            yield ""
            yield from prose(f"Reported: {outcome.value_text} {unit}")
            yield from prose(f"{outcome.limit} rounded once, {_UP}: {outcome.value_text.removeprefix('<')}", _IN)
        case Quantified():
            yield ""
            yield from prose(f"Reported: {outcome.value_text} ± {outcome.expanded_text} {unit}, with k {outcome.k}")
            yield from prose(f"{outcome.value} rounded once, {mode}: {outcome.value_text}", _IN)
            yield from said("source", source, _IN + STEP)
            yield from prose(f"U rounded to the same place, {_UP}: {outcome.expanded_text}", _IN)
        case _:
            assert_never(outcome)
    yield from prose(_places(requirement, outcome), _IN)


def verdict_lines(of: Around, result: WorkedResult) -> Iterator[str]:
    """Limits with their source, the rule with its source, the verdict."""
    requirement, unit = of.requirement(result), unit_shown(result.unit)
    yield ""
    limits = [f"{side} {text}" for side, text in (("at least", result.lower), ("at most", result.upper)) if text]
    if not limits:
        yield from prose("No limit is specified, so there is no verdict.")
        return
    yield from prose(f"Limit: {', '.join(limits)} {unit}")
    yield from _exposure(requirement)
    yield from said("source", requirement.limit_source, _IN)
    yield from said("Rule", _RULES[result.rule])
    yield from said("source", _RULE_SOURCES[result.rule], _IN)
    yield from said("agreement", of.specification.agreed, _IN)
    if isinstance(result.outcome, BelowLimit):
        yield from prose(_BELOW, _IN)
    yield from _acceptance(result)
    yield from _single_lines(requirement, result)
    yield from _verdict(result)


def _places(requirement: Requirement, outcome: Quantified | BelowLimit) -> str:
    if requirement.decimals >= 0:
        return f"{counted(requirement.decimals, 'decimal place')}, as the specification states"
    what = "of the limit" if isinstance(outcome, BelowLimit) else "of U"
    return f"to the place that keeps two significant digits {what}"


def _exposure(requirement: Requirement) -> Iterator[str]:
    """A limit that comes from a permitted daily exposure; it is rounded down to the places it is written with."""
    if not requirement.pde_ug_per_day or not requirement.daily_dose_g or not requirement.upper:
        return
    puts = f"{requirement.pde_ug_per_day} µg / {requirement.daily_dose_g} g{turned('ug/g', requirement.unit)}"
    value = f"{requirement.upper} {unit_shown(requirement.unit)}, rounded down"
    yield from formula("upper limit", "daily exposure / daily dose", puts, value, indent=_IN)
    yield from said("route of the exposure", requirement.route, _IN)


def _acceptance(result: WorkedResult) -> Iterator[str]:
    """The acceptance limits, where the rule moves the limits of the specification."""
    unit, outcome = unit_shown(result.unit), result.outcome
    sides = (("lower", result.lower, result.acceptance_lower), ("upper", result.upper, result.acceptance_upper))
    for side, limit, accepted in sides:
        if not accepted or accepted == limit:
            continue
        if not isinstance(outcome, Quantified) or result.rule not in _GUARDS:
            yield from prose(f"acceptance limit, {side}: {accepted} {unit}", _IN)
            continue
        letters, puts = _GUARDS[result.rule]
        sign = "-" if (side == "upper") != (result.rule == "beyond_doubt") else "+"
        numbers = f"{limit} {sign} {puts.format(k=outcome.k, u=outcome.u)}"
        name = f"acceptance limit, {side}"
        yield from formula(name, f"limit {sign} {letters}", numbers, f"{accepted} {unit}", indent=_IN)


def _single_lines(requirement: Requirement, result: WorkedResult) -> Iterator[str]:
    """Each portion against the limits of single portions, where the specification has some."""
    if not asked_of_singles(requirement) or isinstance(result.outcome, NotReportable):
        return
    yield from prose(f"Each portion: {singles_limit(requirement)}, by the same rule; one outside fails the result")
    for one in result.portions:
        if one.verdict:
            words = "no statement" if one.verdict == "none" else one.verdict
            yield from prose(f"{one.portion}: {_portion_compared(one)} {unit_shown(result.unit)}: {words}", _IN)


def _portion_compared(one: WorkedPortion) -> str:
    below = one.quantification_limit and Decimal(one.value) < Decimal(one.quantification_limit)
    return f"<{one.quantification_limit}" if below else one.value


def _verdict(result: WorkedResult) -> Iterator[str]:
    value = _compared(result)
    yield from prose(f"Verdict{value}: {'no statement' if result.verdict == 'none' else result.verdict}")
    if result.verdict in {"fail", "conditional fail"}:
        yield from said("outside the limit", _EXCEEDED[result.exceedance_means], _IN)
    if result.comment_required:
        yield from said("a person comments on this", result.comment_required, _IN)
    if result.probability:
        words = f"probability that the true value conforms, for information: {result.probability}"
        yield from prose(f"{words} (normal model about the value, JCGM 106, from memory)", _IN)


def _compared(result: WorkedResult) -> str:
    outcome, unit = result.outcome, unit_shown(result.unit)
    match outcome:
        case Quantified():
            return f" on {outcome.value} {unit}"
        case BelowLimit():
            return f" on <{outcome.limit} {unit}"
        case NotReportable():
            return ""
        case _:
            assert_never(outcome)
