"""Rules of a method beyond its schema."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, Path
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import CheckRule, Method

LEAST_LEVELS_OF_QUADRATIC = 6  # EPA 8000D 11.5.3
_BLANKS = {"check_blank", "method_blank"}
_NEEDS_EXPECTED = {"check_standard", "second_source"}
_MAY_BRACKET = {"check_standard", "check_blank"}
_ABSORBANCE_UNITS = {"A", "A.s"}


def method_faults(method: Method) -> Iterator[Fault]:
    """Every rule a method breaks."""
    yield from _standards(method)
    yield from _model(method)
    yield from _levels(method)
    yield from _limits(method)
    yield from _signal(method)
    for index, rule in enumerate(method.checks):
        yield from _check(method, rule, ("checks", index))
    yield from _twice([rule.id for rule in method.checks], "checks", "check id")
    yield from _twice(list(method.file_names), "file_names", "file name")


def _fault(path: Path, code: str, what: str, remedy: str) -> Fault:
    return Fault(path, f"documents.method-{code}", what, remedy)


def _twice(names: list[str], key: str, of: str) -> Iterator[Fault]:
    for index, name in enumerate(names):
        if name in names[:index]:
            yield _fault((key, index), "name-twice", f"The {of} '{name}' is given twice.", "Give each its own.")


def _standards(method: Method) -> Iterator[Fault]:
    yield from _twice([standard.label for standard in method.standards], "standards", "label of a standard")
    levels = [decimal_of(standard.concentration) for standard in method.standards]
    for index, (before, level) in enumerate(pairwise(levels), 1):
        if level <= before:
            what = f"The standards do not rise: {level} after {before}."
            yield _fault(
                ("standards", index, "concentration"), "standards-not-rising", what, "List them from low to high."
            )
    least = method.calibration.smallest_levels
    if len(set(levels)) < least:
        what = f"There are {len(set(levels))} levels; smallest_levels asks for {least}."
        yield _fault(("standards",), "levels-few", what, "Add standards, or ask for fewer levels.")


def _model(method: Method) -> Iterator[Fault]:
    plan, levels = method.calibration, {decimal_of(standard.concentration) for standard in method.standards}
    if plan.model == "quadratic" and min(plan.smallest_levels, len(levels)) < LEAST_LEVELS_OF_QUADRATIC:
        what = f"A quadratic needs {LEAST_LEVELS_OF_QUADRATIC} levels; the method asks for {plan.smallest_levels}."
        yield _fault(("calibration", "model"), "quadratic-levels", what, "Add standards, or use a line.")
    if plan.model == "line_through_zero" and method.signal_is != "absorbance_zeroed_on_blank":
        what = f"A line through zero needs signals less the blank; signal_is says {method.signal_is}."
        yield _fault(
            ("calibration", "model"), "through-zero", what, "Use a line, or read absorbance zeroed on the blank."
        )
    if plan.weighting != "none" and Decimal(0) in levels:
        what = f"Weighting {plan.weighting} has no weight for a standard of concentration 0."
        yield _fault(
            ("calibration", "weighting"), "weight-at-zero", what, "Leave the zero standard out, or weight by none."
        )


def _levels(method: Method) -> Iterator[Fault]:
    above_zero = [level for level in (decimal_of(item.concentration) for item in method.standards) if level > 0]
    if not above_zero:
        yield _fault(("standards",), "no-standard", "No standard is above zero.", "Add standards.")
        return
    lowest_level = decimal_of(method.lowest_level)
    if not min(above_zero) <= lowest_level <= max(above_zero):
        span = f"{min(above_zero)} to {max(above_zero)}"
        what = f"lowest_level {method.lowest_level} is outside the standards above zero, {span}."
        yield _fault(("lowest_level",), "lowest-level", what, "Quantify no lower than the lowest standard.")
    if method.detection_level and decimal_of(method.detection_level) > lowest_level:
        what = f"detection_level {method.detection_level} is above lowest_level {method.lowest_level}."
        yield _fault(("detection_level",), "detection-level", what, "Correct one of them.")
    if decimal_of(method.replicates.judged_from) > max(above_zero):
        what = f"judged_from {method.replicates.judged_from} is above the highest standard, {max(above_zero)}."
        yield _fault(("replicates", "judged_from"), "judged-from", what, "Scatter would never be judged: lower it.")


def _limits(method: Method) -> Iterator[Fault]:
    for name in ("largest_error_percent", "at_lowest_percent"):
        if decimal_of(getattr(method.calibration, name)) == 0:
            yield _fault(
                ("calibration", name), "limit-zero", f"{name} is zero: no calibration passes.", "Give a limit."
            )
    if decimal_of(method.calibration.smallest_r_squared) > 1:
        what = f"smallest_r_squared is {method.calibration.smallest_r_squared}; it cannot exceed 1."
        yield _fault(("calibration", "smallest_r_squared"), "r-squared", what, "Correct it.")
    if decimal_of(method.replicates.largest_rsd_percent) == 0:
        what = "largest_rsd_percent is zero: no readings pass."
        yield _fault(("replicates", "largest_rsd_percent"), "limit-zero", what, "Give a limit.")
    if decimal_of(method.uncertainty.coverage_factor) == 0:
        yield _fault(("uncertainty", "coverage_factor"), "coverage", "coverage_factor is zero.", "Give k, usually 2.")


def _signal(method: Method) -> Iterator[Fault]:
    concentration = method.signal_is == "instrument_concentration"
    due = {method.solution_unit} if concentration else _ABSORBANCE_UNITS
    if method.signal_unit not in due:
        units = ", ".join(sorted(due))
        what = f"signal_unit '{method.signal_unit}' does not fit signal_is {method.signal_is}; due: {units}."
        yield _fault(("signal_unit",), "signal-unit", what, "Correct one of them.")


def _check(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    if decimal_of(rule.low) >= decimal_of(rule.high):
        what = f"low {rule.low} is not below high {rule.high}."
        yield _fault((*path, "low"), "check-limits", what, "Correct the limits.")
    if rule.check in _BLANKS and rule.limit_in != "solution":
        what = f"A {rule.check} is judged in solution units; limit_in says {rule.limit_in}."
        yield _fault((*path, "limit_in"), "check-limit-in", what, "A blank has no percent.")
    if (rule.brackets or rule.at_end or rule.every) and rule.check not in _MAY_BRACKET:
        what = f"A {rule.check} does not come at intervals: every, at_end and brackets belong to the check pair."
        yield _fault((*path, "check"), "check-bracket", what, "Remove them here.")
    yield from _expected(method, rule, path)


def _expected(method: Method, rule: CheckRule, path: Path) -> Iterator[Fault]:
    if rule.check not in _NEEDS_EXPECTED:
        if rule.expected:
            what = f"A {rule.check} takes no expected value from the method."
            yield _fault((*path, "expected"), "check-expected", what, "Remove it.")
        return
    levels = [decimal_of(standard.concentration) for standard in method.standards]
    if not rule.expected or not 0 < decimal_of(rule.expected) <= max(levels):
        found = rule.expected or "nothing"
        what = f"expected is {found}; due: above zero and within the standards, up to {max(levels)}."
        yield _fault((*path, "expected"), "check-expected", what, "Give the concentration of the check solution.")
    elif decimal_of(rule.expected) < min(level for level in levels if level > 0):
        what = f"expected {rule.expected} is below the lowest standard above zero."
        yield _fault((*path, "expected"), "check-expected", what, "Check inside the range of the standards.")
