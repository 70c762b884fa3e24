"""Readings far below zero, curves without scatter or slope, and how the residual sd is called. Invented runs."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.compute.making import Shot, bench_of, pair, pb_method, portion_of, requirement_of, rule, run_of, standards

from benchseal.compute.run_words import residual_words
from benchseal.compute.run_work import work_run
from benchseal.records.results import NotReportable, RunWork

SENSITIVITY = rule("sensitivity", low="80", high="120", expected="30")


def work_of(*shots: Shot, levels: tuple[Shot, ...] = (), **method: object) -> RunWork:
    own = [portion_of("A"), portion_of("MB", "", kind="method_blank", mass_g="")]
    run = run_of((*(levels or standards()), *pair(), *shots, *pair()), pb_method(**method))
    work = work_run(run, bench_of(own, [requirement_of()]))
    assert isinstance(work, RunWork), work
    return work


def test_far_below_zero_is_no_pass() -> None:
    work = work_of(Shot("sample", "A", -1.5, "A"))
    outcome = work.results[0].outcome
    assert isinstance(outcome, NotReportable)
    assert outcome.code == "reading.negative"
    assert "zero or blank is wrong; read again" in outcome.why
    assert [(one.position, one.code) for one in work.voided] == [(10, "reading.negative")]


@pytest.mark.parametrize("holds", [-0.9, 0.0])
def test_a_little_below_zero_is_less_than(holds: float) -> None:
    assert work_of(Shot("sample", "A", holds, "A")).results[0].outcome.kind == "below_limit"


def test_a_method_blank_keeps_its_own_rule() -> None:
    work = work_of(Shot("method_blank", "MB", -1.5, "MB"), checks=(rule("method_blank"),))
    (found,) = [one for one in work.checks if one.check == "method_blank"]
    assert (found.verdict, work.voided[0].code) == ("fail", "run.check")


def equal(signal: str) -> tuple[Shot, ...]:
    return tuple(replace(shot, signals=(signal,) * 3) for shot in standards())


def test_equal_readings_have_no_sensitivity() -> None:
    work = work_of(Shot("sample", "A", 5.0, "A"), levels=equal("0.1"), checks=(SENSITIVITY,))
    (found,) = [one for one in work.checks if one.check == "sensitivity"]
    assert (found.verdict, found.found) == ("not_evaluated", "")
    assert "does not rise at zero" in found.why
    assert residual_words(work.calibration, work.calibration.residual_sd).startswith("residual sd 0")


def test_calibration_readings_without_scatter_are_a_finding_that_fails_nothing() -> None:
    still = tuple(replace(shot, scatter=0.0) for shot in standards())
    work = work_of(Shot("sample", "A", 5.0, "A"), levels=still)
    assert work.usable
    assert any("without any scatter" in words for words in work.findings)
    one = (replace(still[0], scatter=0.0), *standards()[1:])
    assert not work_of(Shot("sample", "A", 5.0, "A"), levels=one).findings


def test_a_weighted_residual_sd_has_no_unit() -> None:
    calibration = work_of(Shot("sample", "A", 5.0, "A")).calibration
    assert residual_words(calibration, "0.01") == "residual sd 0.01 A s"
    for weighting in ("1/x", "1/x2", "1/s2", "variance_function"):
        assert residual_words(replace(calibration, weighting=weighting), "0.83") == "weighted residual sd 0.83"
