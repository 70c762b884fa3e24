"""A correction for drift of whatever comes as a run: what rules of methods see to, asked again before computing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.run_numbers import fraction_of
from benchseal.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.run import Run


def drift_problems(run: Run) -> tuple[Problem, ...]:
    """Why the signals of ``run`` cannot be corrected for drift; empty where the method does not ask for it."""
    where, remedy = f"{run.document.source_name}, {run.method.element}", "Have the method corrected."
    name = f"Method {run.method.id} corrects for drift, and"
    return tuple(Problem("compute.drift", where, f"{name} {fault}.", remedy) for fault in _faults(run))


def _faults(run: Run) -> Iterator[str]:
    method, limit = run.method, run.method.drift.largest_percent
    if not limit:
        return
    beside = (("standard additions take", method.calibration.additions), ("a stored curve takes", run.stored_curve))
    for words, used in beside:
        if used:
            yield f"{words} the same signals in another way"
    if not 0 < fraction_of(limit) < 100:
        yield f"says that up to {limit} % of drift may be corrected; due: above 0 and below 100"
    if method.replicates.count < 2:
        yield "asks for one reading; checks need two, to know their scatter"
    standards = [rule for rule in method.checks if rule.check == "check_standard"]
    for kind in ("check_standard", "check_blank"):
        if not any(rule.brackets for rule in method.checks if rule.check == kind):
            yield f"has no {kind.replace('_', ' ')} that brackets"
    if len({fraction_of(rule.expected or "0") for rule in standards}) > 1:
        yield "has check standards of several concentrations"
