"""Calibration, checks and readings of a run against its method."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.quantities import decimal_of, decimals_of
from benchseal.validate.places import at_run, at_solution, nearest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import CheckRule, Method, Standard
    from benchseal.records.run import RunDocument

_CALIBRATION = {"calibration_blank", "standard"}
_RULE_OF = {
    "second_source": "second_source",
    "check_standard": "check_standard",
    "check_blank": "check_blank",
    "lowest_level": "lowest_level",
    "rinse": "return_to_zero",
}
_MEASURE_AGAIN = "Measure the calibration again as the method says, or correct the entry at the instrument."


def calibration_problems(document: RunDocument, method: Method) -> Iterator[Problem]:
    """Standards missing, repeated, unknown, of another kind or concentration."""
    found: dict[str, list[int]] = {}
    for index, kind in enumerate(document.solutions.kind):
        if kind in _CALIBRATION:
            found.setdefault(document.solutions.label[index], []).append(index)
    for standard in method.standards:
        indexes = found.pop(standard.label, [])
        if not indexes:
            what = f"Standard {standard.label} ({standard.concentration} {method.solution_unit}) is missing."
            yield Problem("validate.standard-missing", at_run(document), what, _missing_remedy(document, method))
        for index in indexes[1:]:
            what = f"Standard {standard.label} is measured again; the method has it once."
            yield Problem("validate.standard-repeated", at_solution(document, index), what, _MEASURE_AGAIN)
        for index in indexes:
            yield from _standard_problems(document, standard, method, index)
    for label, indexes in found.items():
        known = nearest(label, (standard.label for standard in method.standards))
        what = f"'{label}' is no standard of method {method.id}; its standards: {known}."
        yield Problem("validate.standard-unknown", at_solution(document, indexes[0]), what, _MEASURE_AGAIN)


def _missing_remedy(document: RunDocument, method: Method) -> str:
    """A file without any standard may be meant for an earlier curve, where the method allows that."""
    if "standard" in document.solutions.kind or not method.stored_curve.valid_hours:
        return _MEASURE_AGAIN
    return f"{_MEASURE_AGAIN[:-1]}, or name a reviewed run with --curve-of and read one correction standard."


def _standard_problems(document: RunDocument, standard: Standard, method: Method, index: int) -> Iterator[Problem]:
    solutions = document.solutions
    due = "calibration_blank" if decimal_of(standard.concentration) == 0 else "standard"
    if solutions.kind[index] != due:
        what = f"{standard.label} is a {solutions.kind[index]} in the file and a {due} in the method."
        yield Problem("validate.standard-kind", at_solution(document, index), what, _MEASURE_AGAIN)
    yield from _nominal_problems(document, index, (standard.concentration,), method.solution_unit)
    yield from _undiluted_problems(document, index)
    first, count = solutions.first_reading[index], solutions.reading_count[index]
    if "over_range" in document.readings.flag[first : first + count]:
        what = f"A reading of {standard.label} is over range: it cannot calibrate."
        yield Problem("validate.standard-over-range", at_solution(document, index), what, _MEASURE_AGAIN)


def check_problems(document: RunDocument, method: Method) -> Iterator[Problem]:
    """Check solutions the method has no rule for, or of another concentration; a rinse may come without a rule."""
    solutions = document.solutions
    for index, kind in enumerate(solutions.kind):
        if kind not in _RULE_OF:
            continue
        rules = [rule for rule in method.checks if rule.check == _RULE_OF[kind]]
        if not rules and kind != "rinse":
            what = f"{solutions.label[index]} is a {kind}; method {method.id} has no such check."
            remedy = "Correct the entry at the instrument, or have the check added to the method."
            yield Problem("validate.check-unplanned", at_solution(document, index), what, remedy)
        elif rules:
            expected = tuple(dict.fromkeys(_expected(rule, method) for rule in rules))
            yield from _nominal_problems(document, index, expected, method.solution_unit)
            yield from _undiluted_problems(document, index)


def _expected(rule: CheckRule, method: Method) -> str:
    if rule.check in {"check_blank", "return_to_zero"}:
        return "0"
    return rule.expected or (method.lowest_level if rule.check == "lowest_level" else "")


def _nominal_problems(document: RunDocument, index: int, due: tuple[str, ...], unit: str) -> Iterator[Problem]:
    """A concentration the file prints must be the method's; a file that prints none is believed by its label."""
    nominal = document.solutions.nominal[index]
    if nominal and decimal_of(nominal) not in {decimal_of(text) for text in due if text}:
        label = document.solutions.label[index]
        what = f"{label} is {nominal} in the file; the method says {' or '.join(due)} {unit}."
        yield Problem("validate.nominal-differs", at_solution(document, index), what, _MEASURE_AGAIN)


