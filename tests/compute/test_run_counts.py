"""Unequal numbers of readings where means are fitted: said, since weights and noise take them for equal."""

from __future__ import annotations

from dataclasses import replace

import pytest

from benchseal.compute.run_work import work_run
from benchseal.records.method import CalibrationPlan, ReplicateRule
from benchseal.records.results import RunWork

from .making import Shot, bench_of, pb_method, portion_of, readings_of, requirement_of, run_of, standards

EQUAL = "means weigh alike"
FEWER = "read fewer times than the calibration solutions"


def read(shot: Shot, times: int) -> Shot:
    """The shot with so many readings, scattered about its curve as in its own three."""
    own = readings_of(shot)
    return replace(shot, signals=tuple(own[place % 3] for place in range(times)))


def findings(of_standards: tuple[int, ...], of_sample: int, fit_on: str = "means", weighting: str = "none") -> str:
    calibration = CalibrationPlan("line", weighting, fit_on, 5, "50", "60", "0.9", "test")  # type: ignore[arg-type]
    method = pb_method(calibration=calibration, replicates=ReplicateRule(2, "10", "1", "test"), checks=())
    curve = [read(shot, of_standards[place % len(of_standards)]) for place, shot in enumerate(standards())]
    shots = (*curve, read(Shot("sample", "A", 5.0, "A"), of_sample))
    work = work_run(run_of(shots, method), bench_of([portion_of("A")], (requirement_of(),)))
    assert isinstance(work, RunWork), work
    return " ".join(work.findings)


def test_as_many_readings_or_more_say_nothing() -> None:
    assert EQUAL not in findings((3,), 3)
    assert FEWER not in findings((3,), 3)
    assert FEWER not in findings((3,), 5)


def test_standards_read_unequally_often_are_told() -> None:
    assert "the calibration solutions were read 2 to 5 times, and their means weigh alike" in findings((2, 5), 3)


def test_a_sample_read_fewer_times_than_the_standards_is_told() -> None:
    text = findings((5,), 2)
    assert f"position 8: {FEWER}" in text
    assert EQUAL not in text


@pytest.mark.parametrize(("fit_on", "weighting"), [("readings", "none"), ("means", "1/s2")])
def test_where_each_reading_counts_there_is_nothing_to_say(fit_on: str, weighting: str) -> None:
    text = findings((5, 6), 2, fit_on, weighting)
    assert EQUAL not in text
    assert FEWER not in text
