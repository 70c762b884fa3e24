"""From a sample's portions to outcome and verdict: values of record in, every later step by Decimal, once."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.conformity import Judgement, Limits, NoVerdict, judge, judge_below, probability_of_conformity
from benchseal.compute.rounding import places_of_uncertainty, reported, require_room
from benchseal.compute.run_numbers import mean_text, shown
from benchseal.records.quantities import PlainDecimal, plain, round_to_decimals, round_up_to_decimals
from benchseal.records.results import BelowLimit, NotReportable, Outcome, Quantified, Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.run_budget import Uncertainty
    from benchseal.records.specification import Requirement

_NO_VERDICT_WORDS: dict[NoVerdict, str] = {
    "u_missing": "The rule needs an uncertainty: no statement of conformity.",
    "unusable_specification": "The limits lie closer together than the rule's guard bands: no statement of conformity.",
    "limit_above_upper": "The quantification limit lies above the acceptance limit: no statement of conformity.",
    "limit_above_lower": "Below the quantification limit nothing is said of a lower limit: no statement of conformity.",
}


@dataclass(frozen=True, slots=True)
class Judged:
    """The verdict's part of a result; texts empty where there is nothing to say."""

    verdict: Verdict = "none"
    acceptance_lower: PlainDecimal = ""
    acceptance_upper: PlainDecimal = ""
    probability: PlainDecimal = ""
    comment_required: str = ""


def below_limit(values: Sequence[PlainDecimal], limits: Sequence[PlainDecimal]) -> bool:
    """Whether portions make a "<" result: the mean of their values lies below the mean of their limits.

    All below their own limits implies it, all at or above excludes it; with portions on both sides it decides.
    """
    return sum(map(Decimal, values), Decimal(0)) < sum(map(Decimal, limits), Decimal(0))


def quantified(
    requirement: Requirement, values: Sequence[PlainDecimal], uncertainty: Uncertainty, k: PlainDecimal
) -> Quantified | NotReportable:
    """The mean of portions as reported: one rounding step from the values of record."""
    value, expanded = mean_text(values), Decimal(uncertainty.u) * Decimal(k)
    if expanded <= 0:
        return NotReportable("not_reportable", "uncertainty.zero", "no contribution to the uncertainty is above zero")
    decimals = requirement.decimals if requirement.decimals >= 0 else None
    texts = reported(Decimal(value), expanded, requirement.rounding, decimals=decimals)
    return Quantified(
        kind="quantified",
        value=value,
        u=uncertainty.u,
        df=uncertainty.df,
        k=k,
        value_text=texts.value_text,
        expanded_text=texts.expanded_text,
    )


def below(requirement: Requirement, values: Sequence[PlainDecimal], limit: PlainDecimal) -> BelowLimit:
    """``<`` and the greatest limit of the portions, rounded up; the mean is kept for the record."""
    number = Decimal(limit)
    places = requirement.decimals if requirement.decimals >= 0 else places_of_uncertainty(number)
    require_room(number, places)
    text = plain(round_up_to_decimals(number, places))
    return BelowLimit(kind="below_limit", limit=limit, value=mean_text(values), value_text=f"<{text}")


def judge_outcome(requirement: Requirement, outcome: Outcome, u: PlainDecimal, k: PlainDecimal) -> Judged:
    """Verdict by the requirement's rule; ``u`` is the uncertainty at the value, or at the limit of a "<" result."""
    if isinstance(outcome, NotReportable) or not (requirement.lower or requirement.upper):
        return Judged()
    limits = Limits(upper=requirement.upper or None, lower=requirement.lower or None)
    if isinstance(outcome, BelowLimit):
        return _no_comment(judge_below(requirement.rule, Decimal(outcome.limit), limits, u=Decimal(u), k=Decimal(k)))
    value, spread = Decimal(outcome.value), Decimal(outcome.u)
    found = judge(requirement.rule, value, limits, u=spread, k=Decimal(k))
    if not isinstance(found, Judgement):
        return Judged(comment_required=_NO_VERDICT_WORDS[found])
    conform = Decimal(probability_of_conformity(value, spread, limits))
    return Judged(
        verdict=found.verdict,
        acceptance_lower=_text(found.acceptance_lower),
        acceptance_upper=_text(found.acceptance_upper),
        probability=plain(round_to_decimals(conform, 6, "half_even")),
        comment_required=_borderline(requirement, outcome, found),
    )


def _no_comment(found: Judgement | NoVerdict) -> Judged:
    if not isinstance(found, Judgement):
        return Judged(comment_required=_NO_VERDICT_WORDS[found])
    return Judged(found.verdict, _text(found.acceptance_lower), _text(found.acceptance_upper))


def _borderline(requirement: Requirement, outcome: Quantified, found: Judgement) -> str:
    """Words a person must comment on: a value saved by rounding, or a limit within U of the value."""
    value, expanded = Decimal(outcome.value), Decimal(outcome.u) * Decimal(outcome.k)
    words = []
    limits = [text for text in (requirement.lower, requirement.upper) if text]
    outside = [
        text for text in limits if (value < Decimal(text) if text == requirement.lower else value > Decimal(text))
    ]
    if outside and found.verdict == "pass" and found.rounded is not None:
        words.append(
            f"Unrounded {shown(outcome.value, 6)} lies outside the limit {outside[0]}; rounded to its places it passes."
        )
    near = [text for text in limits if abs(value - Decimal(text)) <= expanded]
    words.extend(f"The limit {text} lies within the expanded uncertainty of the result." for text in near)
    return " ".join(words)


def _text(bound: Decimal | None) -> PlainDecimal:
    return "" if bound is None else plain(bound)
