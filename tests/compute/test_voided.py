"""What a voided reading would have given: by hand for a reading, a dilution, a volume and a mass."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import bench_of, pb_method, portion_of, run_of, samples, standards

from benchseal.compute.run_work import work_run
from benchseal.compute.voided import outside, would_have_been
from benchseal.records.results import RunWork, WorkedResult

if TYPE_CHECKING:
    from benchseal.records.specification import Requirement


def worked(holds: float) -> tuple[WorkedResult, Requirement]:
    bench = bench_of((portion_of("A"),))
    work = work_run(run_of((*standards(), *samples(("A",), holds)), replace(pb_method(), checks=())), bench)
    assert isinstance(work, RunWork), work
    (result,) = work.results
    (_, specification) = next(iter(bench.specifications.values()))
    return result, next(one for one in specification.requirements if one.element == "Pb")


def test_by_hand_from_reading_dilution_volume_and_mass() -> None:
    result, asked = worked(5.0)
    portion = portion_of("A")
    (row,) = result.portions
    found = would_have_been(result, asked, pb_method().solution_unit, {(portion.batch, portion.portion): portion})
    by_hand = float(row.solution_value) / 1000 * float(row.dilution) * float(portion.volume_ml) / float(portion.mass_g)
    assert asked.unit == "ug/g"
    assert float(found) == pytest.approx(by_hand, rel=1e-11)


def test_nothing_is_made_up_where_a_preparation_is_missing_or_empty() -> None:
    result, asked = worked(5.0)
    portion = portion_of("A")
    key = (portion.batch, portion.portion)
    assert would_have_been(result, asked, "ug/L", {}) == ""
    assert would_have_been(result, asked, "ug/L", {key: replace(portion, mass_g="")}) == ""
    unread = replace(result, portions=tuple(replace(one, solution_value="") for one in result.portions))
    assert would_have_been(unread, asked, "ug/L", {key: portion}) == ""


@pytest.mark.parametrize(
    ("value", "lower", "upper", "is_outside"),
    [
        ("0.5", "", "0.50", False),
        ("0.5001", "", "0.50", True),
        ("89.9", "90.0", "110.0", True),
        ("90", "90.0", "", False),
    ],
)
def test_outside_as_it_stands(value: str, lower: str, upper: str, is_outside: bool) -> None:
    _, asked = worked(5.0)
    assert outside(value, replace(asked, lower=lower, upper=upper)) is is_outside
