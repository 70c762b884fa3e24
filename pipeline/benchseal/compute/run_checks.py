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

MAY_BRACKET = frozenset({"second_source", "check_standard", "check_blank"})
SIMPLE_CHECKS = frozenset({*MAY_BRACKET, "lowest_level", "return_to_zero"})  # each about solutions of one kind
BLANKS = frozenset({"check_blank", "method_blank", "return_to_zero"})  # their magnitude is judged
SCORES = frozenset({"zeta", "e_n"})  # their magnitude is judged, too; they have no unit
ON_SAMPLES = frozenset({"spike", "portions_agree", "post_spike", "spikes_agree", "dilution_test", "acid_match"})


def judged(  # noqa: PLR0913  what was found and how to say it
    rule: CheckRule,
    method: Method,
    positions: tuple[int, ...],
    found: PlainDecimal,
    *,
    place: str,
    reads: str = "read",
) -> CheckVerdict:
    """``found`` held against the rule's limits, both ends allowed. The magnitude of a blank or a score counts.

    found: percent for ``limit_in`` percent, a score for ``zeta`` and ``e_n``, else in the solution unit. place: where,
    in words. reads: the verb.
    """
    open_verdict = not_evaluated(rule, method, positions, "")
    against = Against(found, open_verdict.low, open_verdict.high, open_verdict.unit)
    why = "" if against.inside else f"{CHECK_NAMES[rule.check]} {place} {reads} {against.words}"
    return replace(open_verdict, found=found, verdict="fail" if why else "pass", why=why)


def not_evaluated(rule: CheckRule, method: Method, positions: tuple[int, ...], why: str) -> CheckVerdict:
    """A check that could not be judged, and why; it never counts as passed."""
    return CheckVerdict(
        rule=rule.id,
        check=rule.check,
        positions=positions,
        expected="",
        found="",
        low=f"-{rule.high}" if rule.check in BLANKS or rule.limit_in in SCORES else rule.low,
        high=rule.high,
        unit=_unit(rule, method),
        verdict="not_evaluated",
        why=why,
        source=rule.source,
        made_on_sample=rule.check in ON_SAMPLES,
    )


def _unit(rule: CheckRule, method: Method) -> str:
    if rule.limit_in in SCORES:
        return ""
    return "%" if rule.limit_in == "percent" else method.solution_unit


def simple_checks(rule: CheckRule, method: Method, measured: Sequence[Measured]) -> tuple[CheckVerdict, ...]:
    """One verdict for each solution the rule is about, in presented order.

    ``when``: of these solutions the first one, those after it, or any.
    """
    kind = "rinse" if rule.check == "return_to_zero" else rule.check
    meant = [one for one in measured if one.kind == kind and not one.hidden and _is_meant(rule, method, one)]
    chosen = {"any": meant, "first": meant[:1], "later": meant[1:]}[rule.when]
    return tuple(_judge_solution(rule, method, one, _place(one, measured)) for one in chosen)


def brackets_of(verdicts: Sequence[CheckVerdict]) -> tuple[Bracket, ...]:
    """Verdicts of bracketing rules about the same solutions as brackets, one a position.

    It passed when all its verdicts did; what could not be judged did not pass.
    """
    found: dict[int, list[CheckVerdict]] = {}
    for verdict in sorted(verdicts, key=lambda one: one.positions):
        found.setdefault(verdict.positions[0], []).append(verdict)
    return tuple(
        Bracket(
            position,
            all(one.verdict == "pass" for one in own),
            "; ".join(dict.fromkeys(one.why for one in own if one.why)),
        )
        for position, own in found.items()
    )


def in_solution(one: Measured) -> Decimal:
    """Concentration of a solution before extra dilution at the instrument; ``one`` has a number."""
    return Decimal(one.x_text) * one.extra.numerator / one.extra.denominator


def _judge_solution(rule: CheckRule, method: Method, one: Measured, place: str) -> CheckVerdict:
    name, positions = CHECK_NAMES[rule.check], (one.position,)
    if one.lost is not None:
        return not_evaluated(rule, method, positions, f"{name} {place}: {one.lost.why}")
    expected = _expected(rule, method, one)
    number: Decimal | None = in_solution(one)
    if number is not None and rule.limit_in == "percent":
        number = recovery_percent(number, Decimal(expected)) if expected else None
    if number is None:
        return not_evaluated(rule, method, positions, f"{name} {place}: no expected value to be a percentage of")
    return replace(judged(rule, method, positions, decimal_text(number), place=place), expected=expected)


def _expected(rule: CheckRule, method: Method, one: Measured) -> PlainDecimal:
    if rule.check in BLANKS:
        return "0"
    return rule.expected or (method.lowest_level if rule.check == "lowest_level" else one.nominal)


def _is_meant(rule: CheckRule, method: Method, one: Measured) -> bool:
    """Whether ``rule`` is about this solution: where rules of one kind expect different values, its own one is."""
    rivals = {Decimal(other.expected) for other in method.checks if other.check == rule.check and other.expected}
    if len(rivals) < 2 or not one.nominal or Decimal(one.nominal) not in rivals or not rule.expected:
        return True
    return Decimal(one.nominal) == Decimal(rule.expected)


def _place(one: Measured, measured: Sequence[Measured]) -> str:
    before = [other.position for other in measured if other.presented and other.position < one.position]
    return f"after position {before[-1]}" if before else f"at position {one.position}"
