"""Rules of a method's calibration beyond its schema."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, method_fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Method

LEAST_LEVELS_OF_QUADRATIC = 6  # EPA 8000D 11.5.3


def calibration_faults(method: Method) -> Iterator[Fault]:
    """Every rule the calibration of a method breaks."""
    yield from _model(method)
    yield from _limits(method)


def _model(method: Method) -> Iterator[Fault]:
    plan, levels = method.calibration, {decimal_of(standard.concentration) for standard in method.standards}
    if plan.model == "quadratic" and min(plan.smallest_levels, len(levels)) < LEAST_LEVELS_OF_QUADRATIC:
        what = f"A quadratic needs {LEAST_LEVELS_OF_QUADRATIC} levels; the method asks for {plan.smallest_levels}."
        yield method_fault(("calibration", "model"), "quadratic-levels", what, "Add standards, or use a line.")
    if plan.model == "line_through_zero" and method.signal_is != "absorbance_zeroed_on_blank":
        what = f"A line through zero needs signals less the blank; signal_is says {method.signal_is}."
        yield method_fault(
            ("calibration", "model"), "through-zero", what, "Use a line, or read absorbance zeroed on the blank."
        )
    if plan.weighting != "none" and Decimal(0) in levels:
        what = f"Weighting {plan.weighting} has no weight for a standard of concentration 0."
        yield method_fault(
            ("calibration", "weighting"), "weight-at-zero", what, "Leave the zero standard out, or weight by none."
        )


def _limits(method: Method) -> Iterator[Fault]:
    for name in ("largest_error_percent", "at_lowest_percent"):
        if decimal_of(getattr(method.calibration, name)) == 0:
            yield method_fault(
                ("calibration", name), "limit-zero", f"{name} is zero: no calibration passes.", "Give a limit."
            )
    if decimal_of(method.calibration.smallest_r_squared) > 1:
        what = f"smallest_r_squared is {method.calibration.smallest_r_squared}; it cannot exceed 1."
        yield method_fault(("calibration", "smallest_r_squared"), "r-squared", what, "Correct it.")
