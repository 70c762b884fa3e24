"""Silver by standard additions (Miller and Miller, from memory) as a run: a sheet, readings, a result.

Printed: b0 0.3218, b1 0.0186, 17.3 ug/mL, s 0.749, 95 % interval 1.9; computed again 17.2605 and 0.74787 (IUPAC's
formula; with the covariance of intercept and slope left out s would be 0.5527).
"""

from __future__ import annotations

from dataclasses import replace
from math import isclose
from typing import Any

import pytest
from tests.compute.making import Shot, bench_of, pb_method, requirement_of, run_of

from benchseal.compute.explain import explain
from benchseal.compute.explain_around import Around
from benchseal.compute.run_work import work_run
from benchseal.documents.sheets import read_preparation
from benchseal.records.method import CalibrationPlan, Method, ReplicateRule, Standard, UncertaintyPlan
from benchseal.records.preparation import Portion
from benchseal.records.results import Quantified, RunWork

from .published import digits, figures

DATA: dict[str, Any] = figures("standard_addition_example")
FOUND: dict[str, Any] = DATA["recomputed"]
LEVELS = ("0", "10", "20", "30", "40", "50", "60")
CELL = " ".join(f"{'WASTE' if not added else f'W{added}'}={added}" for added in DATA["x_added"])
SHEET = (
    "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,additions\n"
    f"WASTE,T-1,sample,S-00001,Ag,100,p-a,2026-03-01T08:00:00,Ag {CELL}\n"
)


def silver_method() -> Method:
    """One reading a tube. The external curve, which the example does not have, is invented; it gives the range only."""
    plan = CalibrationPlan("line", "none", "means", 5, "10", "20", "0.990", "test", additions="required",
                           additions_smallest_r="0.995", additions_source="EPA 7000B 9.10.3")  # fmt: skip
    return pb_method(
        element="Ag",
        technique="flame",
        signal_is="absorbance_zeroed_on_blank",
        signal_unit="A",
        solution_unit="mg/L",
        standards=tuple(Standard(f"S{place}", level) for place, level in enumerate(LEVELS)),
        calibration=plan,
        replicates=ReplicateRule(1, "10", "1", "test"),
        checks=(),
        uncertainty=UncertaintyPlan("0", "0", "0", "0", "2", "nothing else: the example states none"),
    )


@pytest.fixture(scope="module")
def around() -> Around:
    (portion,) = read_preparation(SHEET.encode(), "silver.csv")
    assert isinstance(portion, Portion), portion
    off = (0.0, 0.002, -0.002, 0.002, -0.002, 0.002, -0.002)
    curve = [
        Shot("standard", f"S{place}", signals=(f"{0.0186 * float(level) + by:.4f}",))
        for place, (level, by) in enumerate(zip(LEVELS, off, strict=True))
    ]
    tubes = [
        Shot("sample", tube.label, portion="WASTE", signals=(str(y),))
        for tube, y in zip(portion.additions["Ag"], DATA["y"], strict=True)
    ]
    asked = requirement_of(element="Ag", quantity="concentration", unit="mg/L", upper="", decimals=-1)
    bench = bench_of([portion], (asked,))
    lots = {name: replace(lot, element="Ag", u_percent="0") for name, lot in bench.lots.items()}
    bench = replace(bench, lots=lots)
    run = run_of((*curve, *tubes), silver_method())
    work = work_run(run, bench)
    assert isinstance(work, RunWork), work
    return Around("R-00001", run, work, bench.specifications["lozenge"][1], "S-00001", "L-S-00001")


def test_silver_by_standard_additions(around: Around) -> None:
    (result,) = around.results
    (portion,) = result.portions
    (series,) = portion.series
    assert digits(float(portion.solution_value), FOUND["x_E"]) > 11
    assert digits(float(portion.u_solution), FOUND["s_xE"]) > 10
    assert digits(float(series.intercept), FOUND["b0"]) > 11
    assert digits(float(series.slope), FOUND["b1"]) > 11
    assert digits(float(series.residual_sd), FOUND["s_yx"]) > 10
    assert (series.n, series.df) == (7, 5)
    printed = DATA["published"]
    assert abs(float(portion.solution_value) - printed["x_E"]) < 0.05
    assert abs(float(portion.u_solution) - printed["s_xE"]) < 0.0015  # printed from rounded inputs
    assert float(portion.u_solution) > 1.3 * FOUND["wrong_propagation_ignoring_covariance"]


def test_the_result_holds_the_line_alone(around: Around) -> None:
    """Nothing else has an uncertainty here, so u and its degrees of freedom are those of the line."""
    outcome = around.results[0].outcome
    assert isinstance(outcome, Quantified)
    assert [one.name for one in around.results[0].contributions] == ["additions line"]
    assert (outcome.df, outcome.value_text, outcome.expanded_text) == ("5", "17.3", "1.5")
    assert isclose(float(outcome.u), FOUND["s_xE"], rel_tol=1e-10)


def test_the_worked_calculation_says_the_same(around: Around) -> None:
    text = "\n".join(explain(around))
    assert "c = a0 / a1" in text
    assert "= 17.2605363985 mg/L" in text
    assert "= 0.747870636050 mg/L" in text
