"""Rules of a method that reads every portion between two standards close around it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, method_fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Method

_KEYS = ("bracketing_window_percent", "bracketing_change_percent", "bracketing_source")


def bracketing_faults(method: Method) -> Iterator[Fault]:
    """Every rule the plan of bracketing breaks."""
    plan = method.calibration
    if not plan.bracketing:
        for key in (key for key in _KEYS if getattr(plan, key)):
            what = f"{key} is given, but nothing is read between standards."
            remedy = "Empty it, or say bracketing: required."
            yield method_fault(("calibration", key), "bracketing-foreign", what, remedy)
        return
    yield from _numbers(method)
    yield from _beside(method)


def _numbers(method: Method) -> Iterator[Fault]:
    plan = method.calibration
    window = plan.bracketing_window_percent
    if not window or not 0 < decimal_of(window) < 100:
        said = window or "empty"
        what = f"bracketing_window_percent is {said}; it lies above 0 and below 100 (20 is common practice)."
        yield method_fault(("calibration", "bracketing_window_percent"), "bracketing-window", what, "Give it.")
    if plan.bracketing_change_percent and decimal_of(plan.bracketing_change_percent) == 0:
        what = "It is zero: no standard would be read alike before and after."
        path = ("calibration", "bracketing_change_percent")
        yield method_fault(path, "bracketing-change", what, "Give a limit, or empty it.")
    if not plan.bracketing_source.strip():
        what = "Portions are read between standards, and nothing says where the rules of it come from."
        yield method_fault(("calibration", "bracketing"), "bracketing-source", what, "Enter bracketing_source.")


def _beside(method: Method) -> Iterator[Fault]:
    """What would evaluate the same portion in another way, or correct what the standards around it correct already.

    A stored curve beside bracketing is found by the rules of stored curves.
    """
    used = (
        ("standard additions", method.calibration.additions),
        ("a correction for drift", method.drift.largest_percent),
    )
    for name, filled in used:
        if filled:
            what = f"The method asks for bracketing by standards and {name}; one of them at most is evaluated."
            yield method_fault(("calibration", "bracketing"), "bracketing-beside", what, "Empty one of the two.")
