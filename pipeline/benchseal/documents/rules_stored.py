"""Rules of a method that lets a run use the curve of an earlier one, corrected by one standard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, method_fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import CheckKind, Method

_KEYS = ("valid_hours", "smallest_factor", "largest_factor", "source")
_CONFIRMING: tuple[CheckKind, ...] = ("check_standard", "check_blank")


def stored_faults(method: Method) -> Iterator[Fault]:
    """Every rule the plan of stored curves breaks; nothing where none is allowed."""
    plan = method.stored_curve
    filled = [key for key in _KEYS if getattr(plan, key)]
    if not filled:
        return
    lacking = [key for key in _KEYS if key not in filled]
    if lacking:
        named = ", ".join(lacking)
        what = f"A stored curve needs its age, the window of its correction and their source; empty: {named}."
        yield method_fault(("stored_curve",), "stored-incomplete", what, "State them, or empty the whole section.")
    yield from _numbers(method)
    yield from _signals(method)
    yield from _beside(method)
    yield from _confirmed(method)


def _numbers(method: Method) -> Iterator[Fault]:
    plan = method.stored_curve
    if plan.valid_hours and decimal_of(plan.valid_hours) <= 0:
        what = f"valid_hours is {plan.valid_hours}: no curve would be young enough."
        yield method_fault(("stored_curve", "valid_hours"), "stored-hours", what, "Give the hours a curve may be used.")
    low, high = plan.smallest_factor, plan.largest_factor
    if low and not 0 < decimal_of(low) <= 1:
        what = f"smallest_factor is {low}; it lies above 0 and at most at 1, which is no correction."
        yield method_fault(("stored_curve", "smallest_factor"), "stored-window", what, "Correct it.")
    if high and decimal_of(high) < 1:
        what = f"largest_factor is {high}; it lies at 1, which is no correction, or above."
        yield method_fault(("stored_curve", "largest_factor"), "stored-window", what, "Correct it.")


def _signals(method: Method) -> Iterator[Fault]:
    """What is multiplied must be net: a factor times an absorbance that holds the blank would scale the blank too."""
    if method.signal_is != "absorbance_zeroed_on_blank":
        what = f"A stored curve is one of signals less the blank; signal_is says {method.signal_is}."
        remedy = "Read absorbance zeroed on the blank, or empty stored_curve."
        yield method_fault(("stored_curve",), "stored-signals", what, remedy)


def _beside(method: Method) -> Iterator[Fault]:
    """What would correct the same signal twice, or needs a calibration of its own."""
    used = (
        ("standard additions", method.calibration.additions),
        ("bracketing by standards", method.calibration.bracketing),
        ("a correction for drift", method.drift.largest_percent),
    )
    for name, filled in used:
        if filled:
            what = f"The method allows a stored curve and {name}; one of them at most is evaluated."
            yield method_fault(("stored_curve",), "stored-beside", what, "Empty one of the two.")


def _confirmed(method: Method) -> Iterator[Fault]:
    """After the correction a check standard and a check blank must pass, so the method must ask for both."""
    for kind in _CONFIRMING:
        own = [rule for rule in method.checks if rule.check == kind and rule.required and rule.when != "later"]
        if not own:
            what = f"After a correction a {kind.replace('_', ' ')} must pass; no required rule asks for the first one."
            yield method_fault(("checks",), "stored-unconfirmed", what, f"Add a required rule of kind {kind}.")
