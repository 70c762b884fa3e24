"""Bracket standards of whatever comes as a run: what ``validate`` sees to in a file, asked again before computing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.run_bracketing import held_by
from benchseal.compute.run_numbers import fraction_of
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Method
    from benchseal.records.run import Run


def bracketing_problems(run: Run) -> tuple[Problem, ...]:
    """Why the standards of ``run`` cannot stand around its samples; empty where nothing is read between standards."""
    faults = list(_of_method(run))
    solutions = run.document.solutions
    for place, kind in enumerate(solutions.kind):
        fault = _fault(run.method, run, place) if kind == "bracket_standard" and not run.hidden[place] else ""
        if fault:
            faults.append((f", position {solutions.position[place]}", f"{solutions.label[place]!r} {fault}."))
    where = f"{run.document.source_name}, {run.method.element}"
    remedy = "Correct the entry at the instrument or the method."
    return tuple(Problem("compute.bracketing", f"{where}{place}", what, remedy) for place, what in faults)


def _of_method(run: Run) -> Iterator[tuple[str, str]]:
    plan, method = run.method.calibration, run.method
    if not plan.bracketing:
        return
    beside = (
        ("standard additions", plan.additions),
        ("a correction for drift", method.drift.largest_percent),
        ("a stored curve", run.stored_curve),
    )
    for name, used in beside:
        if used:
            yield "", f"Method {method.id} reads between standards, and {name} would take the same place."
    window = plan.bracketing_window_percent
    if not window or not 0 < fraction_of(window) < 100:
        yield "", f"Method {method.id} says {window or 'nothing'} of how far bracket standards may lie from a sample."
    if method.replicates.count < 2:
        yield "", f"Method {method.id} asks for one reading; bracket standards need two, to know their scatter."


def _fault(method: Method, run: Run, place: int) -> str:
    solutions = run.document.solutions
    label, nominal, dilution = solutions.label[place], solutions.nominal[place], solutions.dilution[place] or "1"
    if not method.calibration.bracketing:
        return f"is a bracket standard, and method {method.id} does not read between standards"
    held = held_by(method, label, nominal)
    if not held or fraction_of(held) <= 0:
        return "is a bracket standard that nobody gives a concentration above zero"
    if nominal and fraction_of(nominal) != fraction_of(held):
        return f"is {nominal} in the file; the method says {held}"
    return f"is diluted {dilution} times, and a standard is read as it is" if fraction_of(dilution) != 1 else ""
