"""The worked calculation: every number of the record is there, and a reader's calculator gets from one to the next."""

from __future__ import annotations

import re
from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, requirement_of, run_of, samples, standards

from benchseal.compute.explain import explain
from benchseal.compute.run_work import work_run
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import RunWork

if TYPE_CHECKING:
    from benchseal.records.method import Method
    from benchseal.records.specification import Requirement


def told(
    requirement: Requirement,
    method: Method | None = None,
    holds: float = 5.0,
    **prepared: Any,  # noqa: ANN401  fields of a record by name
) -> tuple[str, ...]:
    steps = {"dilutions": {"Pb": (DilutionStep("5", "100"),)}}
    shots = (Shot("method_blank", "MB", 0.1, "MB"), *samples("AB", holds))
    portions = [portion_of(label, **{**steps, **prepared}) for label in "AB"]
    known = bench_of([*portions, portion_of("MB", "", kind="method_blank", mass_g="")], [requirement])
    work = work_run(run_of((*standards(), *pair(), *shots, *pair()), method), known)
    assert isinstance(work, RunWork)
    return explain(work.results[0], work.calibration, requirement.claim_mg)


def products(lines: tuple[str, ...]) -> list[tuple[float, float]]:
    """Each printed product, computed from its printed numbers, beside the printed value."""
    found = []
    for line in lines:
        left, equals, right = line.partition(" = ")
        if equals and " mL" in left and ("/" in left or "x" in left):
            bare = re.sub(r"\((?:[^()\s]+ to [^()\s]+)\)|[µ²]?[a-zA-Z]+[²]?(?:/[a-zA-Z]+)?(?=\s|$)", _keep_times, left)
            found.append((float(eval(bare.replace("x", "*"), {"__builtins__": {}})), float(right.split()[0])))  # noqa: S307
    return found


def _keep_times(match: re.Match[str]) -> str:
    return "x" if match.group() == "x" else ""


@pytest.mark.parametrize(
    ("requirement", "prepared"),
    [
        pytest.param(requirement_of(), {}, id="content"),
        pytest.param(requirement_of(unit="ng/g"), {}, id="content in another unit"),
        pytest.param(requirement_of(quantity="amount_per_unit", unit="mg"), {"unit_mass_g": "2.494"}, id="per unit"),
        pytest.param(
            requirement_of(quantity="percent_of_claim", unit="%", claim_mg="0.0125"),
            {"unit_mass_g": "2.494"},
            id="percent of claim",
        ),
        pytest.param(
            requirement_of(quantity="release_per_area", unit="mg/dm2"), {"area_dm2": "2.5", "mass_g": ""}, id="per area"
        ),
    ],
)
def test_a_calculator_gets_the_printed_value(requirement: Requirement, prepared: dict[str, Any]) -> None:
    lines = told(replace(requirement, portions=2, decimals=-1), **prepared)
    pairs = products(lines)
    assert len(pairs) == 2
    for computed, printed in pairs:
        assert computed == pytest.approx(printed, rel=1e-10)


def test_the_inversion_is_printed_with_its_numbers() -> None:
    lines = told(requirement_of(portions=2))
    line = next(line for line in lines if line.startswith("  c = (A - b0)/b1"))
    mean, b0, b1, x = map(float, re.findall(r"-?\d+\.\d+", line)[:4])
    assert (mean - b0) / b1 == pytest.approx(x, rel=1e-10)


def test_a_quadratic_inversion_is_printed_with_its_numbers() -> None:
    plan = replace(pb_method().calibration, model="quadratic")
    lines = told(requirement_of(portions=2), pb_method(calibration=plan))
    line = next(line for line in lines if line.startswith("  c = 2 (A - b0)"))
    a, b0, b1, _, b2, _, _, x = map(float, re.findall(r"-?\d+\.\d+", line)[:8])
    assert 2 * (a - b0) / (b1 + sqrt(b1 * b1 - 4 * b2 * (b0 - a))) == pytest.approx(x, rel=1e-9)


def test_everything_a_reader_asks_for_is_there() -> None:
    text = "\n".join(told(requirement_of(portions=2, upper="5.5")))
    for words in (
        "readings (file lines",
        "relative standard deviation",
        "5 mL to 100 mL; whole factor 20",
        "mean of 2 portions = (",
        "calibration curve: ",
        "% of the variance",
        "effective degrees of freedom",
        "expanded U = k u = 2 x",
        "reported, rounded once: 4.9",
        "quantification limit 1.00000000000 µg/g",
        "limit at most 5.5 µg/g; rule simple, acceptance limit 5.5: pass",
        "comment required: The limit 5.5 lies within the expanded uncertainty",
        "probability that the true value conforms",
    ):
        assert words in text, words


def test_below_the_limit_and_not_reportable_are_told_too() -> None:
    below = "\n".join(told(requirement_of(portions=2, upper="6.0"), holds=0.2))
    assert "reported: <1.000 µg/g" in below
    over = "\n".join(told(requirement_of(portions=2), holds=25.0))
    assert "no value: above the highest standard (20 µg/L); dilute and read again" in over
    assert "not reportable (reading.over-range)" in over
    unlimited = "\n".join(told(requirement_of(portions=2, upper="")))
    assert "no limit is specified" in unlimited


def test_a_blank_is_told() -> None:
    lines = told(requirement_of(portions=2), pb_method(blank_subtraction="undiluted"))
    assert any("method blank, before dilution: 0.09" in line for line in lines)
    for computed, printed in products(lines):
        assert computed == pytest.approx(printed, rel=1e-10)
