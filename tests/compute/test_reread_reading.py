"""What one reading says by itself on the curve of record: over, near the top, or neither, and how far it lies."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, run_of, standards

from benchseal.compute.reread_reading import looks_of
from benchseal.compute.run_signals import signals_of
from benchseal.compute.run_work import work_run
from benchseal.records.method import Conditions
from benchseal.records.results import RunWork

if TYPE_CHECKING:
    from benchseal.compute.reread_reading import Look

LINE = ("0.0015", "0.003")  # 0.0015 + 0.003 c, highest standard 20: 0.0615


def look(signal: str, *, closing: float = 10.0, background: str = "", limit: str = "") -> Look:
    """Of one sample on the line, its bracket closed by a check standard that holds ``closing``."""
    shot = Shot("sample", "A", portion="A", signals=(signal,) * 3, background=background)
    method = pb_method(conditions=Conditions(largest_background=limit))
    levels = tuple(replace(one, background="0") for one in standards())
    run = run_of((*levels, *pair(), shot, *pair(closing)), method)
    work = work_run(run, bench_of([portion_of("A")]))
    assert isinstance(work, RunWork)
    work = replace(work, calibration=replace(work.calibration, coefficients=LINE))
    return looks_of(run, work, signals_of(run))[9]


@pytest.mark.parametrize(
    ("signal", "over", "near", "reads"),
    [
        pytest.param("0.0555", False, False, 18.0, id="at nine tenths of the highest standard"),
        pytest.param("0.05550003", False, True, 18.00001, id="just above"),
        pytest.param("0.0615", False, True, 20.0, id="at the highest standard"),
        pytest.param("0.0616", True, False, 20 + 1 / 30, id="a little above it"),
        pytest.param("0.0015", False, False, 0.0, id="at the blank"),
    ],
)
def test_over_and_near_the_top_in_a_failed_bracket(signal: str, over: bool, near: bool, reads: float) -> None:
    """The bracket voids the reading, so only its place on the curve tells."""
    found = look(signal, closing=8.0)
    assert (found.over, found.near_top, found.no_estimate) == (over, near, "")
    assert float(found.concentration) == pytest.approx(reads, abs=1e-9)


def test_a_reading_without_a_number_says_so_and_one_over_range_is_over() -> None:
    over, none = look("over"), look("none")
    assert (over.over, over.concentration, over.no_estimate, over.near_top) == (True, "", "no_number", False)
    assert (none.over, none.concentration, none.no_estimate, none.near_top) == (False, "", "no_number", False)


@pytest.mark.parametrize(
    ("background", "limit", "too_much"),
    [("1.0", "1.0", False), ("1.01", "1.0", True), ("", "1.0", False), ("9", "", False)],
)
def test_background_above_the_limit_is_too_much(background: str, limit: str, too_much: bool) -> None:
    assert look("0.03", background=background, limit=limit).background is too_much


def test_on_a_curve_that_failed_nothing_is_carried_on() -> None:
    """The levels in falling order of signal."""
    levels = standards()
    turned = tuple(replace(shot, holds=other.holds) for shot, other in zip(levels, levels[::-1], strict=True))
    run = run_of((*turned, Shot("sample", "A", 5.0, "A")), pb_method(checks=()))
    work = work_run(run, bench_of([portion_of("A")]))
    assert isinstance(work, RunWork)
    found = looks_of(run, work, signals_of(run))[7]
    assert (found.over, found.concentration, found.no_estimate, found.near_top) == (False, "", "no_curve", False)
