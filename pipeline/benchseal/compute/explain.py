"""The worked calculation of a sample's results in one run, as a person would write it: numbers put in, sources beside.

It renders the record and computes nothing. Every number of a formula is the record's own text, so that a reader with
a calculator gets the next one. The curve, the readings and the checks are told once, then each result.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.explain_budget import budget_lines
from benchseal.compute.explain_checks import check_lines
from benchseal.compute.explain_curve import curve_lines
from benchseal.compute.explain_layout import heading, prose
from benchseal.compute.explain_outcome import mean_lines, reported_lines, verdict_lines
from benchseal.compute.explain_portion import QUANTITIES, portion_lines
from benchseal.compute.explain_readings import reading_lines
from benchseal.records.elements import element_name
from benchseal.records.quantities import unit_shown

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.explain_around import Around
    from benchseal.records.results import WorkedResult


def explain(of: Around) -> tuple[str, ...]:
    """Lines from raw readings to verdict, at most 110 signs wide; the sample has a result in the run at least once."""
    return (*_head(of), *curve_lines(of), *_after_the_curve(of))


def explain_without_curve(of: Around) -> tuple[str, ...]:
    """The same lines without the section of the calibration, where many samples of one run follow one another."""
    return (*_head(of), *_after_the_curve(of))


def _after_the_curve(of: Around) -> Iterator[str]:
    yield from reading_lines(of)
    yield from check_lines(of)
    yield from (line for result in of.results for line in _result(of, result))


def _head(of: Around) -> Iterator[str]:
    first = of.results[0]
    name = element_name(first.element)
    yield from prose(f"{name.capitalize()}, {first.fraction}, in sample {of.sample}, lot {of.lot}", 0)
    at = of.run.measured_at.replace("T", " ").replace("Z", " UTC")
    yield from prose(f"run {of.number}, measured {at} on {of.run.instrument}; file {of.file}")
    yield from prose(f"method {first.method.id} version {first.method.version}: {of.method.title}")
    specification = f"specification {first.specification.id} version {first.specification.version}"
    yield from prose(f"{specification}: {of.specification.title}; calculation rules {first.calculation_rules}")


def _result(of: Around, result: WorkedResult) -> Iterator[str]:
    substance = f", given as {result.expressed_as}" if result.expressed_as else ""
    words = f"{QUANTITIES[result.quantity]} in {unit_shown(result.unit)}, {result.basis}{substance}"
    yield from heading(f"Result: {element_name(result.element)}, {words}")
    yield from portion_lines(of, result)
    yield from mean_lines(result)
    yield from budget_lines(of, result)
    yield from reported_lines(of, result)
    yield from verdict_lines(of, result)
