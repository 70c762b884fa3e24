"""What a run needs around it before anything is computed: every lack is a Problem, all of them at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.fit import POWERS
from benchseal.compute.run_bound_additions import addition_problems
from benchseal.compute.run_bound_bracketing import bracketing_problems
from benchseal.compute.run_bound_drift import drift_problems
from benchseal.compute.run_checks import MAY_BRACKET
from benchseal.compute.run_fit import unweighed
from benchseal.compute.run_words import CHECK_NAMES
from benchseal.problems import Problem
from benchseal.records.quantities import unit_factor

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.fit import Fault
    from benchseal.compute.run_curve import Points
    from benchseal.records.known import Bench
    from benchseal.records.run import Run

_FAULT_WORDS: dict[Fault, str] = {
    "too_few_points": "there are not more calibration readings than coefficients of the curve",
    "not_finite": "a calibration solution has no reading that is a number",
    "x_negative": "a standard has a negative concentration, which the method's weighting cannot take",
    "weight_at_zero": "the zero standard has no weight under the method's weighting",
    "level_readings_few": "a standard has a single reading, and the method weighs by the scatter of readings",
    "level_without_scatter": "the readings of a standard do not scatter, which would give it an infinite weight",
    "weight_not_positive": "a calibration reading has no positive weight",
    "x_not_spread": "the standards have fewer different concentrations than the curve has coefficients",
    "undetermined": "the calibration readings do not determine the curve",
}


def where_in(run: Run, position: int | None = None) -> str:
    """The place in the file a person can look up."""
    document = run.document
    place = f"{document.source_name}, line {document.facts.line}, {run.method.element}"
    return place if position is None else f"{place}, position {position}"


def bench_problems(run: Run, bench: Bench) -> tuple[Problem, ...]:
    """What keeps ``run`` from being computed at ``bench``; empty when nothing does."""
    return (
        *_method_problems(run),
        *bracketing_problems(run),
        *drift_problems(run),
        *_lot_problems(run, bench),
        *_portion_problems(run, bench),
    )


def fit_problem(run: Run, fault: Fault, points: Points) -> Problem:
    """A calibration that no curve can be fitted to."""
    levels = ", ".join(unweighed(points)) if fault in {"level_readings_few", "level_without_scatter"} else ""
    here = f" (concentration {levels})" if levels else ""
    if fault == "too_few_points":
        here = f": found {len(points.x)}, needed {len(POWERS[run.method.calibration.model]) + 1}"
    return Problem(
        "compute.calibration-impossible",
        where_in(run),
        f"No curve can be fitted: {_FAULT_WORDS[fault]}{here}.",
        "Measure the calibration again, or have the method corrected.",
    )


def size_problem(run: Run) -> Problem:
    """A calculation that comes to a number no record can hold."""
    return Problem(
        "compute.number-size",
        where_in(run),
        "The calculation comes to a number of more digits than a record holds (64).",
        "Look for a reading, mass, volume, dilution or limit of absurd size, and correct it.",
    )


def _method_problems(run: Run) -> Iterator[Problem]:
    method = run.method
    if method.signal_is == "instrument_concentration":
        yield Problem(
            "compute.signal-kind",
            where_in(run),
            f"Method {method.id} takes concentrations as the instrument computed them; no calibration can be made.",
            "Export absorbances, or use a method that reads them.",
        )
    try:
        unit_factor(method.solution_unit, "mg/L")
    except ValueError as fault:
        yield Problem("compute.unit", where_in(run), f"Method {method.id}: {fault}.", "Have the method corrected.")
    for rule in method.checks:
        if rule.brackets and rule.check not in MAY_BRACKET:
            yield Problem(
                "compute.bracket-kind",
                where_in(run),
                f"Rule {rule.id!r} brackets by {CHECK_NAMES[rule.check].lower()}, which is not read between samples.",
                "Bracket by check standards and check blanks; have the method corrected.",
            )
    known = {standard.label for standard in method.standards}
    solutions = run.document.solutions
    for label, kind, position in zip(solutions.label, solutions.kind, solutions.position, strict=True):
        if kind == "standard" and label not in known:
            yield Problem(
                "compute.standard-unknown",
                where_in(run, position),
                f"Standard {label!r} is none of the method's: {', '.join(sorted(known))}.",
                "Name the standards as the method does, or have the method corrected.",
            )


def _lot_problems(run: Run, bench: Bench) -> Iterator[Problem]:
    if not run.standard_lots:
        yield Problem("compute.lot-unknown", where_in(run), "No standard lot is named.", "Name the calibration lot.")
    for lot in run.standard_lots:
        if lot not in bench.lots:
            yield Problem(
                "compute.lot-unknown", where_in(run), f"Standard lot {lot!r} is not registered.", "Register the lot."
            )


def _portion_problems(run: Run, bench: Bench) -> Iterator[Problem]:
    solutions = run.document.solutions
    for place, key in enumerate(run.portion):
        position, kind = solutions.position[place], solutions.kind[place]
        if run.hidden[place]:
            continue
        if key == ("", ""):
            if kind in {"sample", "duplicate", "spiked_sample", "post_spiked_sample"}:
                yield _portion_unknown(run, position, f"{solutions.label[place]!r} belongs to no prepared portion.")
        elif key not in bench.portions:
            yield _portion_unknown(run, position, f"Portion {key[1]!r} of batch {key[0]!r} is not known.")
        else:
            yield from addition_problems(run, bench.portions[key], place)
            yield from _sample_problems(run, bench, bench.portions[key].sample, position)


def _sample_problems(run: Run, bench: Bench, sample: str, position: int) -> Iterator[Problem]:
    if not sample:
        return
    if sample not in bench.samples:
        yield Problem(
            "compute.sample-unknown", where_in(run, position), f"Sample {sample!r} is not registered.", "Register it."
        )
    elif (name := bench.samples[sample].row.specification) not in bench.specifications:
        yield Problem(
            "compute.specification-unknown",
            where_in(run, position),
            f"Sample {sample} names specification {name!r}, of which no version is in force.",
            "Have the specification approved, or correct the sample's line.",
        )


def _portion_unknown(run: Run, position: int, what: str) -> Problem:
    return Problem("compute.portion-unknown", where_in(run, position), what, "Add the preparation row.")
