"""Sums of results, some of which may lie below their quantification limit: values of record in, one rounding.

What stands for a "<" part is a rule the parties state, known by its bound. Upper bound: the quantification limit
counts (public lexicon of the Polish institute NIZP-PZH, "upperbound concentration", which names the sum of several
substances; Regulation (EU) 2017/644, annex III 6.1, asks that upper and lower bound differ by no more than 20 % where
an exceedance is confirmed). Lower bound, zero, and medium bound, half the limit: from memory. Nothing is put in the
place of a "<" part without such a rule.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from math import floor
from typing import TYPE_CHECKING, assert_never

from benchseal.compute.conformity import Judgement, Limits, judge, judge_below
from benchseal.compute.rounding import TooManyDigitsError, places_of_uncertainty, reported, require_room, rounded_text
from benchseal.compute.run_numbers import decimal_text, exact_text, fraction_of, ratio_text, shown
from benchseal.compute.run_outcome import Judged, judge_outcome
from benchseal.records.ids import sum_id
from benchseal.records.quantities import PlainDecimal, plain, round_up_to_decimals, unit_factor
from benchseal.records.results import CALCULATION_RULES, BelowLimit, NotReportable, Outcome, Quantified
from benchseal.records.sums import SumPart, WorkedSum

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.results import WorkedResult
    from benchseal.records.run import DocumentRef
    from benchseal.records.specification import BoundRule, SumRequirement

_PART_OF_LIMIT: dict[BoundRule, Fraction] = {
    "lower_bound": Fraction(0),
    "medium_bound": Fraction(1, 2),
    "upper_bound": Fraction(1),
}
_ROOTS = Context(prec=60)
_ALMOST_WHOLE = Fraction(1, 10**9)  # rounding of u to twelve digits must not take a whole degree of freedom away
_LIMITS_TOGETHER = "The quantification limits together lie above the acceptance limit: no statement of conformity."


@dataclass(frozen=True, slots=True)
class Addend:
    """One result that may be a part, with the coverage factor of its method."""

    result: WorkedResult
    k: PlainDecimal


def is_part(result: WorkedResult, asked: SumRequirement) -> bool:
    """Whether a result is what a sum adds for its element: same quantity and basis, as the element itself."""
    return result.element in asked.elements and (result.quantity, result.basis, result.expressed_as) == (
        asked.quantity,
        asked.basis,
        "",
    )


def worked_sum(
    ledger: str, sample: str, asked: SumRequirement, specification: DocumentRef, results: Sequence[Addend]
) -> WorkedSum:
    """One sum of one sample, from all its results; not reportable where a part has no value.

    Value: sum of the parts' values of record, exact, rounded once to twelve digits. u: in quadrature, the parts taken
    as independent (JCGM 100, 5.1.2). A "<" part adds nothing to it at the lower bound, limit/sqrt(12) at the medium
    bound (anywhere between 0 and the limit, JCGM 100, 4.3.7), its own u at the limit at the upper bound. Degrees of
    freedom by Welch-Satterthwaite (JCGM 100, G.4), parts without any taken as infinite. k: the greatest of the parts.
    """
    found = [one for element in asked.elements for one in results if one.result.element == element]
    addends = [one for one in found if is_part(one.result, asked)]
    lost = _lost(asked, [one.result for one in addends])
    parts: tuple[SumPart, ...] = ()
    outcome: Outcome = lost or _NO_ROOM
    judged = Judged()
    if lost is None:
        try:
            parts = tuple(_part(one, asked) for one in addends)
            outcome, judged = _outcome(asked, addends, parts)
        except TooManyDigitsError:
            parts = ()
    return WorkedSum(
        sum_id=sum_id(ledger, sample, asked.id, asked.elements, asked.basis, asked.quantity, asked.bound),
        name=asked.id,
        sample=sample,
        elements=asked.elements,
        fraction=addends[0].result.fraction if addends else "",
        basis=asked.basis,
        quantity=asked.quantity,
        unit=asked.unit,
        bound=asked.bound,
        specification=specification,
        parts=parts,
        outcome=outcome,
        upper=asked.upper,
        rule=asked.rule,
        verdict=judged.verdict,
        acceptance_upper=judged.acceptance_upper,
        probability=judged.probability,
        comment_required=judged.comment_required,
        exceedance_means=asked.exceedance_means,
        calculation_rules=CALCULATION_RULES,
    )


_NO_ROOM = NotReportable("not_reportable", "sum.number-size", "a number of the sum has more digits than a record holds")


def _lost(asked: SumRequirement, results: Sequence[WorkedResult]) -> NotReportable | None:
    """Why there can be no sum, whatever the values are."""
    whys = []
    for element in asked.elements:
        own = [result for result in results if result.element == element]
        if len(own) != 1:
            whys.append(f"{element}: {'no result' if not own else f'{len(own)} results'}")
        whys += [f"{element}: {one.outcome.why}" for one in own if isinstance(one.outcome, NotReportable)]
    if whys:
        return NotReportable("not_reportable", "sum.part-missing", f"a part has no value ({'; '.join(whys)})")
    fractions = list(dict.fromkeys(result.fraction for result in results))
    if len(fractions) > 1:
        named = " and ".join(fractions)
        return NotReportable("not_reportable", "sum.fractions-differ", f"its parts are of several fractions: {named}")
    return None


def _part(addend: Addend, asked: SumRequirement) -> SumPart:
    """What one result counts for, in the unit of the sum."""
    result, outcome = addend.result, addend.result.outcome
    factor = unit_factor(result.unit, asked.unit)
    match outcome:
        case Quantified():
            value, counted, variance = outcome.value, fraction_of(outcome.value), fraction_of(outcome.u) ** 2
            df = outcome.df
        case BelowLimit():
            value, df = outcome.limit, ""
            counted = fraction_of(value) * _PART_OF_LIMIT[asked.bound]
            variance = _variance_below(result, fraction_of(value), asked.bound)
        case NotReportable():
            raise AssertionError("refused above")
        case _:
            assert_never(outcome)
    return SumPart(
        result_id=result.result_id,
        element=result.element,
        unit=result.unit,
        is_below=isinstance(outcome, BelowLimit),
        value=value,
        counted=exact_text(counted * factor),
        u=_root_text(variance * factor * factor),
        df=df,
        k=addend.k,
    )


def _variance_below(result: WorkedResult, limit: Fraction, bound: BoundRule) -> Fraction:
    match bound:
        case "lower_bound":
            return Fraction(0)
        case "medium_bound":
            return limit * limit / 12
        case "upper_bound":  # the budget of a "<" result is taken at its limit
            return sum((fraction_of(one.u) ** 2 for one in result.contributions), Fraction(0))
        case _:
            assert_never(bound)


def _outcome(asked: SumRequirement, addends: Sequence[Addend], parts: Sequence[SumPart]) -> tuple[Outcome, Judged]:
    total = sum((fraction_of(part.counted) for part in parts), Fraction(0))
    variances = [fraction_of(part.u) ** 2 for part in parts]
    u, df = _root_text(sum(variances, Fraction(0))), _degrees(parts, variances)
    k = max((part.k for part in parts), key=Decimal)
    below = [part.is_below for part in parts]
    if all(below) and asked.bound == "upper_bound":
        limit = _below(asked, addends, total)
        return limit, _judge_below(asked, limit, u, k)
    found = _quantified(asked, ratio_text(total), u, df, k)
    if Decimal(u) == 0:
        return found, _judge_exact(asked, found)
    judged = judge_outcome(asked.as_line(), found, u, k)
    if any(below) and judged.verdict in {"fail", "conditional fail"}:
        least = sum((fraction_of(part.counted) for part in parts if not part.is_below), Fraction(0))
        if least <= fraction_of(asked.upper):
            said = (
                f"Without the parts below their quantification limit the sum is {shown(ratio_text(least), 6)}, "
                f"which does not exceed the limit {asked.upper}."
            )
            return found, _with_comment(judged, said)
    return found, judged


def _quantified(
    asked: SumRequirement, value: PlainDecimal, u: PlainDecimal, df: PlainDecimal, k: PlainDecimal
) -> Quantified:
    """As reported: value and U to one place. Without any u (no part quantified, lower bound) U is left out."""
    expanded = Decimal(u) * Decimal(k)
    decimals = asked.decimals if asked.decimals >= 0 else None
    if expanded == 0:
        text = rounded_text(Decimal(value), asked.rounding, decimals=decimals or 0)
        return Quantified("quantified", value, u, df, k, text, "")
    texts = reported(Decimal(value), expanded, asked.rounding, decimals=decimals)
    return Quantified("quantified", value, u, df, k, texts.value_text, texts.expanded_text)


def _below(asked: SumRequirement, addends: Sequence[Addend], total: Fraction) -> BelowLimit:
    """``<`` and the sum of the limits, rounded up; the sum of what was found is kept for the record."""
    limit = ratio_text(total)
    places = asked.decimals if asked.decimals >= 0 else places_of_uncertainty(Decimal(limit))
    require_room(Decimal(limit), places)
    found = Fraction(0)
    for one in addends:
        if isinstance(one.result.outcome, BelowLimit):
            found += fraction_of(one.result.outcome.value) * unit_factor(one.result.unit, asked.unit)
    text = plain(round_up_to_decimals(Decimal(limit), places))
    return BelowLimit("below_limit", limit, ratio_text(found), f"<{text}")


def _degrees(parts: Sequence[SumPart], variances: Sequence[Fraction]) -> PlainDecimal:
    """Welch-Satterthwaite, truncated downwards; empty where no part has an end to its degrees of freedom."""
    spent = Fraction(0)
    for part, variance in zip(parts, variances, strict=True):
        if part.df:
            spent += variance * variance / fraction_of(part.df)
    if spent == 0:
        return ""
    return str(floor(sum(variances, Fraction(0)) ** 2 / spent * (1 + _ALMOST_WHOLE)))


def _judge_below(asked: SumRequirement, limit: BelowLimit, u: PlainDecimal, k: PlainDecimal) -> Judged:
    if not asked.upper:
        return Judged()
    found = judge_below(asked.rule, Decimal(limit.limit), Limits(asked.upper), u=Decimal(u), k=Decimal(k))
    if not isinstance(found, Judgement):
        return Judged(comment_required=_LIMITS_TOGETHER)
    return _of(found)


def _judge_exact(asked: SumRequirement, found: Quantified) -> Judged:
    """A sum without uncertainty: zero, because nothing was quantified and nothing counts."""
    if not asked.upper:
        return Judged()
    judged = judge(asked.rule, Decimal(found.value), Limits(asked.upper), u=Decimal(0), k=Decimal(found.k))
    return _of(judged) if isinstance(judged, Judgement) else Judged()


def _of(found: Judgement) -> Judged:
    upper = "" if found.acceptance_upper is None else plain(found.acceptance_upper)
    return Judged(found.verdict, "", upper)


def _with_comment(judged: Judged, said: str) -> Judged:
    words = " ".join(part for part in (judged.comment_required, said) if part)
    return Judged(judged.verdict, judged.acceptance_lower, judged.acceptance_upper, judged.probability, words)


def _root_text(variance: Fraction) -> PlainDecimal:
    """Square root as value of record: one division, one root, one rounding."""
    ratio = _ROOTS.divide(Decimal(variance.numerator), Decimal(variance.denominator))
    return decimal_text(_ROOTS.sqrt(ratio))
