"""Drawn again, whatever a run holds: a check with numbers, or a word why there is none; never a fault or a NaN."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute.making import BRACKETS, Shot, bench_of, run_of, samples, standards
from tests.compute.test_run_anything import (
    ASKED,
    CALIBRATIONS,
    CHECKS,
    PLANS,
    PORTIONS,
    PREPARED,
    Sizes,
    moved_method,
    moved_portion,
    moved_requirement,
    moved_shot,
)

from benchseal.compute.cross_check import Asked, cross_check
from benchseal.compute.explain_cross_check import NO_CHECK, cross_check_lines, cross_check_values
from benchseal.compute.explain_layout import WIDTH
from benchseal.compute.run_work import Worked, worked_run

if TYPE_CHECKING:
    from benchseal.records.method import CalibrationPlan, CheckRule


@pytest.mark.parametrize(
    "examples", [pytest.param(100, id="100"), pytest.param(5_000, id="5000", marks=pytest.mark.long)]
)
def test_numbers_of_any_size_are_drawn_or_refused_in_a_word(examples: int) -> None:
    seen: set[str] = set()

    @settings(max_examples=examples, deadline=None, database=None)
    @given(
        st.one_of(st.just(Sizes(0, 0, 0, 0, 0, 0, 0)), Sizes.drawn()),
        st.one_of(st.just(standards()), CALIBRATIONS),
        st.lists(st.one_of(PREPARED, CHECKS), max_size=6),
        PLANS,
        st.sampled_from([(), (), BRACKETS]),
        st.sampled_from(["none", "undiluted"]),
        st.integers(0, 2**32 - 1),
    )
    def each(  # noqa: PLR0917  one of each
        sizes: Sizes,
        calibration: tuple[Shot, ...],
        shots: list[Shot],
        plan: CalibrationPlan,
        rules: tuple[CheckRule, ...],
        subtraction: str,
        seed: int,
    ) -> None:
        method = moved_method(sizes, calibration=plan, checks=rules, blank_subtraction=subtraction)
        blanks = [Shot("method_blank", "MB", 0.1, "MB")] if subtraction == "undiluted" else []
        presented = (*calibration, *blanks, *samples(["A"]), *samples(["D"], 0.2), *shots)
        asked = [moved_requirement(one, sizes, -1) for one in ASKED]
        known = bench_of([moved_portion(one, sizes) for one in PORTIONS], asked)
        found = worked_run(run_of([moved_shot(shot, sizes) for shot in presented], method), known)
        if not isinstance(found, Worked):
            return
        by_quantity = {one.quantity: one for one in asked}
        for result in found.work.results:
            drawn = cross_check(found, by_quantity[result.quantity], result, Asked(1_000, seed))
            lines = tuple(cross_check_lines(result, drawn))
            assert all(len(line) <= WIDTH and "nan" not in line.split() and "inf" not in line for line in lines)
            json.dumps(cross_check_values(result, drawn), allow_nan=False)
            if isinstance(drawn, str):
                assert drawn in NO_CHECK
                seen.add(drawn)
            else:
                assert drawn.drawn.symmetric[0] <= drawn.drawn.symmetric[1]
                assert 0 <= drawn.covered_percent <= 100
                seen.add("drawn")

    each()
    assert {"drawn", "below_limit", "no_value"} <= seen
