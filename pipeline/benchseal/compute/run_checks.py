"""Checks read without preparation, and the one way every check is judged: by a rule's limits, on values of record."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.recovery import recovery_percent
from benchseal.compute.run_brackets import Bracket
from benchseal.compute.run_numbers import decimal_text
from benchseal.compute.run_words import CHECK_NAMES, Against
from benchseal.records.results import CheckVerdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.compute.run_measured import Measured
    from benchseal.records.method import CheckRule, Method
    from benchseal.records.quantities import PlainDecimal

SIMPLE_CHECKS = frozenset({"second_source", "check_standard", "check_blank"})
BLANKS = frozenset({"check_blank", "method_blank"})
ON_SAMPLES = frozenset({"spike", "portions_agree"})


def judged(
    rule: CheckRule, method: Method, positions: tuple[int, ...], found: PlainDecimal, *, place: str
) -> CheckVerdict:
    """``found`` held against the rule's limits, both ends allowed. A blank's magnitude counts.

    found: percent for ``limit_in`` percent, else in the solution unit. place: where, in words.
    """
    open_verdict = not_evaluated(rule, method, positions, "")
    against = Against(found, open_verdict.low, open_verdict.high, open_verdict.unit)
    why = "" if against.inside else f"{CHECK_NAMES[rule.check]} {place} read {against.words}"
    return replace(open_verdict, found=found, verdict="fail" if why else "pass", why=why)


def not_evaluated(rule: CheckRule, method: Method, positions: tuple[int, ...], why: str) -> CheckVerdict:
    """A check that could not be judged, and why; it never counts as passed."""
    return CheckVerdict(
        rule=rule.id,
        check=rule.check,
        positions=positions,
        expected="",
        found="",
        low=f"-{rule.high}" if rule.check in BLANKS else rule.low,
        high=rule.high,
        unit="%" if rule.limit_in == "percent" else method.solution_unit,
        verdict="not_evaluated",
        why=why,
        source=rule.source,
        made_on_sample=rule.check in ON_SAMPLES,
    )


def simple_checks(rule: CheckRule, method: Method, measured: Sequence[Measured]) -> tuple[CheckVerdict, ...]:
    """One verdict for each solution the rule is about, in presented order."""
    return tuple(
        _judge_solution(rule, method, one, _place(one, measured))
        for one in measured
        if one.kind == rule.check and not one.hidden and _is_meant(rule, method, one)
    )


def brackets_of(verdicts: Sequence[CheckVerdict]) -> tuple[Bracket, ...]:
    """Verdicts of one bracketing rule as brackets; what could not be judged did not pass."""
    return tuple(
        Bracket(verdict.positions[0], verdict.verdict == "pass", verdict.why)
        for verdict in sorted(verdicts, key=lambda one: one.positions)
    )


def in_solution(one: Measured) -> Decimal:
    """Concentration of a solution before extra dilution at the instrument; ``one`` has a number."""
    return Decimal(one.x_text) * one.extra.numerator / one.extra.denominator


def _judge_solution(rule: CheckRule, method: Method, one: Measured, place: str) -> CheckVerdict:
    name, positions = CHECK_NAMES[rule.check], (one.position,)
    if one.lost is not None:
        return not_evaluated(rule, method, positions, f"{name} {place}: {one.lost.why}")
    expected = "0" if rule.check in BLANKS else rule.expected or one.nominal
    number: Decimal | None = in_solution(one)
    if number is not None and rule.limit_in == "percent":
        number = recovery_percent(number, Decimal(expected)) if expected else None
    if number is None:
        return not_evaluated(rule, method, positions, f"{name} {place}: no expected value to be a percentage of")
    return replace(judged(rule, method, positions, decimal_text(number), place=place), expected=expected)


def _is_meant(rule: CheckRule, method: Method, one: Measured) -> bool:
    """Whether ``rule`` is about this solution: where rules of one kind expect different values, its own one is."""
    rivals = {Decimal(other.expected) for other in method.checks if other.check == rule.check and other.expected}
    if len(rivals) < 2 or not one.nominal or Decimal(one.nominal) not in rivals or not rule.expected:
        return True
    return Decimal(one.nominal) == Decimal(rule.expected)


def _place(one: Measured, measured: Sequence[Measured]) -> str:
    before = [other.position for other in measured if other.presented and other.position < one.position]
    return f"after position {before[-1]}" if before else f"at position {one.position}"
