"""What is to be read again after a run on a stored curve: estimates are corrected, and the next run may use it too."""

from __future__ import annotations

from dataclasses import replace

from tests.compute.making import bench_of, portion_of, requirement_of
from tests.compute.storing import checks, curve_of, later, opening, shot
from tests.compute.test_run_stored import usual

from benchseal.compute.reread import Beside, Reread, reread
from benchseal.compute.reread_with import NewRun, new_run
from benchseal.compute.run_work import work_run
from benchseal.records.results import RunWork

GAIN = 0.85
ROWS = (portion_of("V"), portion_of("W", "S-00002"))
PORTIONS = {(one.batch, one.portion): one for one in ROWS}


def listed(holds: float, gain: float = GAIN) -> tuple[Reread, NewRun]:
    """A sample that holds ``holds`` ug/L, and one in range."""
    first, _ = usual()
    own = (shot("sample", "V", holds, gain, portion="V"), shot("sample", "W", 5.0, gain, portion="W"))
    run = later((*opening(gain), *own, *checks(gain)), curve_of(first), first.method)
    asked = (requirement_of(upper="", decimals=-1),)
    work = work_run(run, bench_of(ROWS, asked))
    assert isinstance(work, RunWork), work
    beside = Beside(PORTIONS, {one.result_id: 1 for one in work.results}, {}, {})
    found = reread(run, work, beside)
    return found, new_run(run.method, found.open, PORTIONS, work.calibration.stored)


def test_an_estimate_is_of_the_corrected_signal() -> None:
    found, around = listed(44.0)
    (one,) = found.open
    assert (one.action, one.portion, one.over) == ("dilute", "V", True)
    assert one.dilution is not None
    assert abs(float(one.dilution.estimate) - 44.0) < 0.5, "uncorrected it would be 37"
    assert (around.standards, around.curve_of, around.valid_hours) == (7, "R-00003", "24")
    assert around.measured_at == "2026-03-02T08:00:00Z"


def test_near_the_top_is_told_by_the_corrected_signal() -> None:
    assert [one.portion for one in listed(19.0)[0].near_top] == ["V"]
    assert listed(17.0)[0].near_top == ()


def test_a_factor_outside_its_window_asks_for_a_whole_run() -> None:
    found, around = listed(5.0, 0.7)
    assert {one.action for one in found.open} == {"measure_run_again"}
    assert any("calibrate again" in one.why for one in found.failures)
    assert around.curve_of == "R-00003"


def test_a_run_with_its_own_curve_names_none() -> None:
    first, _ = usual()
    none = replace(listed(44.0)[1], curve_of="", measured_at="", valid_hours="")
    assert new_run(first.method, listed(44.0)[0].open, PORTIONS) == none
