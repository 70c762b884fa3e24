"""Rules of a method's checks beyond their schema."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, Path, method_fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import CheckRule, Method

_BLANKS = {"check_blank", "method_blank"}
_NEEDS_EXPECTED = {"check_standard", "second_source"}
_MAY_BRACKET = {"check_standard", "check_blank"}


def check_faults(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    """Every rule one check of a method breaks."""
    if decimal_of(rule.low) >= decimal_of(rule.high):
        what = f"low {rule.low} is not below high {rule.high}."
        yield method_fault((*path, "low"), "check-limits", what, "Correct the limits.")
    if rule.check in _BLANKS and rule.limit_in != "solution":
        what = f"A {rule.check} is judged in solution units; limit_in says {rule.limit_in}."
        yield method_fault((*path, "limit_in"), "check-limit-in", what, "A blank has no percent.")
    if (rule.brackets or rule.at_end or rule.every) and rule.check not in _MAY_BRACKET:
        what = f"A {rule.check} does not come at intervals: every, at_end and brackets belong to the check pair."
        yield method_fault((*path, "check"), "check-bracket", what, "Remove them here.")
    yield from _expected(method, rule, path)


def _expected(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    if rule.check not in _NEEDS_EXPECTED:
        if rule.expected:
            what = f"A {rule.check} takes no expected value from the method."
            yield method_fault((*path, "expected"), "check-expected", what, "Remove it.")
        return
    levels = [decimal_of(standard.concentration) for standard in method.standards]
    if not rule.expected or not 0 < decimal_of(rule.expected) <= max(levels):
        found = rule.expected or "nothing"
        what = f"expected is {found}; due: above zero and within the standards, up to {max(levels)}."
        yield method_fault((*path, "expected"), "check-expected", what, "Give the concentration of the check solution.")
    elif decimal_of(rule.expected) < min(level for level in levels if level > 0):
        what = f"expected {rule.expected} is below the lowest standard above zero."
        yield method_fault((*path, "expected"), "check-expected", what, "Check inside the range of the standards.")
