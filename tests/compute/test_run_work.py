"""A run from readings to results: what fails it, what stands, what is lost and how that is said."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import (
    BRACKETS,
    Shot,
    bench_of,
    pair,
    pb_method,
    portion_of,
    requirement_of,
    rule,
    run_of,
    samples,
    standards,
)

from benchseal.compute.run_work import work_run
from benchseal.records.method import CalibrationPlan, ReplicateRule, Standard
from benchseal.records.results import BelowLimit, NotReportable, Quantified, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.known import Bench
    from benchseal.records.method import Method
    from benchseal.records.run import Run

LABELS = ("A", "B", "C", "D")


def bench() -> Bench:
    return bench_of([portion_of(label, f"S-0000{place}") for place, label in enumerate(LABELS, start=1)])


def usual(*middle: Shot, method: Method | None = None) -> Run:
    return run_of((*standards(), *pair(), *middle, *pair()), method)


def worked(run: Run, known: Bench | None = None) -> RunWork:
    work = work_run(run, known or bench())
    assert isinstance(work, RunWork), work
    return work


def outcomes(work: RunWork) -> dict[str, str]:
    return {result.sample[-1]: result.outcome.kind for result in work.results}


def codes(run: Run, known: Bench) -> list[str]:
    work = work_run(run, known)
    assert not isinstance(work, RunWork)
    return [problem.code for problem in work]


def test_a_good_run_is_usable_and_gives_each_sample_its_result() -> None:
    work = worked(usual(*samples(LABELS)))
    assert work.usable
    assert work.findings == ()
    assert work.voided == ()
    assert outcomes(work) == dict.fromkeys("1234", "quantified")
    assert {check.verdict for check in work.checks} == {"pass"}
    first = work.results[0].outcome
    assert isinstance(first, Quantified)
    assert (first.value_text, first.k) == ("0.250", "2")


def test_a_failed_bracket_takes_its_samples_with_it_and_others_stand() -> None:
    shots = (*standards(), *pair(), *samples("AB"), *pair(), *samples("CD"), *pair(8.71))
    work = worked(run_of(shots))
    assert work.usable
    assert outcomes(work) == {"1": "quantified", "2": "quantified", "3": "not_reportable", "4": "not_reportable"}
    assert [row.position for row in work.voided] == [14, 15]
    assert {row.code for row in work.voided} == {"bracket.failed"}
    assert work.voided[0].why == "Check standard after position 15 read 87.09 %; limit 90 to 110 %"
    assert work.findings == (f"{work.voided[0].why} (positions 14 to 15 void)",)
    lost = work.results[2].portions[0]
    assert lost.value == ""
    assert Decimal(lost.solution_value) > 0, "the voided value stays visible"


def test_a_check_that_cannot_be_judged_does_not_pass() -> None:
    over = (Shot("check_standard", "CS", signals=("0.03", "over", "0.03")), Shot("check_blank", "CB", 0.05))
    work = worked(run_of((*standards(), *pair(), *samples("AB"), *over)))
    assert outcomes(work) == {"1": "not_reportable", "2": "not_reportable"}
    assert "over range" in work.voided[0].why


@pytest.mark.parametrize(
    ("shot", "code", "words"),
    [
        pytest.param(Shot("sample", "A", 25.0, "A"), "reading.over-range", "dilute and read again", id="above the top"),
        pytest.param(
            Shot("sample", "A", portion="A", signals=("0.05", "over", "0.05")),
            "reading.over-range",
            "over range",
            id="a word for a reading",
        ),
        pytest.param(
            Shot("sample", "A", portion="A", signals=("0.02", "none", "0.02")),
            "reading.missing",
            "1 of 3 readings are missing",
            id="a reading is missing",
        ),
        pytest.param(
            Shot("sample", "A", portion="A", signals=("0.02", "0.02")),
            "reading.missing",
            "2 of 3 readings were taken",
            id="a reading was not taken",
        ),
        pytest.param(
            Shot("sample", "A", 5.0, "A", scatter=0.12), "reading.scatter", "limit at most 10 %", id="readings scatter"
        ),
    ],
)
def test_a_solution_that_gives_no_value(shot: Shot, code: str, words: str) -> None:
    work = worked(usual(shot, *samples("B")))
    outcome = work.results[0].outcome
    assert isinstance(outcome, NotReportable)
    assert outcome.code == code
    assert words in outcome.why
    assert [(row.position, row.code) for row in work.voided] == [(10, code)]
    assert work.results[0].verdict == "none"
    assert work.results[1].outcome.kind == "quantified"


def test_over_range_never_shows_a_number() -> None:
    work = worked(usual(*samples("A", 25.0)))
    portion = work.results[0].portions[0]
    assert (portion.solution_value, portion.u_solution, portion.value) == ("", "", "")


def test_scatter_is_not_judged_below_the_level_from_which_it_is() -> None:
    work = worked(usual(Shot("sample", "A", 0.3, "A", scatter=0.15)))
    assert isinstance(work.results[0].outcome, BelowLimit)


def test_below_the_lowest_standard_a_value_is_kept_even_a_negative_one() -> None:
    work = worked(usual(*samples("A", -0.2)))
    outcome = work.results[0].outcome
    assert isinstance(outcome, BelowLimit)
    assert Decimal(outcome.value) < 0
    assert (outcome.value_text, outcome.limit) == ("<0.050", "0.0500000000000")
    assert work.results[0].verdict == "pass"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param({"smallest_levels": 8}, "levels: 7; limit at least 8", id="too few levels"),
        pytest.param({"smallest_r_squared": "0.99999"}, "r squared is", id="r squared"),
        pytest.param({"largest_error_percent": "0.1"}, "standard S2 is given back with an error", id="an error"),
        pytest.param({"at_lowest_percent": "1"}, "standard S1 is given back with an error", id="error at the lowest"),
    ],
)
def test_a_failed_calibration_leaves_no_result(change: dict[str, str | int], words: str) -> None:
    plan: CalibrationPlan = replace(pb_method().calibration, **change)  # type: ignore[arg-type]
    work = worked(usual(*samples("AB"), method=pb_method(calibration=plan)))
    assert not work.usable
    assert words in work.findings[0]
    assert outcomes(work) == {"1": "not_reportable", "2": "not_reportable"}
    assert {row.code for row in work.voided} == {"run.calibration"}


def test_a_standard_of_the_method_that_was_not_read_fails_the_calibration() -> None:
    shots = [shot for shot in standards() if shot.label != "S4"]
    work = worked(run_of((*shots, *pair(), *samples("A"), *pair())))
    assert not work.usable
    assert "standard S4 has no reading" in work.findings[0]


def test_a_standard_of_which_no_reading_is_a_number_is_no_level() -> None:
    shots = [replace(shot, signals=("over",) * 3) if shot.label == "S6" else shot for shot in standards()]
    work = worked(run_of((*shots, *pair(), *samples("A", 17.0), *pair())))
    assert work.calibration.highest == "15"
    assert not work.usable
    assert "standard S6 has no reading" in work.findings[0]


def test_a_standard_whose_readings_scatter_fails_the_calibration() -> None:
    shots = [replace(shot, scatter=0.12) if shot.label == "S4" else shot for shot in standards()]
    work = worked(run_of((*shots, *pair(), *samples("A"), *pair())))
    assert not work.usable
    assert "standard S4 at position 5: the readings scatter by" in work.findings[0]
    replicates = next(check for check in work.checks if check.check == "replicates")
    assert (replicates.verdict, replicates.made_on_sample) == ("fail", False)


def test_a_falling_curve_is_no_calibration() -> None:
    shots = [Shot("standard", f"S{i}", signals=(f"0.{90 - i:03}",) * 3) for i in range(7)]
    work = worked(run_of((*shots, *pair(), *samples("A"), *pair())))
    assert not work.usable
    verdict = next(check for check in work.checks if check.rule == "calibration.rising")
    assert verdict.verdict == "fail"


def test_a_calibration_blank_is_the_zero_standard_only_where_the_method_lists_one() -> None:
    blank = Shot("calibration_blank", "Cal blank", 0.0)
    shots = (blank, *standards()[1:], *pair(), *samples("A"), *pair())
    assert worked(run_of(shots)).calibration.levels[0].concentration == "0"
    without = pb_method(standards=pb_method().standards[1:])
    work = worked(run_of(shots, without))
    assert work.calibration.lowest == "1"
    assert work.calibration.n == 18


def test_means_count_as_one_reading_each() -> None:
    plan = replace(pb_method().calibration, fit_on="means")
    work = worked(usual(*samples("A"), method=pb_method(calibration=plan)))
    assert (work.calibration.n, work.calibration.df) == (7, 5)
    calibration, portion = work.calibration, work.results[0].portions[0]
    s, b1 = float(calibration.residual_sd), float(calibration.coefficients[1])
    assert float(portion.u_solution) > s / b1, "u holds the whole of s, not s over the root of three"


def test_a_sample_of_which_nothing_is_asked_is_a_finding() -> None:
    known = bench_of([portion_of("A")], [requirement_of(element="Cd")])
    work = worked(usual(*samples("A")), known)
    assert work.results == ()
    assert work.findings == ("the specification of sample S-00001 asks nothing of Pb by method pb-furnace",)


@pytest.mark.parametrize(
    ("run", "known", "code"),
    [
        pytest.param(
            usual(*samples("A"), method=pb_method(signal_is="instrument_concentration")),
            bench(),
            "compute.signal-kind",
            id="concentrations only",
        ),
        pytest.param(
            usual(*samples("A"), method=pb_method(solution_unit="mg/kg")), bench(), "compute.unit", id="unit of a solid"
        ),
        pytest.param(usual(*samples("Z")), bench(), "compute.portion-unknown", id="portion without a preparation row"),
        pytest.param(
            usual(Shot("sample", "A", 5.0)), bench(), "compute.portion-unknown", id="sample bound to no portion"
        ),
        pytest.param(
            usual(*samples("A")), replace(bench(), samples={}), "compute.sample-unknown", id="sample not registered"
        ),
        pytest.param(
            usual(*samples("A")),
            replace(bench(), specifications={}),
            "compute.specification-unknown",
            id="no specification in force",
        ),
        pytest.param(usual(*samples("A")), replace(bench(), lots={}), "compute.lot-unknown", id="lot not registered"),
        pytest.param(
            replace(usual(*samples("A")), standard_lots=()), bench(), "compute.lot-unknown", id="no lot named"
        ),
        pytest.param(
            usual(Shot("standard", "S9", 7.0)), bench(), "compute.standard-unknown", id="standard the method has not"
        ),
        pytest.param(
            usual(*samples("A"), method=pb_method(checks=(rule("control_sample", brackets=True),))),
            bench(),
            "compute.bracket-kind",
            id="bracket by a prepared check",
        ),
        pytest.param(
            usual(
                *samples("A"),
                method=pb_method(calibration=replace(pb_method().calibration, weighting="1/x")),
            ),
            bench(),
            "compute.calibration-impossible",
            id="no weight at zero",
        ),
        pytest.param(
            run_of((*standards()[:1], *pair(), *samples("A"))),
            bench(),
            "compute.calibration-impossible",
            id="one level",
        ),
        pytest.param(run_of(samples("A")), bench(), "compute.calibration-impossible", id="no calibration at all"),
        pytest.param(
            run_of((Shot("standard", "S0", signals=("none",) * 3), *standards()[1:2], *samples("A"))),
            bench(),
            "compute.calibration-impossible",
            id="a level without a number leaves too little",
        ),
    ],
)
def test_what_keeps_a_run_from_being_computed(run: Run, known: Bench, code: str) -> None:
    assert set(codes(run, known)) == {code}


def test_all_problems_at_once() -> None:
    run = replace(usual(*samples("AZ"), Shot("standard", "S9", 7.0)), standard_lots=("X",))
    assert codes(run, bench()) == ["compute.standard-unknown", "compute.lot-unknown", "compute.portion-unknown"]


@pytest.mark.parametrize("model", ["line", "line_through_zero", "quadratic"])
@pytest.mark.parametrize("weighting", ["none", "1/x", "1/x2"])
@pytest.mark.parametrize("fit_on", ["readings", "means"])
def test_every_model_and_weighting_gives_back_what_was_there(model: str, weighting: str, fit_on: str) -> None:
    plan = replace(pb_method().calibration, model=model, weighting=weighting, fit_on=fit_on)  # type: ignore[arg-type]
    method = pb_method(
        calibration=plan,
        standards=tuple(
            Standard(f"S{place}", level) for place, level in enumerate(("1", "2.5", "5", "10", "15", "20"))
        ),
        replicates=ReplicateRule(3, "10", "1", "test"),
    )
    shots: Sequence[Shot] = [
        Shot(
            "standard",
            one.label,
            signals=tuple(f"{0.003 * float(one.concentration) * f:.7f}" for f in (0.99, 1.0, 1.012)),
        )
        for one in method.standards
    ]
    sample = Shot("sample", "A", portion="A", signals=("0.0148", "0.0150", "0.0152"))
    closing = (
        Shot("check_standard", "CS", signals=("0.03",) * 3),
        Shot("check_blank", "CB", signals=("0.0002", "0.0001", "0.0000")),
    )
    work = worked(run_of((*shots, sample, *closing), replace(method, checks=BRACKETS)))
    assert work.usable, work.findings
    assert abs(float(work.results[0].portions[0].solution_value) / 5 - 1) < 0.01
    assert len(work.calibration.coefficients) == {"line": 2, "line_through_zero": 1, "quadratic": 3}[model]
