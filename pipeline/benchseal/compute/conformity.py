"""Verdicts by a specification's decision rule, in exact decimal arithmetic.

Sources: ILAC-G8:09/2019 (simple, guarded, nonbinary), USP General Notices 7.20 (pharma; secondary quote), JCGM 106
(probability); EU practice for food controls (beyond_doubt; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from typing import Literal, TypeAlias

from benchseal.compute.quantiles import normal_below
from benchseal.compute.rounding import rounded_text
from benchseal.records.quantities import PlainDecimal, decimal_of, decimals_of

DecisionRule: TypeAlias = Literal["simple", "guarded", "guarded_5", "nonbinary", "pharma", "beyond_doubt"]
Verdict: TypeAlias = Literal["pass", "fail", "conditional pass", "conditional fail"]
RoundTo: TypeAlias = Literal["decimals", "significant"]
NoVerdict: TypeAlias = Literal["u_missing", "unusable_specification", "limit_above_upper", "limit_above_lower"]

_EXACT = Context(prec=420)  # enough for any sum of numbers between 1e-30 and 1e30 of 64 characters
_GUARD_5 = Decimal("1.645")  # one-sided 5 %, normal model: computed


@dataclass(frozen=True, slots=True)
class Limits:
    """A specification's limits as printed, in the unit of the value; at least one is given.

    "Not more than" and "not less than" include the limit; "less than" and "more than" do not.
    """

    upper: PlainDecimal | None = None
    lower: PlainDecimal | None = None
    upper_included: bool = True
    lower_included: bool = True


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict, the acceptance limits it used, and for "pharma" the rounded value as compared."""

    verdict: Verdict
    acceptance_upper: Decimal | None = None
    acceptance_lower: Decimal | None = None
    rounded: PlainDecimal | None = None


def judge(  # noqa: PLR0913  one parameter for each thing a rule may ask
    rule: DecisionRule,
    value: Decimal,
    limits: Limits,
    *,
    u: Decimal | None = None,
    k: Decimal = Decimal(2),
    round_to: RoundTo = "decimals",
) -> Judgement | NoVerdict:
    """Verdict on a quantified value. ``u`` is the standard uncertainty, U = k u; simple and pharma need none.

    round_to: how "pharma" rounds, to the decimals or (European Pharmacopoeia, secondary) to the significant
    digits of the limit as written. Raises ValueError when that needs more than 50 digits.
    """
    if rule == "pharma":
        return _pharma(value, limits, round_to)
    if rule != "simple" and u is None:
        return "u_missing"
    with localcontext(_EXACT):
        guard = _guard(rule, u, k)
        zone = _zone(limits, guard)
        if _empty(zone) and guard > 0:
            return "unusable_specification"
        verdict: Verdict = "pass" if _within(value, zone) else "fail"
        if rule == "nonbinary" and verdict == "fail":
            verdict = _conditional(value, limits, guard)
        return Judgement(verdict, zone.upper, zone.lower)


def judge_below(
    rule: DecisionRule, reporting_limit: Decimal, limits: Limits, *, u: Decimal | None = None, k: Decimal = Decimal(2)
) -> Judgement | NoVerdict:
    """Verdict on a result "< L". It complies when L itself does not exceed the acceptance limit, else no statement.

    A lower limit cannot be tested by it: no statement, never L/2 or zero. ``u`` at L, where the rule has a guard.
    """
    if limits.lower is not None:
        return "limit_above_lower"
    if rule not in ("simple", "pharma", "beyond_doubt") and u is None:
        return "u_missing"
    with localcontext(_EXACT):
        guard = max(_guard(rule, u, k), Decimal(0)) if rule not in ("pharma", "beyond_doubt") else Decimal(0)
        zone = _zone(limits, guard)
        if zone.upper is None or reporting_limit > zone.upper:
            return "limit_above_upper"
        return Judgement("pass", zone.upper, None)


def probability_of_conformity(value: Decimal, u: Decimal, limits: Limits) -> float:
    """Normal model about the value, u > 0: for information, not the rule. JCGM 106 (clause from memory)."""
    with localcontext(_EXACT):
        above = float((decimal_of(limits.upper) - value) / u) if limits.upper is not None else None
        below = float((decimal_of(limits.lower) - value) / u) if limits.lower is not None else None
    if below is None:
        return normal_below(above) if above is not None else 1.0
    if above is None:
        return normal_below(-below)
    if below > 0:  # both limits above the value: the upper tails, so that nothing cancels
        return normal_below(-below) - normal_below(-above)
    return normal_below(above) - normal_below(below)


@dataclass(frozen=True, slots=True)
class _Zone:
    upper: Decimal | None
    lower: Decimal | None
    upper_included: bool
    lower_included: bool


def _guard(rule: DecisionRule, u: Decimal | None, k: Decimal) -> Decimal:
    """Width taken off each limit; negative widens."""
    if rule == "simple" or u is None:
        return Decimal(0)
    if rule == "guarded_5":
        return _GUARD_5 * u
    return -(k * u) if rule == "beyond_doubt" else k * u


def _zone(limits: Limits, guard: Decimal) -> _Zone:
    upper = None if limits.upper is None else decimal_of(limits.upper) - guard
    lower = None if limits.lower is None else decimal_of(limits.lower) + guard
    return _Zone(upper, lower, limits.upper_included, limits.lower_included)


def _empty(zone: _Zone) -> bool:
    """Whether a guarded interval leaves nothing: TU - TL > 2w is asked."""
    return zone.upper is not None and zone.lower is not None and zone.upper <= zone.lower


def _within(value: Decimal, zone: _Zone) -> bool:
    if zone.upper is not None and (value > zone.upper or (value == zone.upper and not zone.upper_included)):
        return False
    return zone.lower is None or value > zone.lower or (value == zone.lower and zone.lower_included)


def _conditional(value: Decimal, limits: Limits, guard: Decimal) -> Verdict:
    if _within(value, _zone(limits, Decimal(0))):
        return "conditional pass"
    return "conditional fail" if _within(value, _zone(limits, -guard)) else "fail"


def _pharma(value: Decimal, limits: Limits, round_to: RoundTo) -> Judgement:
    """Round once to each limit as it is written, then compare; limits are never rounded."""
    upper = None if limits.upper is None else _as_written(value, limits.upper, round_to)
    lower = None if limits.lower is None else _as_written(value, limits.lower, round_to)
    fine_above = upper is None or _within(
        Decimal(upper), _zone(Limits(limits.upper, None, limits.upper_included), Decimal(0))
    )
    fine_below = lower is None or _within(
        Decimal(lower), _zone(Limits(None, limits.lower, True, limits.lower_included), Decimal(0))
    )
    shown = lower if upper is None or not fine_below else upper
    acceptance = [None if text is None else decimal_of(text) for text in (limits.upper, limits.lower)]
    return Judgement("pass" if fine_above and fine_below else "fail", acceptance[0], acceptance[1], shown)


def _as_written(value: Decimal, limit: PlainDecimal, round_to: RoundTo) -> PlainDecimal:
    if round_to == "decimals":
        return rounded_text(value, "half_up", decimals=decimals_of(limit))
    digits = limit.lstrip("-").replace(".", "").lstrip("0")
    return rounded_text(value, "half_up", significant=max(1, len(digits)))
