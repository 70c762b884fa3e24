"""Rules of a method's checks beyond their schema."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.documents.judge import Fault, Path, method_fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from decimal import Decimal

    from benchseal.records.method import CheckRule, Method

_BLANKS: Final = {"check_blank", "method_blank", "return_to_zero"}
_STANDARDS: Final = {"second_source", "check_standard", "lowest_level"}
_SCORES: Final = {"zeta", "e_n"}
_NEEDS_EXPECTED: Final = {"check_standard", "second_source"}
_MAY_BRACKET: Final = {"check_standard", "check_blank"}
# Of these a run may hold several, so one can be the first and others later.
_IN_ORDER: Final = {*_STANDARDS, "check_blank", "return_to_zero"}
_ALL_ACID: Final = 100


def check_faults(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    """Every rule one check of a method breaks."""
    yield from _limits(rule, path)
    yield from _order(rule, path)
    yield from _open(method, rule, path)
    yield from _expected(method, rule, path)


def _limits(rule: CheckRule, path: Path) -> Iterator[Fault]:
    if decimal_of(rule.low) >= decimal_of(rule.high):
        what = f"low {rule.low} is not below high {rule.high}."
        yield method_fault((*path, "low"), "check-limits", what, "Correct the limits.")
    elif (rule.check in _BLANKS or rule.limit_in in _SCORES) and decimal_of(rule.high) <= 0:
        what = f"high {rule.high} leaves nothing: the size of what is found must not exceed it."
        yield method_fault((*path, "high"), "check-limits", what, "Give a limit above zero.")
    due = _limits_in(rule)
    if rule.limit_in not in due:
        what = f"A {rule.check} is judged in {' or '.join(due)}; limit_in says {rule.limit_in}."
        yield method_fault((*path, "limit_in"), "check-limit-in", what, "Give its limits in that.")


def _limits_in(rule: CheckRule) -> tuple[str, ...]:
    if rule.check in _BLANKS:
        return ("solution",)
    if rule.check in _STANDARDS:
        return "percent", "solution"
    return ("percent", *sorted(_SCORES, reverse=True)) if rule.check == "reference_material" else ("percent",)


def _order(rule: CheckRule, path: Path) -> Iterator[Fault]:
    if (rule.brackets or rule.at_end or rule.every) and rule.check not in _MAY_BRACKET:
        what = f"A {rule.check} does not come at intervals: every, at_end and brackets belong to the check pair."
        yield method_fault((*path, "check"), "check-bracket", what, "Remove them here.")
    if rule.when != "any" and rule.check not in _IN_ORDER:
        what = f"A {rule.check} is not read again and again: 'when' has no meaning here."
        yield method_fault((*path, "when"), "check-when", what, "Remove it.")
    elif rule.when == "first" and (rule.every or rule.at_end):
        what = "The first one comes once: every and at_end belong to the rule for the later ones."
        yield method_fault((*path, "when"), "check-when", what, "Remove them here.")


def _open(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    """A bracket has two ends: of the bracketing rules about one check solution, one must ask it to close the run."""
    if not rule.brackets or rule.check not in _MAY_BRACKET:
        return
    row = [one for one in method.checks if one.brackets and _solution(one) == _solution(rule)]
    if not any(one.at_end for one in row) and row[0] is rule:
        what = "Nothing closes the last bracket: no rule about this check says at_end."
        remedy = "Add at_end: true; of two rules for first and later ones, to that for the later."
        yield method_fault((*path, "brackets"), "check-bracket", what, remedy)


def _solution(rule: CheckRule) -> tuple[str, Decimal | None]:
    return rule.check, decimal_of(rule.expected) if rule.expected else None


def _expected(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    if rule.check in _NEEDS_EXPECTED:
        yield from _within_standards(method, rule, path)
    elif rule.check == "lowest_level":
        yield from _at_lowest_level(method, rule, path)
    elif rule.check == "sensitivity":
        if not rule.expected or decimal_of(rule.expected) == 0:
            what = f"expected is {rule.expected or 'nothing'}; due: what is usual in this laboratory, above zero."
            remedy = "Give the characteristic concentration in the solution unit, for a furnace the mass in pg."
            yield method_fault((*path, "expected"), "check-expected", what, remedy)
    elif rule.check == "acid_match":
        acid = rule.expected or method.conditions.acid_percent
        if not acid or not 0 < decimal_of(acid) <= _ALL_ACID:
            what = f"The percent acid of the standards is {acid or 'not said'}; due: above zero, up to {_ALL_ACID}."
            yield method_fault((*path, "expected"), "check-expected", what, "Give it here or in conditions.")
    elif rule.expected:
        what = f"A {rule.check} takes no expected value from the method."
        yield method_fault((*path, "expected"), "check-expected", what, "Remove it.")


def _within_standards(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    levels = [decimal_of(standard.concentration) for standard in method.standards]
    if not rule.expected or not 0 < decimal_of(rule.expected) <= max(levels):
        found = rule.expected or "nothing"
        what = f"expected is {found}; due: above zero and within the standards, up to {max(levels)}."
        yield method_fault((*path, "expected"), "check-expected", what, "Give the concentration of the check solution.")
    elif decimal_of(rule.expected) < min(level for level in levels if level > 0):
        what = f"expected {rule.expected} is below the lowest standard above zero."
        yield method_fault((*path, "expected"), "check-expected", what, "Check inside the range of the standards.")


def _at_lowest_level(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    """A solution above the lowest level says nothing of it; one below the standards is beyond the curve."""
    if not rule.expected:
        return
    least = min((decimal_of(one.concentration) for one in method.standards if decimal_of(one.concentration) > 0),
                default=decimal_of(method.lowest_level))  # fmt: skip
    if not least <= decimal_of(rule.expected) <= decimal_of(method.lowest_level):
        what = f"expected is {rule.expected}; due: from the lowest standard, {least}, to lowest_level."
        remedy = f"Leave it out: lowest_level {method.lowest_level} is then expected."
        yield method_fault((*path, "expected"), "check-expected", what, remedy)
