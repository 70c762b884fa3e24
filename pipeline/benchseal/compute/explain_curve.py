"""The calibration of a worked calculation: the curve with its numbers, the standards on it, what is said of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.compute.explain_layout import STEP, counted, formula, heading, prose, put, said, table
from benchseal.compute.explain_stored import corrected, stored_lines
from benchseal.compute.run_numbers import shown
from benchseal.compute.run_words import residual_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.compute.explain_around import Around
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import Calibration, Diagnostic, Level

_CURVES: Final = {
    "line": "b0 + b1 c",
    "line_through_zero": "b1 c",
    "quadratic": "b0 + b1 c + b2 c²",
}
_POWERS: Final = {"b0": "", "b1": " c", "b2": " c²"}
_ROOT: Final = "√(b1² - 4 b2 (b0 - A))"
_ROOT_PUT: Final = "√({b1}² - 4 x {b2} x ({b0} - {a}))"
_INVERSIONS: Final = {
    "line": ("(A - b0) / b1", "({a} - {b0}) / {b1}"),
    "line_through_zero": ("A / b1", "{a} / {b1}"),
    "quadratic": (f"2 (A - b0) / (b1 + {_ROOT})", f"2 x ({{a}} - {{b0}}) / ({{b1}} + {_ROOT_PUT})"),
    "quadratic, late": (f"({_ROOT} - b1) / (2 b2)", f"({_ROOT_PUT} - {{b1}}) / (2 x {{b2}})"),
}
_WEIGHTS: Final = {
    "none": "all points weigh the same",
    "1/x": "points weigh 1/c",
    "1/x2": "points weigh 1/c²",
    "1/s2": "points weigh 1/s², s the standard deviation of the readings of their standard",
}
_TESTS: Final = {
    "mandel": "Mandel: does a quadratic fit better",
    "lack_of_fit": "lack of fit against the scatter of readings",
    "homogeneity": "scatter of the highest against the lowest standard",
    "sign_runs": "runs of signs of the residuals",
}
_LONGEST_LABEL: Final = 20


def curve_lines(of: Around) -> Iterator[str]:
    """The section of the calibration."""
    found = of.work.calibration
    yield from heading("Calibration")
    yield from formula("A", _CURVES[found.model], _with_numbers(found))
    yield from prose(f"A: mean reading, {found.signal_unit}. c: concentration of the solution read, {of.unit}.")
    yield from stored_lines(of)
    errors = zip(names(found), found.coefficients, found.standard_errors, strict=True)
    rows = [[name, value, f"standard error {error or 'not defined'}"] for name, value, error in errors]
    yield from table(rows, right=frozenset({1}))
    yield from prose(_fitted(of))
    yield from said("source of the weights", of.method.calibration.variance_source)
    yield from _levels(of)
    yield from _quality(of)


def inversion(of: Around, mean_signal: PlainDecimal, letter: str = "A") -> tuple[str, str]:
    """How a mean reading is read backwards: with letters, with numbers. On a stored curve it is corrected first.

    letter: of what is read on the curve, where that is no mean reading as read.
    """
    found = of.work.calibration
    numbers = {name: put(value) for name, value in zip(names(found), found.coefficients, strict=True)}
    late = found.model == "quadratic" and found.coefficients[1].startswith("-")
    letters, puts = _INVERSIONS["quadratic, late" if late else found.model]
    if found.stored:
        letters = letters.replace("A", "(A - Ab) F")
    letters = letters.replace("A", letter) if letter != "A" else letters
    return letters, puts.format(a=put(corrected(of, mean_signal)), **numbers)


def names(found: Calibration) -> tuple[str, ...]:
    """Letters of the coefficients in their order."""
    return ("b1",) if found.model == "line_through_zero" else ("b0", "b1", "b2")[: len(found.coefficients)]


def _with_numbers(found: Calibration) -> str:
    (first, *rest) = zip(names(found), found.coefficients, strict=True)
    text = f"{first[1]}{_POWERS[first[0]]}"
    for name, value in rest:
        sign = "-" if value.startswith("-") else "+"
        text += f" {sign} {value.removeprefix('-')}{_POWERS[name]}"
    return text


def _fitted(of: Around) -> str:
    found, plan = of.work.calibration, of.method.calibration
    weights = _WEIGHTS.get(found.weighting, f"points weigh {found.weighting}")
    if found.weighting == "variance_function":
        weights = (
            f"points weigh 1/(s0² + (k c)²), s0 {plan.variance_s0} {found.signal_unit}, "
            f"k {plan.variance_k} {found.signal_unit} per {of.unit}"
        )
    points = "point is the mean of one solution" if found.fit_on == "means" else "point is one reading"
    return (
        f"Least squares through {counted(found.n, 'point')}, where a {points}; {weights}; "
        f"{counted(found.df, 'degree')} of freedom."
    )


def _levels(of: Around) -> Iterator[str]:
    found = of.work.calibration
    at = f"position in {found.stored[0].run}" if found.stored else "position"
    head = ("standard", at, f"c, {of.unit}", "mean reading A", "A of the curve", "read back", "error")
    yield ""
    yield from table([head, *map(_level, found.levels)], right=frozenset(range(1, 7)))
    yield ""


def _level(one: Level) -> tuple[str, ...]:
    label = one.label if len(one.label) <= _LONGEST_LABEL else f"{one.label[: _LONGEST_LABEL - 1]}…"
    error = f"{shown(one.error_percent)} %" if one.error_percent else ""
    at, back = str(one.position), shown(one.back_calculated, 6) if one.back_calculated else ""
    return label, at, one.concentration, one.mean_signal, one.fitted_signal, back, error


def _quality(of: Around) -> Iterator[str]:
    found = of.work.calibration
    spread = residual_words(found, found.residual_sd, "residual standard deviation")
    squared = f"r² {found.r_squared or 'not defined'}"
    relative = f"; relative standard error {shown(found.rse_percent)} %" if found.rse_percent else ""
    yield from prose(f"Range {found.lowest} to {found.highest} {of.unit}; {spread}; {squared}{relative}.")
    yield from said("source of the limits of the curve", of.method.calibration.source)
    yield from said("why this form of the curve", found.chosen_because)
    if found.diagnostics:
        yield from prose("Statistics that judge nothing by themselves:")
    for one in found.diagnostics:
        yield from _diagnostic(one)


def _diagnostic(one: Diagnostic) -> Iterator[str]:
    text = _TESTS.get(one.name, one.name)
    if one.statistic:
        degrees = f" with {one.df1} and {one.df2} degrees of freedom" if one.df1 else ""
        critical = f", critical value {shown(one.critical)}{degrees}" if one.critical else ""
        text += f": {shown(one.statistic)}{critical}, {'exceeded' if one.exceeded else 'not exceeded'}"
    if one.why:
        text += f": {one.why}"
    yield from prose(text, STEP + STEP)
    yield from said("source", one.source, STEP + STEP + STEP)
