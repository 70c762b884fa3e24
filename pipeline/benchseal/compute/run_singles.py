"""Limits on single portions: a mean within its limit does not hide a portion outside of one.

FDA guidance on out-of-specification results (2022), IV.C.1, second hand: what each result is held against is fixed
before. The uncertainty of record is that of the mean of portions, so a single portion is compared without one: its
value by the rules ``simple`` and ``pharma``, a value below its quantification limit by that limit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from benchseal.compute.conformity import Judgement, Limits, judge, judge_below
from benchseal.compute.run_numbers import shown_against
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.run_outcome import Judged
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import PortionVerdict
    from benchseal.records.specification import Requirement

_NAMED: Final = 4  # portions; each portion's verdict stands beside it in the record


@dataclass(frozen=True, slots=True)
class Single:
    """One portion of a result. value, limit: in the result's unit, limit the quantification limit; no value: empty."""

    name: str
    value: PlainDecimal
    limit: PlainDecimal


def asked_of_singles(requirement: Requirement) -> bool:
    """Whether the line of the specification has a limit for single portions."""
    return bool(requirement.portion_lower or requirement.portion_upper)


def single_verdict(requirement: Requirement, value: PlainDecimal, limit: PlainDecimal) -> PortionVerdict:
    """Verdict on one portion by its own limits; empty where none are asked, or the portion has no value."""
    if not value or not asked_of_singles(requirement):
        return ""
    limits = Limits(upper=requirement.portion_upper or None, lower=requirement.portion_lower or None)
    if limit and Decimal(value) < Decimal(limit):
        found = judge_below(requirement.rule, Decimal(limit), limits)
    else:
        found = judge(requirement.rule, Decimal(value), limits)
    if not isinstance(found, Judgement):
        return "none"
    return "pass" if found.verdict == "pass" else "fail"


def with_singles(judged: Judged, requirement: Requirement, singles: Sequence[Single]) -> Judged:
    """The verdict on the mean, with what its portions add: one outside fails the result, one unsaid leaves it unsaid.

    A mean that fails is not mended by its portions; words say which portion it is, and ask a person to comment.
    """
    if not asked_of_singles(requirement):
        return judged
    verdicts = [single_verdict(requirement, one.value, one.limit) for one in singles]
    outside = [one for one, verdict in zip(singles, verdicts, strict=True) if verdict == "fail"]
    unsaid = [one.name for one, verdict in zip(singles, verdicts, strict=True) if verdict in {"none", ""}]
    verdict = judged.verdict
    if outside:
        verdict = "fail"
    elif unsaid and verdict == "pass":
        verdict = "none"
    words = [judged.comment_required, _outside(requirement, outside), _unsaid(unsaid)]
    return replace(judged, verdict=verdict, comment_required=" ".join(text for text in words if text))


def singles_limit(requirement: Requirement) -> str:
    """``at least 0.40, at most 0.80 mg/kg``: the limits of single portions in words; empty without any."""
    sides = (("at least", requirement.portion_lower), ("at most", requirement.portion_upper))
    said = [f"{side} {text}" for side, text in sides if text]
    return f"{', '.join(said)} {unit_shown(requirement.unit)}" if said else ""


def _outside(requirement: Requirement, outside: Sequence[Single]) -> str:
    if not outside:
        return ""
    limits = (requirement.portion_lower, requirement.portion_upper)
    named = [f"{one.name} ({shown_against(one.value, *limits)})" for one in outside[:_NAMED]]
    several = len(outside) > 1
    return (
        f"Portion{'s' if several else ''} {', '.join(named)}{_rest(len(outside))} lie{'' if several else 's'} outside "
        f"the limit of single portions, {singles_limit(requirement)}."
    )


def _unsaid(names: Sequence[str]) -> str:
    if not names:
        return ""
    several = "s" if len(names) > 1 else ""
    return (
        f"Of portion{several} {', '.join(names[:_NAMED])}{_rest(len(names))} it cannot be said whether the limit of "
        "single portions is kept."
    )


def _rest(count: int) -> str:
    return f" and {count - _NAMED} more" if count > _NAMED else ""
