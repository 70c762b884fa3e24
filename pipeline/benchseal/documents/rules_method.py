"""Rules of a method beyond its schema."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, method_fault
from benchseal.documents.rules_bracketing import bracketing_faults
from benchseal.documents.rules_calibration import calibration_faults
from benchseal.documents.rules_checks import check_faults
from benchseal.documents.rules_conditions import condition_faults
from benchseal.documents.rules_drift import drift_faults
from benchseal.documents.rules_keeping import keeping_faults
from benchseal.documents.rules_stored import stored_faults
from benchseal.documents.rules_uncertainty import uncertainty_faults
from benchseal.records.elements import SYMBOLS
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Method

# Below, air takes the light away; above, no line in use lies (common practice, no source).
_WAVELENGTHS_NM = (185, 900)
_ABSORBANCE_UNITS = {"A", "A.s"}


def method_faults(method: Method) -> Iterator[Fault]:
    """Every rule a method breaks."""
    yield from _line(method)
    yield from _standards(method)
    yield from calibration_faults(method)
    yield from bracketing_faults(method)
    yield from _levels(method)
    yield from _limits(method)
    yield from _signal(method)
    yield from condition_faults(method)
    yield from uncertainty_faults(method)
    yield from stored_faults(method)
    yield from drift_faults(method)
    yield from keeping_faults(method)
    for index, rule in enumerate(method.checks):
        yield from check_faults(method, rule, ("checks", index))
    yield from _twice([rule.id for rule in method.checks], "checks", "check id")
    yield from _twice(list(method.file_names), "file_names", "file name")


def _line(method: Method) -> Iterator[Fault]:
    """An element that exists, and a wavelength at which atomic absorption is read."""
    if method.element not in SYMBOLS:
        what = f"'{method.element}' is no symbol of an element."
        yield method_fault(("element",), "element-unknown", what, "Correct it.")
    shortest, longest = _WAVELENGTHS_NM
    if not shortest <= decimal_of(method.wavelength_nm) <= longest:
        what = f"wavelength_nm is {method.wavelength_nm}; resonance lines are read from {shortest} to {longest} nm."
        yield method_fault(("wavelength_nm",), "wavelength", what, "Give the wavelength in nanometres.")


def _twice(names: list[str], key: str, of: str) -> Iterator[Fault]:
    for index, name in enumerate(names):
        if name in names[:index]:
            yield method_fault((key, index), "name-twice", f"The {of} '{name}' is given twice.", "Give each its own.")


def _standards(method: Method) -> Iterator[Fault]:
    yield from _twice([standard.label for standard in method.standards], "standards", "label of a standard")
    levels = [decimal_of(standard.concentration) for standard in method.standards]
    for index, (before, level) in enumerate(pairwise(levels), 1):
        if level <= before:
            what = f"The standards do not rise: {level} after {before}."
            yield method_fault(
                ("standards", index, "concentration"), "standards-not-rising", what, "List them from low to high."
            )
    least = method.calibration.smallest_levels
    if len(set(levels)) < least:
        what = f"There are {len(set(levels))} levels; smallest_levels asks for {least}."
        yield method_fault(("standards",), "levels-few", what, "Add standards, or ask for fewer levels.")


def _levels(method: Method) -> Iterator[Fault]:
    above_zero = [level for level in (decimal_of(item.concentration) for item in method.standards) if level > 0]
    if not above_zero:
        yield method_fault(("standards",), "no-standard", "No standard is above zero.", "Add standards.")
        return
    lowest_level = decimal_of(method.lowest_level)
    if not min(above_zero) <= lowest_level <= max(above_zero):
        span = f"{min(above_zero)} to {max(above_zero)}"
        what = f"lowest_level {method.lowest_level} is outside the standards above zero, {span}."
        yield method_fault(("lowest_level",), "lowest-level", what, "Quantify no lower than the lowest standard.")
    if method.detection_level and decimal_of(method.detection_level) > lowest_level:
        what = f"detection_level {method.detection_level} is above lowest_level {method.lowest_level}."
        yield method_fault(("detection_level",), "detection-level", what, "Correct one of them.")
    if decimal_of(method.replicates.judged_from) > max(above_zero):
        what = f"judged_from {method.replicates.judged_from} is above the highest standard, {max(above_zero)}."
        yield method_fault(
            ("replicates", "judged_from"), "judged-from", what, "Scatter would never be judged: lower it."
        )


def _limits(method: Method) -> Iterator[Fault]:
    if method.replicates.count < 2:
        limit = method.replicates.largest_rsd_percent
        what = f"count is 1 and largest_rsd_percent {limit}: one reading has no scatter that could be judged."
        yield method_fault(("replicates", "count"), "replicates-one", what, "Ask for two readings at least.")
    if decimal_of(method.replicates.largest_rsd_percent) == 0:
        what = "largest_rsd_percent is zero: no readings pass."
        yield method_fault(("replicates", "largest_rsd_percent"), "limit-zero", what, "Give a limit.")
    if decimal_of(method.uncertainty.coverage_factor) == 0:
        yield method_fault(
            ("uncertainty", "coverage_factor"), "coverage", "coverage_factor is zero.", "Give k, usually 2."
        )


def _signal(method: Method) -> Iterator[Fault]:
    concentration = method.signal_is == "instrument_concentration"
    due = {method.solution_unit} if concentration else _ABSORBANCE_UNITS
    if method.signal_unit not in due:
        units = ", ".join(sorted(due))
        what = f"signal_unit '{method.signal_unit}' does not fit signal_is {method.signal_is}; due: {units}."
        yield method_fault(("signal_unit",), "signal-unit", what, "Correct one of them.")
