"""What has to be read or prepared again, and what belongs to it. Invented runs: they show rules, no number is evidence.

Rules held here: EPA 7000B, 10.2.2 (what a failed check takes with it is read again), EPA 200.9, 11.4.9 (dilution from
90 % of the upper limit on). Numbers of curves and dilutions below are worked by hand beside their tests.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import asdict, replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.compute import test_run_additions as additions
from tests.compute.making import (
    BATCH,
    BRACKETS,
    Shot,
    bench_of,
    pair,
    pb_method,
    pb_signal,
    portion_of,
    requirement_of,
    rule,
    run_of,
    samples,
    standards,
)
from tests.compute.test_run_anything import ASKED, CALIBRATIONS, CHECKS, PLANS, PORTIONS, PREPARED

from benchseal.compute.dilution_plan import Wanted
from benchseal.compute.reread import ACTIONS, Action, Beside, Reread, portions_with_value, reread
from benchseal.compute.reread_dilution import plain_factor
from benchseal.compute.reread_reading import carried_on
from benchseal.compute.reread_with import NewRun, new_run
from benchseal.compute.run_work import work_run
from benchseal.records.method import Conditions, Glassware
from benchseal.records.preparation import DilutionStep
from benchseal.records.results import NotReportable, RunWork
from benchseal.records.run import PRESENTED_KINDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.compute.reread import Again
    from benchseal.records.method import CheckRule, Method
    from benchseal.records.preparation import Portion
    from benchseal.records.run import Run
    from benchseal.records.specification import Requirement

CALCULATIONS = Path(__file__).parents[2] / "docs" / "manual" / "calculations.md"


def listed(
    shots: Sequence[Shot],
    portions: Iterable[Portion],
    method: Method | None = None,
    asked: Sequence[Requirement] | None = None,
    elsewhere: Sequence[str] = (),
) -> tuple[Reread, RunWork, Run, Beside]:
    """The list of a run made of the standards and ``shots``. elsewhere: samples whose results R-9 has."""
    levels = (replace(shot, background="0.1") for shot in standards())
    run, rows = run_of((*levels, *shots), method), tuple(portions)
    requirements = (requirement_of(),) if asked is None else asked
    work = work_run(run, bench_of(rows, requirements))
    assert isinstance(work, RunWork), work
    beside = Beside(
        portions={(one.batch, one.portion): one for one in rows},
        wanted=wanted_of(work, requirements),
        results={one.result_id: ("R-9",) for one in work.results if one.sample in elsewhere},
        readings={},
    )
    return reread(run, work, beside), work, run, beside


def wanted_of(work: RunWork, requirements: Sequence[Requirement]) -> dict[str, int]:
    return {
        result.result_id: asked.portions
        for result in work.results
        for asked in requirements
        if (asked.quantity, asked.basis, asked.expressed_as) == (result.quantity, result.basis, result.expressed_as)
    }


def short(found: Reread) -> list[tuple[str, tuple[int, ...], str, str]]:
    return [(one.action, one.positions, one.portion, one.code) for one in found.again]


def only(found: Reread) -> Again:
    (one,) = found.again
    return one


A, B = portion_of("A"), portion_of("B", "S-00002")
DUPLICATE = portion_of("A2", kind="duplicate")
BLANK = portion_of("MB", "", kind="method_blank", mass_g="")
BLANK_SHOT = Shot("method_blank", "MB", 0.1, portion="MB")
TWO = (requirement_of(portions=2),)
HIGH = (f"{pb_signal(44.0):.6f}",) * 3  # more than twice the highest standard

# Positions 1 to 7 are the standards.
CASES = [
    pytest.param(
        (*pair(), *samples("A"), *pair(8.0), *samples("B"), *pair()),
        (A, B),
        pb_method(),
        None,
        [("read_again", (10,), "A", "bracket.failed"), ("read_again", (13,), "B", "bracket.failed")],
        id="a check standard failed: both sides of it, in presented order",
    ),
    pytest.param(
        (*pair(), *samples("AB")),
        (A, B),
        pb_method(),
        None,
        [("read_again", (10,), "A", "bracket.open"), ("read_again", (11,), "B", "bracket.open")],
        id="nothing closes the run",
    ),
    pytest.param(
        (*pair(), *samples("AB"), *pair()),
        (A, B),
        pb_method(checks=(rule("check_standard", every=1, brackets=True),)),
        None,
        [("read_again", (11,), "B", "bracket.too-long")],
        id="too many since the last check",
    ),
    pytest.param(
        (Shot("sample", "B", 15.0, portion="B"), Shot("rinse", "R", 9.0), *samples("A")),
        (A, B),
        pb_method(checks=(rule("return_to_zero", limit_in="solution", low="", high="0.5"),)),
        None,
        [("read_again", (10,), "A", "carry-over.failed")],
        id="read directly after a rinse that did not come back",
    ),
    pytest.param(
        (*pair(), Shot("sample", "A", portion="A", signals=HIGH), *pair()),
        (A,),
        pb_method(),
        None,
        [("dilute", (10,), "A", "reading.over-range")],
        id="above the highest standard",
    ),
    pytest.param(
        (*pair(), Shot("sample", "A", portion="A", signals=("over", "over", "over")), *pair()),
        (A,),
        pb_method(),
        None,
        [("dilute", (10,), "A", "reading.over-range")],
        id="the instrument gave no number",
    ),
    pytest.param(
        (*pair(), Shot("sample", "A", portion="A", signals=HIGH), *pair(8.0)),
        (A,),
        pb_method(),
        None,
        [("dilute", (10,), "A", "bracket.failed")],
        id="above the standards and in a failed bracket: to be diluted all the same",
    ),
    pytest.param(
        (*pair(), Shot("sample", "A", 5.0, portion="A", scatter=0.3), *pair()),
        (A,),
        pb_method(),
        None,
        [("read_again", (10,), "A", "reading.scatter")],
        id="readings scatter",
    ),
    pytest.param(
        (*pair(), Shot("sample", "A", portion="A", signals=("0.016", "none", "0.016")), *pair()),
        (A,),
        pb_method(),
        None,
        [("read_again", (10,), "A", "reading.missing")],
        id="a reading is missing",
    ),
    pytest.param(
        (*pair(), Shot("sample", "A", 5.0, portion="A", background="1.2"), *pair()),
        (A,),
        pb_method(conditions=Conditions(largest_background="1.0"), checks=()),
        None,
        [("dilute", (10,), "A", "reading.background")],
        id="more background than the method allows",
    ),
    pytest.param(
        (*pair(), Shot("sample", "A", 5.0, portion="A"), *pair()),
        (A,),
        pb_method(conditions=Conditions(largest_background="1.0"), checks=()),
        None,
        [("read_again", (10,), "A", "reading.background")],
        id="background not given",
    ),
    pytest.param(
        (*samples("AB"), *pair()),
        (A, B, BLANK),
        pb_method(blank_subtraction="undiluted"),
        None,
        [("read_again", (8,), "A", "blank.missing"), ("read_again", (9,), "B", "blank.missing")],
        id="the blank that is taken off was not read",
    ),
    pytest.param(
        (*pair(), replace(BLANK_SHOT, scatter=0.9, holds=2.0), *samples("A"), *pair()),
        (A, BLANK),
        pb_method(blank_subtraction="undiluted"),
        None,
        [("read_again", (10,), "MB", "reading.scatter"), ("read_again", (11,), "A", "blank.missing")],
        id="the blank that is taken off has no value",
    ),
    pytest.param(
        (*pair(), BLANK_SHOT, *samples("A"), *pair()),
        (A, replace(BLANK, dilutions={"Pb": (DilutionStep("1", "10"),)})),
        pb_method(blank_subtraction="undiluted"),
        None,
        [("prepare_again", (11,), "A", "blank.dilution")],
        id="the blank was diluted otherwise than the method states",
    ),
    pytest.param(
        (*pair(), Shot("method_blank", "MB", portion="MB", signals=HIGH), *pair()),
        (BLANK,),
        pb_method(),
        None,
        [("prepare_again", (10,), "MB", "reading.over-range")],
        id="a method blank above the standards is contaminated: diluting it helps nobody",
    ),
    pytest.param(
        (*pair(), *samples("AB"), *pair(8.0)),
        (replace(A, not_determined="spilt"), B),
        pb_method(),
        None,
        [("prepare_again", (10,), "A", "portion.not-determined"), ("read_again", (11,), "B", "bracket.failed")],
        id="a portion recorded as lost is prepared again, whatever its bracket says",
    ),
    pytest.param(
        (*pair(), *samples("A"), *pair()),
        (A,),
        pb_method(),
        TWO,
        [("prepare_again", (), "", "portions.too-few")],
        id="one portion where two are asked: the one read keeps its value",
    ),
    pytest.param(
        (*pair(), Shot("sample", "A", portion="A", signals=HIGH), *pair()),
        (A,),
        pb_method(),
        TWO,
        [("dilute", (10,), "A", "reading.over-range"), ("prepare_again", (), "", "portions.too-few")],
        id="one portion where two are asked, and lost",
    ),
    pytest.param(
        (*pair(), *samples("A"), *pair()),
        (A, DUPLICATE),
        pb_method(),
        TWO,
        [("read_again", (), "A2", "portion.not-measured")],
        id="the second portion was not read",
    ),
    pytest.param(
        (*pair(), *samples("A"), *pair()),
        (A, replace(DUPLICATE, not_determined="spilt")),
        pb_method(),
        TWO,
        [("prepare_again", (), "A2", "portion.not-determined")],
        id="the second portion is lost",
    ),
    pytest.param(
        (*samples("A"), Shot("sample", "C", 5.0, portion="C", batch="T-2")),
        (A, portion_of("C", batch="T-2")),
        pb_method(checks=()),
        None,
        [("read_again", (8,), "A", "portions.several-batches"), ("read_again", (9,), "C", "portions.several-batches")],
        id="portions of two batches in one run",
    ),
    pytest.param(
        (*samples("A", 5.0), Shot("duplicate", "A2", 15.0, portion="A2")),
        (A, DUPLICATE),
        pb_method(checks=(rule("portions_agree", low="", high="20"),)),
        TWO,
        [("prepare_again", (8,), "A", "portions.disagree"), ("prepare_again", (9,), "A2", "portions.disagree")],
        id="portions disagree",
    ),
    pytest.param(
        (*samples("A", 17.5), Shot("sample", "A", 10.4, portion="A", dilution="2")),
        (A,),
        pb_method(checks=(rule("dilution_test"),), lowest_level="1"),
        None,
        [("dilute", (8,), "A", "dilution.disagrees")],
        id="a second dilution gives another value",
    ),
    pytest.param(
        (*samples("AB"),),
        (A, replace(B, acid_percent="5")),
        pb_method(checks=(rule("acid_match", expected="2"),)),
        None,
        [("complete_record", (8,), "A", "acid.differs"), ("prepare_again", (9,), "B", "acid.differs")],
        id="acid not entered is a matter of the record, acid that differs of the solution",
    ),
    pytest.param(
        (*pair(), *samples("AB"), *pair()),
        (replace(A, mass_g=""), B),
        pb_method(),
        None,
        [("complete_record", (10,), "A", "portion.incomplete")],
        id="no mass was entered",
    ),
    pytest.param(
        (
            Shot("second_source", "SS", 13.0),
            *pair(),
            *samples("A"),
            Shot("sample", "B", portion="B", signals=HIGH),
            *pair(),
        ),
        (A, B),
        pb_method(checks=(rule("second_source"), *BRACKETS)),
        None,
        [("measure_run_again", (11,), "A", "run.check"), ("measure_run_again", (12,), "B", "run.check")],
        id="the second source failed",
    ),
    pytest.param(
        (Shot("sample", "A", portion="A", signals=HIGH), Shot("sample", "A", 4.4, portion="A", dilution="10")),
        (A,),
        pb_method(checks=()),
        None,
        [],
        id="over range, and read again in the same run",
    ),
    pytest.param(
        (*samples("A"), Shot("sample", "A", 0.5, portion="A", dilution="10")),
        (A,),
        pb_method(checks=()),
        None,
        [],
        id="a reading that was not needed",
    ),
    pytest.param(
        (
            Shot("sample", "A", portion="A", signals=HIGH),
            Shot("sample", "A", 4.4, portion="A", dilution="10", scatter=0.5),
        ),
        (A,),
        pb_method(checks=()),
        None,
        [("read_again", (8, 9), "A", "reading.scatter")],
        id="over range, and lost when it was diluted: once, at that dilution",
    ),
    pytest.param(
        (
            Shot("sample", "A", 5.0, portion="A", scatter=0.5),
            Shot("sample", "A", portion="A", signals=HIGH, dilution="10"),
        ),
        (A,),
        pb_method(checks=()),
        None,
        [("read_again", (8, 9), "A", "reading.scatter")],
        id="in range at one dilution, over range at another: as it was in range",
    ),
    pytest.param(
        (*samples("A"), Shot("sample", "B", 5.0, portion="B", scatter=0.5)),
        (replace(A, mass_g=""), B),
        pb_method(checks=()),
        None,
        [("complete_record", (8,), "A", "portion.incomplete"), ("read_again", (9,), "B", "reading.scatter")],
        id="presented order whatever the reasons",
    ),
    pytest.param(
        samples("A"),
        (A, replace(DUPLICATE, not_determined="spilt"), portion_of("A3", kind="duplicate")),
        pb_method(checks=()),
        TWO,
        [("read_again", (), "A3", "portion.not-measured")],
        id="a portion at hand goes before a lost one",
    ),
    pytest.param(
        samples("A"),
        (A, DUPLICATE),
        pb_method(checks=()),
        (requirement_of(portions=2), requirement_of(portions=2, quantity="concentration", unit="ug/L")),
        [("read_again", (), "A2", "portion.not-measured")],
        id="two results lack the same portion",
    ),
    pytest.param(
        (*samples("A"), Shot("sample", "C", 5.0, portion="C", batch="T-2")),
        (A, portion_of("C", batch="T-2")),
        pb_method(checks=()),
        (requirement_of(portions=3),),
        [("read_again", (8,), "A", "portions.several-batches"), ("read_again", (9,), "C", "portions.several-batches")],
        id="portions of two batches, and too few of both: first each batch for itself",
    ),
]


@pytest.mark.parametrize(("shots", "portions", "method", "asked", "found"), CASES)
def test_what_is_to_be_done(
    shots: Sequence[Shot],
    portions: Sequence[Portion],
    method: Method,
    asked: Sequence[Requirement] | None,
    found: list[tuple[str, tuple[int, ...], str, str]],
) -> None:
    assert short(listed(shots, portions, method, asked)[0]) == found


def test_the_dilution_it_was_read_at_is_said() -> None:
    shots = (
        Shot("sample", "A", portion="A", signals=HIGH),
        Shot("sample", "A", 4.4, portion="A", dilution="10", scatter=0.5),
    )
    one = only(listed(shots, (A,), pb_method(checks=()))[0])
    assert (one.extra_dilution, one.over, one.dilution) == ("10", False, None)


def test_a_reading_made_again_in_the_run_is_told_as_settled() -> None:
    shots = (Shot("sample", "A", portion="A", signals=HIGH), Shot("sample", "A", 4.4, portion="A", dilution="10"))
    found = listed(shots, (A,), pb_method(checks=()))[0]
    (one,) = found.settled
    assert (one.position, one.portion, one.by_position, one.by_dilution) == (8, "A", 9, "10")


def test_a_reading_that_was_not_needed_is_told_nowhere() -> None:
    shots = (*samples("A", 17.9), Shot("sample", "A", 18.5, portion="A", dilution="1.05"))
    found = listed(shots, (A,), pb_method(checks=()))[0]
    assert (found.again, found.settled, found.near_top) == ((), (), ())


def test_a_blank_above_the_standards_gets_no_dilution() -> None:
    found = listed((Shot("method_blank", "MB", portion="MB", signals=HIGH),), (BLANK,), pb_method(checks=()))[0]
    assert (only(found).over, only(found).dilution) == (True, None)


def test_the_reason_is_that_of_the_reading_that_counts() -> None:
    shots = (Shot("sample", "A", portion="A", signals=HIGH), Shot("sample", "A", 4.4, portion="A", dilution="10"))
    found = listed(shots, (A,), pb_method(checks=(), blank_subtraction="undiluted"))[0]
    assert (only(found).positions, only(found).code) == ((9,), "blank.missing")
    assert only(found).why == f"the method blank of batch {BATCH} has no valid reading"
    assert [one.position for one in found.settled] == [8]


def test_a_calibration_that_fails_takes_the_run_and_gives_no_estimate() -> None:
    bent = tuple(replace(shot, holds=shot.holds * (1.6 if shot.label == "S6" else 1.0)) for shot in standards())
    over = (
        Shot("sample", "A", portion="A", signals=("0.5",) * 3),
        Shot("sample", "B", portion="B", signals=("over",) * 3),
    )
    run = run_of((*bent, *pair(), *over, *pair()))
    work = work_run(run, bench_of((A, B)))
    assert isinstance(work, RunWork)
    found = reread(run, work, Beside({(BATCH, "A"): A, (BATCH, "B"): B}, {}, {}, {}))
    assert {one.code for one in found.failures} == {"run.calibration"}
    assert all(one.takes_values for one in found.failures)
    for one in found.again:
        assert (one.action, one.code, one.dilution) == ("measure_run_again", "run.calibration", None)
    assert [one.over for one in found.again] == [False, True]


def test_a_failed_check_is_named_and_over_range_is_said_beside_it() -> None:
    shots = (Shot("second_source", "SS", 13.0), *pair(), Shot("sample", "B", portion="B", signals=HIGH), *pair())
    found = listed(shots, (B,), pb_method(checks=(rule("second_source"), *BRACKETS)))[0]
    (failure,) = found.failures
    assert failure.why.startswith("Second-source standard at position 8 read")
    one = only(found)
    assert (one.action, one.over) == ("measure_run_again", True)
    assert one.dilution is not None


def test_a_required_spike_that_fails_keeps_values_and_is_named() -> None:
    spiked = portion_of("SP", kind="spiked_sample", spike_of="A", added_ug={"Pb": "0.125"})
    shots = (*samples("A"), Shot("spiked_sample", "SP", 6.0, portion="SP"))
    found = listed(shots, (A, spiked), pb_method(checks=(rule("spike", low="75", high="125"),)))[0]
    (failure,) = found.failures
    assert not failure.takes_values
    assert "Spiked sample" in failure.why
    assert found.again == ()


# ------------------------------------------------------------------ needed, or had elsewhere


def test_what_no_result_lacks_is_not_to_be_done() -> None:
    shots = (*samples("A"), Shot("duplicate", "A2", 5.0, portion="A2", scatter=0.5))
    found = listed(shots, (A, DUPLICATE), pb_method(checks=()))[0]
    assert short(found) == [("read_again", (9,), "A2", "reading.scatter")]
    assert (only(found).needed, found.open) == (False, ())


def test_what_another_run_gives_is_not_to_be_done() -> None:
    shots = (*pair(), *samples("AB"), *pair(8.0))
    found = listed(shots, (A, B), elsewhere=("S-00001",))[0]
    assert [one.value_in for one in found.again] == [("R-9",), ()]
    assert [one.portion for one in found.open] == ["B"]


def test_one_of_two_results_elsewhere_is_not_enough() -> None:
    asked = (requirement_of(), requirement_of(quantity="concentration", unit="ug/L"))
    shots = (Shot("sample", "A", 5.0, portion="A", scatter=0.5),)
    _, work, run, beside = listed(shots, (A,), pb_method(checks=()), asked, elsewhere=("S-00001",))
    assert reread(run, work, beside).open == ()
    first = dict(list(beside.results.items())[:1])
    assert len(reread(run, work, replace(beside, results=first)).open) == 1


def test_a_lost_blank_counts_as_had_where_another_run_read_it() -> None:
    _, work, run, beside = listed((*pair(), BLANK_SHOT, *samples("A"), *pair(8.0)), (A, BLANK))
    found = reread(run, work, replace(beside, readings={(BATCH, "MB"): ("R-9",)}))
    assert [(one.portion, one.value_in) for one in found.again] == [("MB", ("R-9",)), ("A", ())]


def test_a_lost_spike_is_had_where_another_run_read_it_whatever_its_sample_lacks() -> None:
    spiked = portion_of("X", kind="spiked_sample", spike_of="A", added_ug={"Pb": "0.05"})
    shots = (*pair(), *samples("A"), Shot("spiked_sample", "X", 7.0, portion="X"), *pair(8.0))
    _, work, run, beside = listed(shots, (A, spiked))
    found = reread(run, work, replace(beside, readings={(BATCH, "X"): ("R-9",), (BATCH, "A"): ("R-9",)}))
    assert [(one.portion, one.value_in) for one in found.again] == [("A", ()), ("X", ("R-9",))]


def test_a_portion_no_result_lacks_is_had_where_another_run_read_it() -> None:
    shots = (*samples("A"), Shot("duplicate", "A2", 5.0, portion="A2", scatter=0.5))
    _, work, run, beside = listed(shots, (A, DUPLICATE), pb_method(checks=()))
    found = reread(run, work, replace(beside, readings={(BATCH, "A2"): ("R-9",)}))
    assert [(one.portion, one.value_in) for one in found.again] == [("A2", ("R-9",))]


def test_portions_with_a_value_are_those_with_a_reading_that_counts() -> None:
    shots = (Shot("sample", "A", portion="A", signals=HIGH), Shot("sample", "A", 4.4, portion="A", dilution="10"))
    _, work, run, _ = listed((*shots, Shot("sample", "B", 5.0, portion="B", scatter=0.5)), (A, B), pb_method(checks=()))
    assert portions_with_value(run, work) == {(BATCH, "A")}


# ------------------------------------------------------------------ estimates and dilutions


def on(model: str, *coefficients: str, signal: float = 1.05) -> float | str:
    """Where a curve meets a signal; the rest of its record plays no part."""
    calibration = listed(samples("A"), (A,), pb_method(checks=()))[1].calibration
    return carried_on(replace(calibration, model=model, coefficients=coefficients), signal)


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        # By hand: (1.05 - 0.05)/0.1; 1.05/0.07; c^2 - 50 c + 525 = 0 has roots 15 and 35, the rising branch ends at 25.
        pytest.param(on("line", "0.05", "0.1"), 10.0, id="line"),
        pytest.param(on("line_through_zero", "0.07"), 15.0, id="line through zero"),
        pytest.param(on("quadratic", "0", "0.1", "-0.002"), 15.0, id="quadratic, the rising branch"),
        # 0.01 c^2 - 0.02 c + 0.25 = 1.05 is c^2 - 2 c - 80 = 0: 10 and -8.
        pytest.param(on("quadratic", "0.25", "-0.02", "0.01"), 10.0, id="quadratic that falls first"),
    ],
)
def test_a_curve_is_carried_on(found: float | str, expected: float) -> None:
    assert found == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        # 0.1 c - 0.003 c^2 is at most 0.8333, at 16.67.
        pytest.param(on("quadratic", "0", "0.1", "-0.003"), "above_vertex", id="above the vertex"),
        # 4 c - c^2 at 2 is 4 to the last bit: the slope is nothing there.
        pytest.param(on("quadratic", "0", "4", "-1", signal=4.0), "above_vertex", id="at the vertex"),
        pytest.param(on("line", "0.05", "-0.1"), "no_curve", id="falling line"),
        pytest.param(on("line", "", "0.1"), "no_curve", id="no coefficient"),
        pytest.param(on("quadratic", "2", "0.01", "0.001"), "no_curve", id="a curve that never comes down so far"),
    ],
)
def test_where_a_curve_leads_nowhere(found: float | str, expected: str) -> None:
    assert found == expected


def suggestion(
    signals: tuple[str, ...], *, dilution: str = "1", ware: tuple[Glassware, ...] = (), **changes: object
) -> Again:
    plan = replace(pb_method().uncertainty, glassware=ware)
    method = pb_method(checks=(), uncertainty=plan, **changes)
    return only(listed((Shot("sample", "A", portion="A", signals=signals, dilution=dilution),), (A,), method)[0])


def piece(kind: str, nominal: str) -> Glassware:
    return Glassware(f"{kind} {nominal}", kind, nominal, "0.02", "0.01")  # type: ignore[arg-type]


def test_an_estimate_leads_to_the_middle_of_the_standards() -> None:
    one = suggestion(HIGH)
    assert one.dilution is not None
    assert one.dilution.target == "10"  # of 0 to 20
    assert one.dilution.estimate == "44"  # the curve was made from 44
    assert (one.dilution.factor, one.dilution.lands_at, one.dilution.steps) == ("5", "8.8", ())
    assert one.over


def test_an_estimate_counts_the_dilution_at_the_instrument() -> None:
    one = suggestion(HIGH, dilution="10")
    assert one.dilution is not None
    assert (one.dilution.estimate, one.dilution.factor, one.dilution.more_than) == ("440", "50", "20")


def test_the_ware_of_the_method_makes_the_dilution() -> None:
    ware = (piece("pipette", "5"), piece("pipette", "10"), piece("flask", "25"), piece("flask", "50"))
    one = suggestion(HIGH, ware=ware)
    assert one.dilution is not None
    # 44/10 asks for 4.4: of 2.5, 5 and 10, and of two steps, 5 alone is one step and nearest.
    assert one.dilution.steps in {(DilutionStep("5", "25"),), (DilutionStep("10", "50"),)}
    assert (one.dilution.factor, one.dilution.lands_at) == ("5", "8.8")


def test_a_flask_is_no_pipette() -> None:
    """25 mL of one flask in another of 100 would lead nearer to the middle, but nobody measures so."""
    one = suggestion(HIGH, ware=(piece("pipette", "5"), piece("flask", "25"), piece("flask", "100")))
    assert one.dilution is not None
    assert (one.dilution.steps, one.dilution.factor) == ((DilutionStep("5", "25"),), "5")


def test_ware_that_leads_nowhere_leaves_a_plain_factor() -> None:
    one = suggestion(HIGH, ware=(piece("pipette", "10"), piece("flask", "1000")))
    assert one.dilution is not None
    assert (one.dilution.factor, one.dilution.steps) == ("5", ())


def test_a_listed_pipette_below_a_millilitre_is_used_where_nothing_else_leads_there() -> None:
    one = suggestion(HIGH, ware=(piece("pipette", "0.5"), piece("flask", "2")))
    assert one.dilution is not None
    assert (one.dilution.steps, one.dilution.lands_at) == ((DilutionStep("0.5", "2"),), "11")


def test_no_number_gives_no_estimate_and_no_factor() -> None:
    one = suggestion(("over", "over", "over"))
    assert one.dilution is not None
    told = (one.dilution.estimate, one.dilution.factor, one.dilution.no_estimate, one.dilution.more_than)
    assert told == ("", "", "no_number", "2")


@pytest.mark.parametrize(("checks", "code"), [((), "reading.over-range"), (BRACKETS, "bracket.open")])
def test_above_the_vertex_there_is_no_estimate(checks: tuple[CheckRule, ...], code: str) -> None:
    plan = replace(pb_method().calibration, model="quadratic", largest_error_percent="90", at_lowest_percent="90")

    def bent(holds: float) -> tuple[str, ...]:
        """At most 0.0373, at 24.4."""
        return (f"{0.0015 + 0.00293 * holds - 0.00006 * holds * holds:.6f}",) * 3

    shots = [replace(shot, signals=bent(shot.holds)) for shot in standards()]
    shots.append(Shot("sample", "A", portion="A", signals=("0.09",) * 3))
    run = run_of(shots, pb_method(calibration=plan, checks=tuple(replace(one, required=False) for one in checks)))
    work = work_run(run, bench_of((A,)))
    assert isinstance(work, RunWork)
    one = only(reread(run, work, Beside({(BATCH, "A"): A}, {}, {}, {})))
    assert (one.action, one.code) == ("dilute", code)
    assert one.dilution is not None
    assert (one.dilution.no_estimate, one.dilution.estimate) == ("above_vertex", "")


@given(
    st.fractions(Fraction(1), Fraction(10**6)),
    st.fractions(Fraction(0), Fraction(4, 5)),
    st.fractions(Fraction(1, 1000), Fraction(1000)),
)
def test_a_plain_factor_lands_in_the_range(over: Fraction, low: Fraction, high: Fraction) -> None:
    wanted = Wanted(high * over, high * low, high, needless_up_to=Fraction(0))
    factor = plain_factor(wanted)
    lands = wanted.estimate / factor
    assert factor > 1
    assert wanted.low <= lands <= high
    if low == 0:
        assert wanted.bounds[0] <= lands <= wanted.bounds[1]


@pytest.mark.parametrize(
    ("estimate", "low", "factor"),
    [
        # To 5, the middle of 0 to 10: 30 lands at 3 with 10, at 6 with 5, at 15 with 2.
        pytest.param(30, 0, "5", id="a round one"),
        pytest.param(1000, 0, "200", id="over a power of ten"),
        # To 9.5, the middle of 9 to 10: none of 2, 5 and 10 leads from 33 into it; 33/9.5 = 3.47.
        pytest.param(33, 9, "3.5", id="a narrow range"),
    ],
)
def test_plain_factors(estimate: int, low: int, factor: str) -> None:
    wanted = Wanted(Fraction(estimate), Fraction(low), Fraction(10), needless_up_to=Fraction(0))
    assert plain_factor(wanted) == Fraction(factor)


def test_in_range_above_ninety_percent_is_near_the_top() -> None:
    shots = (*samples("A", 17.5), *samples("B", 18.5))
    found = listed(shots, (A, B), pb_method(checks=()))[0]
    assert found.again == ()
    (one,) = found.near_top
    assert (one.position, one.portion) == (9, "B")
    assert float(one.concentration) == pytest.approx(18.5, rel=0.02)


# ------------------------------------------------------------------ what belongs to it


def beside_them(shots: Sequence[Shot], portions: Sequence[Portion], method: Method, **known: object) -> NewRun:
    found, _, run, beside = listed(shots, portions, method, **known)  # type: ignore[arg-type]
    return new_run(run.method, found.open, beside.portions)


def reasons(around: NewRun) -> dict[str, tuple[tuple[str, tuple[str, ...]], ...]]:
    return {one.portion: one.reasons for one in around.companions}


SPIKED = portion_of("SP", kind="spiked_sample", spike_of="A", added_ug={"Pb": "0.125"})


def test_nothing_to_read_needs_nothing() -> None:
    around = beside_them((*pair(), *samples("A"), *pair()), (A, BLANK), pb_method())
    assert around == NewRun(0, (), ())
    assert (around.curve_of, around.measured_at, around.valid_hours, around.bracketing_window_percent) == ("",) * 4


def test_the_other_portion_is_read_too_since_a_result_rests_on_one_run() -> None:
    shots = (*pair(), *samples("A"), *pair(), Shot("duplicate", "A2", 5.0, portion="A2"), *pair(8.0))
    around = beside_them((*pair(), *shots), (A, DUPLICATE, B), pb_method(), asked=TWO)
    assert reasons(around) == {"A": (("other_portion", ("A2",)),)}


def test_spike_and_unspiked_portion_belong_together_both_ways() -> None:
    lost_native = (*pair(), Shot("spiked_sample", "SP", 9.0, portion="SP"), *pair(), *samples("A"), *pair(8.0))
    assert reasons(beside_them(lost_native, (A, SPIKED), pb_method())) == {"SP": (("spiked", ("A",)),)}
    lost_spike = (*pair(), *samples("A"), *pair(), Shot("spiked_sample", "SP", 9.0, portion="SP"), *pair(8.0))
    assert reasons(beside_them(lost_spike, (A, SPIKED), pb_method())) == {"A": (("unspiked", ("SP",)),)}


@pytest.mark.parametrize(("subtraction", "named"), [("undiluted", True), ("none", False)])
def test_the_blank_is_read_too_where_it_is_taken_off(subtraction: str, *, named: bool) -> None:
    shots = (*pair(), BLANK_SHOT, *pair(), *samples("A"), *pair(8.0))
    around = beside_them(shots, (A, BLANK), pb_method(blank_subtraction=subtraction))
    assert ("MB" in reasons(around)) is named


def test_required_checks_of_the_batch_and_of_the_bench_are_named() -> None:
    rules = (
        rule("second_source"),
        *BRACKETS,
        rule("method_blank"),
        rule("control_sample"),
        rule("spike"),
        rule("reference_material", required=False),
    )
    control = portion_of("LC", "", kind="control_sample", mass_g="", added_ug={"Pb": "0.25"})
    other = portion_of("RM", "", kind="reference_material", expected_ug_per_g={"Pb": "0.40"})
    unrelated = portion_of("XB", "", kind="method_blank", mass_g="", elements=("Cd",))
    lost = portion_of("LB", "", kind="method_blank", mass_g="", not_determined="spilt")
    portions = (A, B, BLANK, SPIKED, control, other, unrelated, lost)
    shots = (Shot("second_source", "SS", 10.0), *pair(), BLANK_SHOT, Shot("control_sample", "LC", 10.0, portion="LC"))
    shots = (*shots, *samples("A"), Shot("spiked_sample", "SP", 9.9, portion="SP"), *pair(), *samples("B"), *pair(8.0))
    around = beside_them(shots, portions, pb_method(checks=rules))
    assert reasons(around) == {
        "MB": (("required", ()),),
        "LC": (("required", ()),),
        "SP": (("required", ()),),
        "A": (("unspiked", ("SP",)),),
    }
    assert [(one.check, one.every, one.at_end, one.brackets, one.batch) for one in around.needs] == [
        ("second_source", 0, False, False, ""),
        ("check_standard", 10, True, True, ""),
        ("check_blank", 10, True, True, ""),
    ]
    assert around.standards == 7


def test_portions_of_another_batch_do_not_belong_to_it() -> None:
    elsewhere = (portion_of("C", batch="T-2"), replace(SPIKED, batch="T-2"), replace(BLANK, batch="T-2"))
    around = beside_them(
        (*pair(), *samples("A"), *pair(8.0)), (A, *elsewhere), pb_method(blank_subtraction="undiluted")
    )
    assert around.companions == ()


def test_spiked_portions_that_must_agree_are_read_together() -> None:
    twin = replace(SPIKED, portion="SQ")
    shots = (*samples("A"), Shot("spiked_sample", "SP", 9.0, portion="SP", scatter=0.5))
    for check, named in (("spikes_agree", True), ("spike", False)):
        method = pb_method(checks=(rule(check, low="", high="20", required=False),))
        found = reasons(beside_them(shots, (A, SPIKED, twin), method))
        assert found.get("SQ") == ((("other_portion", ("SP",)),) if named else None)


def test_one_spiked_sample_stands_for_its_batch() -> None:
    other = portion_of("SB", "S-00002", kind="spiked_sample", spike_of="B", added_ug={"Pb": "0.125"})
    shots = (
        *samples("A"),
        Shot("sample", "B", 5.0, portion="B", scatter=0.5),
        Shot("spiked_sample", "SP", 7.5, portion="SP"),
    )
    around = beside_them(shots, (A, B, SPIKED, other), pb_method(checks=(rule("spike"),)))
    assert reasons(around) == {"SB": (("spiked", ("B",)), ("required", ()))}


def test_a_bracket_is_needed_even_where_its_rule_is_not_required() -> None:
    method = pb_method(checks=(rule("check_standard", every=10, brackets=True, required=False),))
    around = beside_them((Shot("sample", "A", 5.0, portion="A", scatter=0.5),), (A,), method)
    assert [(one.check, one.brackets) for one in around.needs] == [("check_standard", True)]


def test_a_record_to_complete_needs_no_run() -> None:
    around = beside_them(
        samples("A"), (replace(A, mass_g=""), DUPLICATE), pb_method(checks=(rule("method_blank", required=False),))
    )
    assert around == NewRun(0, (), ())


def test_a_required_check_whose_batch_holds_none_is_named() -> None:
    around = beside_them((*samples("A"),), (A,), pb_method(checks=(rule("method_blank"),)))
    assert [(one.check, one.batch) for one in around.needs] == [("method_blank", BATCH)]


@pytest.mark.parametrize(
    ("check", "kind"),
    [
        ("method_blank", "method_blank"),
        ("control_sample", "control_sample"),
        ("reference_material", "reference_material"),
        ("spike", "spiked_sample"),
        ("post_spike", "post_spiked_sample"),
        ("spikes_agree", "spiked_sample"),
    ],
)
def test_each_required_check_is_made_on_the_portions_of_its_kind(check: str, kind: str) -> None:
    """Of two portions in the batch, the one the check is made on."""
    spiked = {"spike_of": "Z", "added_ug": {"Pb": "0.1"}} if "spiked" in kind else {}
    own = portion_of("P", "" if kind in {"method_blank", "control_sample", "reference_material"} else "S-00002",
                     kind=kind, **spiked)  # fmt: skip
    other = portion_of("Q", "", kind="control_sample" if kind == "method_blank" else "method_blank", mass_g="")
    method = pb_method(checks=(rule(check, low="", high="20"),))
    around = beside_them((Shot("sample", "A", 5.0, portion="A", scatter=0.5),), (A, own, other), method)
    assert reasons(around) == {"P": (("required", ()),)}
    assert around.needs == ()
    without = beside_them((Shot("sample", "A", 5.0, portion="A", scatter=0.5),), (A, other), method)
    assert reasons(without) == {}
    assert [(one.check, one.rule, one.every, one.at_end, one.brackets, one.batch) for one in without.needs] == [
        (check, check.replace("_", "-"), 0, False, False, BATCH)
    ]


@pytest.mark.parametrize("required", [True, False])
@pytest.mark.parametrize("check", ["second_source", "lowest_level", "return_to_zero", "dilution_test"])
def test_checks_of_the_bench_are_needed_where_they_are_required(check: str, required: bool) -> None:
    method = pb_method(checks=(rule(check, expected="5", required=required),))
    around = beside_them((Shot("sample", "A", 5.0, portion="A", scatter=0.5),), (A,), method)
    assert [(one.check, one.expected, one.batch) for one in around.needs] == ([(check, "5", "")] if required else [])


# ------------------------------------------------------------------ standard additions


def by_additions(*shots: Shot, **plan: str) -> Reread:
    """The list of a run with one portion evaluated by its own additions."""
    method = additions.by_additions(**plan)
    run = run_of(additions.around(*shots), method)
    work = work_run(run, bench_of((additions.ONE,), (requirement_of(),)))
    assert isinstance(work, RunWork), work
    beside = Beside({(BATCH, "W"): additions.ONE}, wanted_of(work, (requirement_of(),)), {}, {})
    return reread(run, work, beside)


TUBES = (10, 11, 12, 13)
ADDITIONS = [
    pytest.param(additions.series("W", 4.0), {}, [], id="a series with a value leaves nothing"),
    pytest.param(
        additions.series("W", 4.0)[:3], {}, [("read_again", TUBES[:3], "W", "additions.incomplete")], id="a tube unread"
    ),
    pytest.param(
        additions.series("W", 9.0),
        {},
        [("prepare_again", TUBES, "W", "additions.beyond")],
        id="beyond the highest addition: made anew, not diluted at the instrument",
    ),
    pytest.param(
        additions.series("W", 18.0),
        {},
        [("prepare_again", TUBES, "W", "reading.over-range")],
        id="a tube over range takes the series with it, and asks for new additions",
    ),
    pytest.param(
        additions.series("W", 4.0, slope=0.0022),
        {"additions_largest_slope_percent": "10"},
        [("prepare_again", TUBES, "W", "additions.slope")],
        id="a slope far from the curve's",
    ),
]


@pytest.mark.parametrize(("shots", "plan", "wanted"), ADDITIONS)
def test_a_series_of_additions_stands_in_the_list_as_one(
    shots: tuple[Shot, ...], plan: dict[str, str], wanted: list[tuple[str, tuple[int, ...], str, str]]
) -> None:
    found = by_additions(*shots, **plan)
    assert short(found) == wanted
    assert found.settled == ()
    assert all(one.dilution is None for one in found.again)


# ------------------------------------------------------------------ nothing is forgotten, nothing invented


def test_every_reason_of_the_manual_asks_for_something() -> None:
    table = CALCULATIONS.read_text(encoding="utf-8").partition("## Why a result has no value")[2].partition("\n## ")[0]
    codes = set(re.findall(r"`([a-z]+\.[a-z-]+)`", table))
    assert len(codes) > 20
    # No position has sums, and a reading that was not needed is no loss.
    assert {code for code in codes if not code.startswith("sum.")} - {"portion.not-used"} <= set(ACTIONS)


def test_every_reason_asks_for_something_that_can_be_done() -> None:
    assert set(ACTIONS.values()) == set(get_args(Action))


@settings(max_examples=150, deadline=None)
@given(
    CALIBRATIONS,
    st.lists(st.one_of(PREPARED, CHECKS), max_size=14),
    PLANS,
    st.sampled_from(["none", "undiluted", "same_dilution"]),
    st.sampled_from([(), BRACKETS, (rule("portions_agree", low="", high="20"), rule("second_source"), *BRACKETS)]),
    st.sets(st.integers(8, 21), max_size=3),
)
def test_each_solution_without_a_value_stands_there_once_and_no_other(  # noqa: PLR0917  what a run is made of
    calibration: tuple[Shot, ...],
    shots: list[Shot],
    plan: object,
    subtraction: str,
    rules: tuple[CheckRule, ...],
    hidden: set[int],
) -> None:
    method = pb_method(calibration=plan, blank_subtraction=subtraction, checks=rules)
    run = run_of((*calibration, *shots), method, hidden)
    work = work_run(run, bench_of(PORTIONS, ASKED))
    if not isinstance(work, RunWork):
        return
    portions = {(one.batch, one.portion): one for one in PORTIONS}
    found = reread(run, work, Beside(portions, wanted_of(work, ASKED), {}, {}))
    named = Counter(position for one in found.again for position in one.positions)
    named.update(one.position for one in found.settled)
    lost = {row.position for row in work.voided if row.code != "portion.not-used"}
    assert max(named.values(), default=1) == 1
    assert lost <= set(named)
    for position in set(named) - lost:
        assert kept_back(work, position)
    for result in work.results:
        assert isinstance(result.outcome, NotReportable) <= any(one.sample == result.sample for one in found.again)
    for one in found.settled:
        columns = run.document.solutions.position
        assert run.portion[columns.index(one.position)] == run.portion[columns.index(one.by_position)]
        assert one.by_position not in {row.position for row in work.voided}
    presented = [kind for kind in run.document.solutions.kind if kind in PRESENTED_KINDS]
    assert found.presented == len(presented)
    assert [one.positions for one in found.again if one.positions] == sorted(
        one.positions for one in found.again if one.positions
    )
    around = new_run(method, found.open, portions)
    tray = {one.key for one in found.open if one.action != "complete_record"}
    assert not {(one.batch, one.portion) for one in around.companions} & tray
    json.dumps([asdict(found), asdict(around)], allow_nan=False)


def kept_back(work: RunWork, position: int) -> bool:
    """Whether a solution that gives a number serves no result: no value of its own, or its sample's is withheld."""
    rows = [
        (result, row)
        for result in work.results
        if isinstance(result.outcome, NotReportable)
        for row in result.portions
        if row.position == position
    ]
    withheld = {
        "portions.several-batches", "portions.disagree", "dilution.disagrees", "acid.differs", "uncertainty.zero",
    }  # fmt: skip
    return any(not row.value or result.outcome.code in withheld for result, row in rows)  # type: ignore[union-attr]
