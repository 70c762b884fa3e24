"""What is too few is told with both numbers: found and needed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, get_args

import pytest

from benchseal.compute.fit import Fault
from benchseal.compute.run_bound import fit_problem
from benchseal.compute.run_curve import Points

from .asking import ask
from .making import pb_method, run_of, samples, standards

if TYPE_CHECKING:
    from benchseal.compute.fit import Model

_CASES: dict[str, tuple[str, dict[str, Any], tuple[str | int, ...], str]] = {
    "statistics of nothing": ("statistics", {"values": []}, ("mean",), "found 0, needed 1 value"),
    "spread of one value": ("statistics", {"values": [1]}, ("sd",), "found 1, needed 2 values"),
    "line of two points": (
        "calibration",
        {"model": "line", "x": [0, 1], "y": [0, 1]},
        ("coefficients",),
        "found 2, needed 3 points",
    ),
    "line through zero of one point": (
        "calibration",
        {"model": "line_through_zero", "x": [1], "y": [1]},
        ("coefficients",),
        "found 1, needed 2 points",
    ),
    "quadratic of three points": (
        "calibration",
        {"model": "quadratic", "x": [0, 1, 2], "y": [0, 1, 2]},
        ("coefficients",),
        "found 3, needed 4 points",
    ),
    "free intercept of two points": (
        "calibration",
        {"model": "line_through_zero", "x": [1, 2], "y": [1, 2.1]},
        ("free_intercept",),
        "found 2, needed 3 points",
    ),
    "errors of two levels above zero": (
        "calibration",
        {"model": "line", "x": [0, 1, 2], "y": [0, 1, 2.1]},
        ("rse_percent",),
        "found 2, needed 3 points not at zero",
    ),
    "Mandel's test of three points": (
        "calibration",
        {"model": "line", "x": [0, 1, 2], "y": [0, 1, 2.1]},
        ("mandel",),
        "found 3, needed 4 points",
    ),
    "six spiked results": (
        "detection_limit",
        {"rule": "mdl", "spiked": [1, 2, 3, 4, 5, 6]},
        ("mdl",),
        "found 6, needed 7 spiked results",
    ),
    "one result of a blank": (
        "detection_limit",
        {"rule": "mdl", "spiked": [1, 2, 3, 4, 5, 6, 7], "blanks": [0.1]},
        ("mdl",),
        "found 1, needed 2 results of blanks",
    ),
    "no groups": (
        "detection_limit",
        {"rule": "mdl_pooled", "variances": [], "n": []},
        ("mdl",),
        "found 0, needed 1 group",
    ),
    "a group of one": (
        "detection_limit",
        {"rule": "mdl_pooled", "variances": [0.1, 0.2], "n": [5, 1]},
        ("mdl",),
        "found 1, needed 2 results in a group",
    ),
    "blanks": (
        "detection_limit",
        {"rule": "iupac", "blank_signals": [0.1, 0.2, 0.3], "slope": 1},
        ("detection_limit",),
        "found 3, needed 10 readings",
    ),
    "limits of a line of two points": (
        "detection_limit",
        {"rule": "calibration_line", "x": [1, 2], "y": [1, 2]},
        ("detection_limit",),
        "found 2, needed 3 points",
    ),
    "Grubbs' test of two": (
        "outlier",
        {"test": "grubbs", "values": [1, 2]},
        ("statistic",),
        "found 2, needed 3 values",
    ),
    "Dixon's test of one": ("outlier", {"test": "dixon", "values": [1]}, ("statistic",), "found 1, needed 3 values"),
    "no terms": ("uncertainty", {"terms": []}, ("u",), "found 0, needed 1 term"),
    "no drawn terms": (
        "monte_carlo",
        {"measurement": "sum", "seed": 1, "terms": []},
        ("value",),
        "found 0, needed 1 term",
    ),
    "two additions": ("standard_addition", {"added": [0, 1], "y": [1, 2]}, ("x",), "found 2, needed 3 points"),
    "levels read once": (
        "variance_function",
        {"x": [0, 0, 1, 1, 2], "y": [0, 0.1, 1, 1.1, 2]},
        ("s0",),
        "found 2, needed 3 levels read several times",
    ),
    "base of nine": (
        "control_chart",
        {"values": [1, 2, 3, 2, 1, 2, 3, 2, 1, 2], "rules": "western_electric", "base_first": 9},
        ("charts", 0, "mean"),
        "found 9, needed 10 values",
    ),
}


@pytest.mark.parametrize("case", _CASES)
def test_both_numbers_stand_in_the_words(case: str) -> None:
    kind, request, path, words = _CASES[case]
    value: Any = ask(kind, **request)
    for step in path:
        value = value[step]
    assert value["refused"]["what"].endswith(f": {words}")


def test_a_refusal_of_another_kind_counts_nothing() -> None:
    found = ask("outlier", test="grubbs", values=[1, 1, 1])
    assert "needed" not in found["statistic"]["refused"]["what"]


@pytest.mark.parametrize(("model", "needed"), [("line_through_zero", 2), ("line", 3), ("quadratic", 4)])
def test_a_run_without_points_enough(model: Model, needed: int) -> None:
    method = pb_method()
    method = replace(method, calibration=replace(method.calibration, model=model))
    run = run_of((*standards(), *samples(["A"])), method)
    points = Points((), (), (), (1.0,), (0.1,), (1.0,), ())
    assert f"found 1, needed {needed}" in fit_problem(run, "too_few_points", points).what
    assert "needed" not in fit_problem(run, "not_finite", points).what
    assert "concentration" not in fit_problem(run, "not_finite", points).what


@pytest.mark.parametrize("fault", get_args(Fault))
def test_every_fault_of_a_fit_has_words_in_a_run(fault: Fault) -> None:
    run = run_of((*standards(), *samples(["A"])), pb_method())
    points = Points((), (), (), (1.0,), (0.1,), (1.0,), ())
    found = fit_problem(run, fault, points)
    assert len(found.what) > 20
    assert len(found.remedy) > 10
