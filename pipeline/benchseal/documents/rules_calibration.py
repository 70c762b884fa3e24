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
# 95 % intervals from weights 1/s2 of normal readings, fitted on means of 7 levels, simulated: with 3 readings a level
# they hold the truth in 91 to 96 of 100 cases, with 5 in 93 to 97. Fitted on readings, with 5 in 89 to 95.
LEAST_READINGS_OF_SCATTER = 5
_ADDITION_KEYS = ("additions_smallest_r", "additions_largest_slope_percent", "additions_source")
_VARIANCE_KEYS = ("variance_s0", "variance_k", "variance_source")


def calibration_faults(method: Method) -> Iterator[Fault]:
    """Every rule the calibration of a method breaks."""
    yield from _model(method)
    yield from _quadratic_choice(method)
    yield from _weighting(method)
    yield from _variance_function(method)
    yield from _limits(method)
    yield from _additions(method)


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


def _quadratic_choice(method: Method) -> Iterator[Fault]:
    plan, levels = method.calibration, {decimal_of(standard.concentration) for standard in method.standards}
    if not plan.quadratic_allowed:
        return
    path = ("calibration", "quadratic_allowed")
    if plan.model != "line":
        what = f"A quadratic may take the place of a line; the model is {plan.model}."
        yield method_fault(path, "quadratic-choice", what, "Leave quadratic_allowed out, or start from a line.")
    elif min(plan.smallest_levels, len(levels)) < LEAST_LEVELS_OF_QUADRATIC:
        what = f"A quadratic needs {LEAST_LEVELS_OF_QUADRATIC} levels; the method asks for {plan.smallest_levels}."
        yield method_fault(path, "quadratic-levels", what, "Add standards, or leave quadratic_allowed out.")


def _weighting(method: Method) -> Iterator[Fault]:
    plan, levels = method.calibration, {decimal_of(standard.concentration) for standard in method.standards}
    path = ("calibration", "weighting")
    if plan.weighting in {"1/x", "1/x2"} and Decimal(0) in levels:
        what = f"Weighting {plan.weighting} has no weight for a standard of concentration 0."
        remedy = "Leave the zero standard out, weight by none, or state a variance function."
        yield method_fault(path, "weight-at-zero", what, remedy)
    if plan.weighting != "1/s2":
        return
    if plan.fit_on != "means":
        what = "Weighting 1/s2 spends the scatter of the readings on the weights; fit_on readings would count it twice."
        yield method_fault(("calibration", "fit_on"), "weight-fit-on", what, "Fit on means, or choose other weights.")
    if method.replicates.count < LEAST_READINGS_OF_SCATTER:
        what = (
            f"Weighting 1/s2 needs {LEAST_READINGS_OF_SCATTER} readings of each level to know its scatter; "
            f"the method asks for {method.replicates.count}."
        )
        yield method_fault(path, "weight-readings", what, "Read more often, or state a variance function.")


def _variance_function(method: Method) -> Iterator[Fault]:
    """Both parts are above zero: without k the weights are those of ``none``, without s0 those of ``1/x2``."""
    plan = method.calibration
    filled = [key for key in _VARIANCE_KEYS if getattr(plan, key)]
    if plan.weighting != "variance_function":
        for key in filled:
            what = f"{key} is given, but the weighting is {plan.weighting}."
            yield method_fault(("calibration", key), "variance-foreign", what, "Empty it, or correct the weighting.")
        return
    lacking = [key for key in _VARIANCE_KEYS if key not in filled]
    if lacking:
        what = f"A variance function needs its figures and their source; empty: {', '.join(lacking)}."
        yield method_fault(("calibration", "weighting"), "variance-missing", what, "State them, or weight otherwise.")
    for key, instead in (("variance_s0", "1/x2"), ("variance_k", "none")):
        if key in filled and decimal_of(getattr(plan, key)) == 0:
            what = f"{key} is zero, which leaves the weights of {instead}."
            yield method_fault(("calibration", key), "variance-zero", what, f"Give it, or weight by {instead}.")


def _limits(method: Method) -> Iterator[Fault]:
    for name in ("largest_error_percent", "at_lowest_percent", "largest_rse_percent"):
        limit = getattr(method.calibration, name)
        if limit and decimal_of(limit) == 0:
            yield method_fault(
                ("calibration", name), "limit-zero", f"{name} is zero: no calibration passes.", "Give a limit."
            )
    if decimal_of(method.calibration.smallest_r_squared) > 1:
        what = f"smallest_r_squared is {method.calibration.smallest_r_squared}; it cannot exceed 1."
        yield method_fault(("calibration", "smallest_r_squared"), "r-squared", what, "Correct it.")


def _additions(method: Method) -> Iterator[Fault]:
    """Standard additions need a straight curve to be held against, and signals that hold nothing but the element.

    An error that adds to every signal alike lies in the intercept, which is the result: only what was read against the
    calibration blank is evaluated so. Background is the concern of background_correction, as for any reading.
    """
    plan = method.calibration
    if not plan.additions:
        for key in (key for key in _ADDITION_KEYS if getattr(plan, key)):
            what = f"{key} is given, but no additions are evaluated."
            yield method_fault(("calibration", key), "additions-foreign", what, "Empty it, or say additions: allowed.")
        return
    path = ("calibration", "additions")
    if not plan.additions_source.strip():
        what = "Additions are evaluated, and nothing says where their rules come from."
        yield method_fault(path, "additions-source", what, "Enter additions_source.")
    if method.signal_is != "absorbance_zeroed_on_blank":
        what = f"Additions need signals less the blank; signal_is says {method.signal_is}."
        remedy = "Read absorbance zeroed on the blank, or leave additions out."
        yield method_fault(path, "additions-blank", what, remedy)
    if plan.model == "quadratic" or plan.quadratic_allowed:
        what = "Additions need a range where the signal is a straight line; the method takes a quadratic."
        yield method_fault(path, "additions-curve", what, "Use a line over a smaller range, or leave additions out.")
    if plan.additions_smallest_r and decimal_of(plan.additions_smallest_r) > 1:
        path, what = ("calibration", "additions_smallest_r"), f"It is {plan.additions_smallest_r}; r cannot exceed 1."
        yield method_fault(path, "additions-r", what, "Correct it.")
    if plan.additions_largest_slope_percent and decimal_of(plan.additions_largest_slope_percent) == 0:
        path = ("calibration", "additions_largest_slope_percent")
        yield method_fault(path, "additions-slope", "It is zero: no slope would pass.", "Give a limit, or empty it.")
