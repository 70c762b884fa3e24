"""Numbers that no record can hold end in a Problem of the run, and small limits are plain text."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest
from tests.compute.making import (
    LEVELS,
    Shot,
    bench_of,
    pb_method,
    portion_of,
    requirement_of,
    run_of,
    samples,
    standards,
)

from benchseal.compute.run_work import work_run
from benchseal.records.quantities import is_plain_decimal
from benchseal.records.results import BelowLimit, NotReportable, RunWork

if TYPE_CHECKING:
    from benchseal.records.method import Method

METHOD = pb_method(checks=())
ONE, TINY = "1" + "0" * 61, "0." + "0" * 60 + "1"
HUGE_STANDARDS = tuple(
    Shot("standard", f"S{place}", signals=(f"{Decimal(level).scaleb(59):f}", f"{Decimal(level).scaleb(59) + 1:f}") * 2)
    for place, level in enumerate(LEVELS)
)


SOUND = (*standards(), *samples("A"))
BELOW_ALL = (*standards(), Shot("sample", "A", portion="A", signals=(f"-{ONE}",) * 3))
WIDE = replace(METHOD, uncertainty=replace(METHOD.uncertainty, coverage_factor=ONE))


@pytest.mark.parametrize(
    ("shots", "portion", "asked", "method"),
    [
        pytest.param(HUGE_STANDARDS, {}, {}, METHOD, id="standards read 1e60"),
        pytest.param(BELOW_ALL, {}, {}, METHOD, id="a reading of -1e61"),
        pytest.param(SOUND, {"mass_g": TINY}, {}, METHOD, id="a mass of 1e-61 g"),
        pytest.param(SOUND, {"volume_ml": "1" + "0" * 50}, {}, METHOD, id="a volume of 1e50 mL"),
        pytest.param(SOUND, {}, {"upper": TINY, "rule": "pharma"}, METHOD, id="a limit of 61 places"),
        pytest.param(SOUND, {}, {}, WIDE, id="k of 1e61"),
    ],
)
def test_absurd_sizes_are_a_problem(
    shots: tuple[Shot, ...], portion: dict[str, Any], asked: dict[str, Any], method: Method
) -> None:
    work = work_run(run_of(shots, method), bench_of([portion_of("A", **portion)], [requirement_of(**asked)]))
    assert not isinstance(work, RunWork)
    assert [problem.code for problem in work] == ["compute.number-size"]


def test_a_small_limit_is_plain_text() -> None:
    """0.5 ng/L, asked in mg/L: 5e-7 has no exponent in a record."""
    method = replace(METHOD, solution_unit="ng/L", lowest_level="0.5")
    asked = requirement_of(quantity="concentration", unit="mg/L", upper="0.000010", decimals=-1)
    work = work_run(run_of((*standards(), *samples("A", 0.0)), method), bench_of([portion_of("A")], [asked]))
    assert isinstance(work, RunWork)
    outcome = work.results[0].outcome
    assert isinstance(outcome, BelowLimit)
    assert outcome.limit == work.results[0].quantification_limit == "0.000000500000000000"
    assert is_plain_decimal(outcome.limit)


def test_reasons_of_many_portions_stay_short() -> None:
    """Thirty portions lost, each for its own reason: the schema lets 2000 signs through."""
    labels = [f"a portion with a long label, number {place}" for place in range(30)]
    portions = [portion_of(label, not_determined=f"{label}: {'spilled ' * 20}") for label in labels]
    shots = [Shot("sample", label, 5.0, label) for label in labels]
    asked = requirement_of(portions=30)
    work = work_run(run_of([*standards(), *shots], METHOD), bench_of(portions, [asked]))
    assert isinstance(work, RunWork)
    outcome = work.results[0].outcome
    assert isinstance(outcome, NotReportable)
    assert len(outcome.why) < 2000
    assert outcome.why.endswith("; 26 more)")
