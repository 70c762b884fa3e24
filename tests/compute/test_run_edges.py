"""Edges in a run where one side is a value and the other is none, hit to the last digit of a record."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import pytest
from tests.compute.curves import method_with, rule, straight, whole, worked
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, requirement_of, run_of, samples, standards

from benchseal.compute.run_stored_solved import slope_at
from benchseal.compute.run_work import work_run
from benchseal.records.results import Quantified, RunWork

if TYPE_CHECKING:
    from benchseal.compute.run_curve import Solved


def work_of(*shots: Shot, **method: Any) -> RunWork:  # noqa: ANN401  fields of a record by name
    work = work_run(run_of((*standards(), *pair(), *shots, *pair()), pb_method(**method)), bench_of([portion_of("A")]))
    assert isinstance(work, RunWork), work
    return work


@pytest.mark.parametrize(
    ("further", "code"), [pytest.param(0.0, "", id="at it"), pytest.param(1e-10, "reading.negative", id="below it")]
)
def test_as_far_below_zero_as_the_lowest_level_is_still_less_than(further: float, code: str) -> None:
    """The lowest level is 1 ug/L: a reading of -1.00000000000 is kept, one of -1.00000000010 is not."""
    b0, b1 = map(float, work_of(*samples("A")).calibration.coefficients)
    signal = f"{b0 - b1 * (1 + further):.19f}"
    outcome = work_of(Shot("sample", "A", portion="A", signals=(signal,) * 3)).results[0].outcome
    assert getattr(outcome, "code", "") == code
    assert (outcome.kind == "below_limit") is (code == "")


@pytest.mark.parametrize("order", ["AB", "BA"])
def test_the_limit_of_a_result_is_the_greatest_of_its_portions(order: str) -> None:
    """1 ug/L in 25 mL: of 0.5 g 0.05 ug/g, of 0.2 g 0.125 ug/g."""
    portions = [portion_of(label, mass_g="0.5" if label == order[0] else "0.2") for label in "AB"]
    run = run_of((*standards(), *pair(), *samples("AB"), *pair()))
    work = work_run(run, bench_of(portions, [requirement_of(portions=2)]))
    assert isinstance(work, RunWork)
    assert float(work.results[0].quantification_limit) == 0.125
    assert isinstance(work.results[0].outcome, Quantified)


@pytest.mark.parametrize(("limit", "verdict"), [("0.99", "pass"), ("0.9999999", "fail")])
def test_r_squared_is_held_against_the_least_the_method_takes(limit: str, verdict: str) -> None:
    work = worked(whole(method_with(smallest_r_squared=limit), standards()))
    found = rule(work, "r_squared")
    assert found is not None
    assert (found.verdict, found.low, found.high, found.unit) == (verdict, limit, "", "")
    assert found.found == work.calibration.r_squared
    assert work.usable is (verdict == "pass")
    if verdict == "fail":
        assert found.why == "r squared is 0.9998; limit at least 0.9999999"


def test_r_squared_equal_to_its_limit_is_enough() -> None:
    exact = worked(whole(method_with(), standards())).calibration.r_squared
    found = rule(worked(whole(method_with(smallest_r_squared=exact), standards())), "r_squared")
    assert found is not None
    assert found.verdict == "pass"


@pytest.mark.parametrize(("levels", "verdict"), [(7, "pass"), (8, "fail")])
def test_levels_are_counted_once_each(levels: int, verdict: str) -> None:
    """Seven standards, three readings each."""
    found = rule(worked(whole(method_with(smallest_levels=levels), standards())), "levels")
    assert found is not None
    assert (found.rule, found.found, found.low, found.high) == ("calibration.levels", "7", str(levels), "")
    assert (found.verdict, found.positions) == (verdict, (1, 2, 3, 4, 5, 6, 7))
    assert ("levels: 7; limit at least 8" in found.why) is (verdict == "fail")


def test_a_standard_that_was_not_read_is_named() -> None:
    found = rule(worked(whole(method_with(smallest_levels=5), standards()[:6])), "levels")
    assert found is not None
    assert (found.verdict, found.why) == ("fail", "standard S6 has no reading")


@pytest.mark.parametrize("which", ["error_lowest", "error"])
def test_errors_of_levels_are_held_against_their_own_limit(which: str) -> None:
    """The lowest level above zero has one of its own; errors here are 1.464 % there and at most 0.98 % above."""
    field = "at_lowest_percent" if which == "error_lowest" else "largest_error_percent"
    for limit, verdict in (("2", "pass"), ("0.5", "fail")):
        work = worked(whole(method_with(**{field: limit}), standards()))
        found = rule(work, which)
        assert found is not None
        assert (found.verdict, found.low, found.high, found.unit) == (verdict, f"-{limit}", limit, "%")
        worst = {"error_lowest": "S1", "error": "S2"}[which]
        assert found.why.startswith(f"standard {worst} is given back with an error of ") is (verdict == "fail")
        assert found.positions == ((2,) if which == "error_lowest" else (3, 4, 5, 6, 7))


def test_scatter_is_not_judged_where_no_solution_holds_enough() -> None:
    """Scatter is judged from a concentration on; here nothing of the laboratory's own reaches it."""
    method = pb_method(replicates=replace(pb_method().replicates, judged_from="100"), checks=())
    run = run_of((*standards(), *samples("A")), method)
    work = work_run(run, bench_of([portion_of("A")]))
    assert isinstance(work, RunWork)
    found = [one for one in work.checks if one.check == "replicates"]
    assert found
    for one in found:
        assert (one.verdict, one.found, one.positions) == ("not_evaluated", "", ())
        assert one.why == "no solution holds enough for the scatter of its readings to be judged"


def test_a_rise_is_said_from_the_lowest_to_the_highest_standard() -> None:
    falling = tuple(replace(shot, holds=20 - shot.holds) for shot in standards())
    found = rule(worked(whole(method_with(), falling)), "rising")
    assert found is not None
    assert (found.verdict, found.why) == ("fail", "the curve does not rise from 0 to 20 throughout")
    good = rule(worked(whole(method_with(), standards())), "rising")
    assert good is not None
    assert (good.verdict, good.why, straight(1.0) > straight(0.0)) == ("pass", "", True)


def test_the_tangent_of_a_stored_curve_at_zero_and_elsewhere() -> None:
    """0.1 + 0.2 c - 0.01 c^2: 0.2 at zero and 0.2 - 0.02 c."""
    bent = cast("Solved", SimpleNamespace(powers=(0, 1, 2), coefficients=np.array([0.1, 0.2, -0.01])))
    np.testing.assert_allclose(slope_at(bent, np.array([0.0, 1.0, 5.0])), [0.2, 0.18, 0.1], rtol=1e-14)
    through = cast("Solved", SimpleNamespace(powers=(1,), coefficients=np.array([0.3])))
    assert slope_at(through, np.array([0.0, 7.0])).tolist() == [0.3, 0.3]