def _undiluted_problems(document: RunDocument, index: int) -> Iterator[Problem]:
    dilution = document.solutions.dilution[index]
    if dilution != "1" and decimal_of(dilution) != 1:
        what = (
            f"{document.solutions.label[index]} has an extra dilution of {dilution}; calibration and checks have none."
        )
        yield Problem("validate.dilution-of-check", at_solution(document, index), what, _MEASURE_AGAIN)


def replicate_problems(document: RunDocument, method: Method) -> Iterator[Problem]:
    """Solutions with fewer readings than the method asks for; a missing value is no reading, a rinse is not judged."""
    solutions, due = document.solutions, method.replicates.count
    for index, kind in enumerate(solutions.kind):
        first, count = solutions.first_reading[index], solutions.reading_count[index]
        read = count - document.readings.flag[first : first + count].count("missing")
        if read < due and kind != "rinse":
            what = f"{solutions.label[index]} has {read} reading{'s' * (read != 1)}; method {method.id} requires {due}."
            remedy = "Read the solution again at the instrument and export the whole run."
            yield Problem("validate.replicates-few", at_solution(document, index), what, remedy)


def background_problems(document: RunDocument, method: Method) -> Iterator[Problem]:
    """A file without any background absorbance, though the method judges it.

    Where only some readings lack it, they alone are lost (``reading.background``).
    """
    limit, readings = method.conditions.largest_background, document.readings
    if limit and any(readings.signal) and not any(readings.background):
        what = f"No reading comes with its background absorbance; method {method.id} allows at most {limit}."
        remedy = "Export it with the readings and have the layout read it, or have the limit taken out of the method."
        yield Problem("validate.background-missing", at_run(document), what, remedy)


def mean_problems(document: RunDocument) -> Iterator[Problem]:
    """Printed means that cannot come from the readings beside them, or that lack where others stand.

    Each printed number is off by at most half its own last place, so the sum of n readings and n times the mean may
    differ by the halves of all readings and n times the half of the mean (exact bound for rounded numbers, each rounded
    by itself). A solution with a word instead of a reading is not compared.
    """
    solutions, readings, means = document.solutions, document.readings, document.means
    for index, mean, line in zip(means.solution, means.mean, means.line, strict=True):
        first, count = solutions.first_reading[index], solutions.reading_count[index]
        signals = readings.signal[first : first + count]
        if not mean or not signals or not all(signals):
            continue
        apart = abs(sum(map(decimal_of, signals), Decimal(0)) - count * decimal_of(mean))
        allowed = count * _half_place(mean) + sum(map(_half_place, signals), Decimal(0))
        if apart > allowed:
            label, read = solutions.label[index], ", ".join(signals)
            what = f"The printed mean {mean} of {label} does not come from its readings, {read}."
            remedy = "Lines may be missing or mixed: export the file again."
            yield Problem("validate.mean-differs", f"{document.source_name}, line {line}", what, remedy)
    yield from _missing_means(document)


def _missing_means(document: RunDocument) -> Iterator[Problem]:
    """Solutions without a printed mean, where most of their kind have one: lines were lost, a reading among them maybe.

    Of solutions with two readings or more, all of them numbers: of others an instrument may print none.
    """
    solutions, readings, printed = document.solutions, document.readings, set(document.means.solution)
    alike: dict[str, list[int]] = {}
    for index, (first, count) in enumerate(zip(solutions.first_reading, solutions.reading_count, strict=True)):
        if printed and count > 1 and all(readings.signal[first : first + count]):
            alike.setdefault(solutions.kind[index], []).append(index)
    for own in alike.values():
        lacking = [index for index in own if index not in printed]
        if 2 * len(lacking) >= len(own):
            continue
        for index in lacking:
            others = len(own) - len(lacking)
            what = f"{solutions.label[index]} has no printed mean, and {others} others of its kind have one."
            remedy = "Lines may be missing, a reading among them: export the file again."
            yield Problem("validate.mean-missing", at_solution(document, index), what, remedy)


def _half_place(text: str) -> Decimal:
    return Decimal("0.5").scaleb(-decimals_of(text))
