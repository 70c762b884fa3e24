"""Rules of a method that corrects signals for drift by the check pairs around them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, method_fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import CheckKind, Method

_PAIR: tuple[CheckKind, ...] = ("check_standard", "check_blank")


def drift_faults(method: Method) -> Iterator[Fault]:
    """Every rule the plan of a correction for drift breaks; nothing where none is made.

    Bracketing and stored curves beside it are found by their own rules.
    """
    plan = method.drift
    if not plan.largest_percent and not plan.source.strip():
        return
    if not (plan.largest_percent and plan.source.strip()):
        lacking = "source" if plan.largest_percent else "largest_percent"
        what = f"A correction for drift needs its limit and where that comes from; empty: {lacking}."
        yield method_fault(("drift",), "drift-incomplete", what, "State both, or empty the whole section.")
    if plan.largest_percent and not 0 < decimal_of(plan.largest_percent) < 100:
        what = f"largest_percent is {plan.largest_percent}; it lies above 0 and below 100 (10 is common practice)."
        yield method_fault(("drift", "largest_percent"), "drift-percent", what, "Correct it.")
    yield from _beside(method)
    yield from _pairs(method)


def _beside(method: Method) -> Iterator[Fault]:
    """What evaluates the same signals in another way, and signals there is nothing to correct in."""
    if method.calibration.additions:
        what = "The method asks for standard additions and a correction for drift; one of them at most is evaluated."
        yield method_fault(("drift",), "drift-beside", what, "Empty one of the two.")
    if method.signal_is == "instrument_concentration":
        what = "Drift is corrected in signals; signal_is says instrument_concentration."
        yield method_fault(("drift",), "drift-signals", what, "Read absorbance, or empty drift.")


def _pairs(method: Method) -> Iterator[Fault]:
    """The checks a signal is corrected by must be read, bracket, and be one check standard only."""
    for kind in _PAIR:
        if not any(rule.brackets and rule.required for rule in method.checks if rule.check == kind):
            what = f"Drift is known from check pairs; no required rule of kind {kind} says brackets: true."
            remedy = f"Let a required {kind.replace('_', ' ')} bracket, or empty drift."
            yield method_fault(("checks",), "drift-pair", what, remedy)
    levels = {decimal_of(rule.expected) for rule in method.checks if rule.check == "check_standard" and rule.expected}
    if len(levels) > 1:
        named = ", ".join(str(level) for level in sorted(levels))
        what = f"Drift is followed by one check standard; the rules expect {named}."
        yield method_fault(("checks",), "drift-several", what, "Keep check standards of one concentration.")
