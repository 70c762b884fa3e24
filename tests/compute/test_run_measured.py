"""Where readings are judged for their scatter, and by what name; what a curve of two levels says of it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compute.curves import growing, method_with, shots_of, straight, told, whole, worked
from tests.compute.making import bench_of, pair, pb_method, portion_of, requirement_of, run_of, samples, standards

from benchseal.compute.run_work import work_run
from benchseal.records.results import NotReportable, RunWork


def code_at(holds: float, judged_from: str, scatter: float = 0.3) -> str:
    """Why a portion of so much has no value, its three readings 30 % apart; empty where it has one."""
    method = pb_method(replicates=replace(pb_method().replicates, judged_from=judged_from), lowest_level="0.01")
    (shot,) = samples("A", holds)
    run = run_of((*standards(), *pair(), replace(shot, scatter=scatter), *pair()), method)
    work = work_run(run, bench_of([portion_of("A")], [requirement_of(upper="")]))
    assert isinstance(work, RunWork), work
    outcome = work.results[0].outcome
    return outcome.code if isinstance(outcome, NotReportable) else ""


@pytest.mark.parametrize(
    ("holds", "judged_from", "code"),
    [
        pytest.param(0.5, "0.1", "reading.scatter", id="above where judging begins, and below one"),
        pytest.param(0.5, "", "reading.scatter", id="judged everywhere above zero"),
        pytest.param(0.5, "0.6", "", id="below where judging begins"),
        pytest.param(-0.1, "", "reading.negative", id="below zero the relative scatter means nothing"),
        pytest.param(5.0, "1", "reading.scatter", id="well above"),
    ],
)
def test_scatter_is_judged_from_where_the_method_says(holds: float, judged_from: str, code: str) -> None:
    assert code_at(holds, judged_from) == code


def test_the_check_of_replicates_bears_its_name() -> None:
    run = run_of((*standards(), *pair(), *samples("A"), *pair()))
    work = work_run(run, bench_of([portion_of("A")]))
    assert isinstance(work, RunWork)
    found = [(one.rule, one.check, one.unit, one.expected) for one in work.checks if one.check == "replicates"]
    assert found[0] == ("replicates", "replicates", "%", "")
    assert set(found) == {found[0]}


def test_two_levels_of_several_readings_are_enough_to_compare_their_scatter() -> None:
    method = method_with(["1", "10"], smallest_levels=2)
    work = worked(whole(method, shots_of(method, straight, growing)))
    found = told(work, "homogeneity")
    assert found.statistic
    assert (found.df1, found.df2) == (4, 4)
    alone = method_with(["1", "10"], smallest_levels=2)
    once = worked(whole(alone, shots_of(alone, straight, growing, (0.0, 0.4))))
    assert told(once, "homogeneity").df1 == 1


def test_a_reading_of_another_portion_is_not_asked() -> None:
    """Two portions, one of which scatters: the other keeps its value."""
    shots = [replace(one, scatter=0.3 if one.label == "A" else 0.01) for one in samples("AB")]
    run = run_of((*standards(), *pair(), *shots, *pair()))
    work = work_run(run, bench_of([portion_of("A"), portion_of("B", "S-00002")]))
    assert isinstance(work, RunWork)
    assert [one.outcome.kind for one in work.results] == ["not_reportable", "quantified"]
