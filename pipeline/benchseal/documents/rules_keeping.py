"""Rules of a method that says how long digests hold."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, method_fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Method

_LONGEST_HOURS = 5 * 366 * 24  # beyond it no date need be reckoned with; a longer time is none that ends
_LONGEST_DAYS = 5 * 366


def keeping_faults(method: Method) -> Iterator[Fault]:
    """Every rule the section on digests breaks; nothing where it is empty."""
    keep = method.digests_keep
    if not (keep.days or keep.hours or keep.source.strip()):
        return
    if keep.days and keep.hours:
        what = f"Digests hold {keep.days} days and {keep.hours} hours; days end with the day, hours with the hour."
        yield method_fault(("digests_keep",), "keeping-both", what, "Keep one of the two.")
    lacking = "" if keep.days or keep.hours else "days or hours"
    lacking = lacking or ("" if keep.source.strip() else "source")
    if lacking:
        what = f"How long digests hold needs a time and where that comes from; empty: {lacking}."
        yield method_fault(("digests_keep",), "keeping-incomplete", what, "State both, or empty the whole section.")
    if keep.days and not (keep.days.isdigit() and 0 < int(keep.days) <= _LONGEST_DAYS):
        what = f"days is {keep.days}; it is a whole number from 1 to {_LONGEST_DAYS}."
        yield method_fault(("digests_keep", "days"), "keeping-time", what, "Give whole days, or hours in their place.")
    if keep.hours and not 0 < decimal_of(keep.hours) <= _LONGEST_HOURS:
        what = f"hours is {keep.hours}; it lies above 0 and at most at {_LONGEST_HOURS}."
        yield method_fault(("digests_keep", "hours"), "keeping-time", what, "Correct it.")
