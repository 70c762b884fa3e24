"""Readings of one portion at different dilutions: those that cannot all be right give no value. Invented runs.

The curve goes from 0 to 20 ug/L, the lowest level is 1 ug/L. A dilution is held to 90 to 110 % of the original (EPA
7000B, 9.8.2); each reading has that much room, and twice its own u.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.compute.making import BRACKETS, Shot, bench_of, pair, pb_method, portion_of, rule, run_of, standards

from benchseal.compute.run_work import work_run
from benchseal.records.results import NotReportable, RunWork

if TYPE_CHECKING:
    from collections.abc import Sequence

CODE = "reading.contradicted"
PORTIONS = (
    portion_of("A"),
    portion_of("B", "S-00002"),
    portion_of("MB", "", kind="method_blank", mass_g=""),
    portion_of("CS", "", kind="control_sample", mass_g="", added_ug={"Pb": "0.125"}),
)
WORD = ("over",) * 3


def read(holds: float, dilution: str = "1", label: str = "A", **changes: object) -> Shot:
    kind = next(one.kind for one in PORTIONS if one.portion == label)
    return replace(Shot(kind, label, holds, portion=label, dilution=dilution), **changes)  # type: ignore[arg-type]


def work_of(*shots: Shot, **method: object) -> RunWork:
    own = pb_method(**{"checks": BRACKETS, **method})
    around = (*standards(), *pair(), *shots, *pair())
    work = work_run(run_of(around, own), bench_of(PORTIONS))
    assert isinstance(work, RunWork), work
    return work


def outcome(work: RunWork, sample: str = "S-00001") -> str:
    found = next(one.outcome for one in work.results if one.sample == sample)
    return found.code if isinstance(found, NotReportable) else found.kind


# Positions 10 and on.
CONTRADICT = {
    "measured above the top, diluted far below it": (read(44.0), read(0.3, "10")),
    "a word above the top, diluted far below it": (read(0.0, signals=WORD), read(0.3, "10")),
    "diluted in range, and yet below the top": (read(0.0, signals=WORD), read(1.5, "10")),
    "diluted below the lowest level": (read(0.0, signals=WORD), read(0.02, "10")),
    "one of two dilutions": (read(44.0), read(1.2, "10"), read(12.0, "20")),
    "in range both": (read(5.0), read(15.0, "10")),
    "in range both, the diluted one lower": (read(15.0), read(2.0, "5")),
    "diluted over range above an undiluted one in range": (read(5.0), read(44.0, "10")),
    "the diluted one read first": (read(44.0, "10"), read(5.0)),
    "diluted over range by its word": (read(5.0), read(0.0, "10", signals=WORD)),
    "less than the lowest level, and diluted far above it": (read(0.2), read(5.0, "10")),
    "a diluted word above another one": (read(0.0, "2", signals=WORD), read(1.5, "20")),
}


@pytest.mark.parametrize("shots", CONTRADICT.values(), ids=CONTRADICT)
def test_readings_that_cannot_all_be_right_give_no_value(shots: Sequence[Shot]) -> None:
    work = work_of(*shots, read(3.0, label="B"))
    assert outcome(work) == CODE
    assert outcome(work, "S-00002") == "quantified"
    assert [(row.position, row.code) for row in work.voided] == [(10 + nth, CODE) for nth in range(len(shots))]
    assert any("contradict each other: position 10" in finding for finding in work.findings)


def test_both_sides_are_said() -> None:
    work = work_of(read(44.0), read(0.02, "10"))
    assert work.voided[0].why == (
        "readings of one portion contradict each other: position 10 shows more than 20 µg/L, position 11, diluted 10 "
        "times, shows less than 10 µg/L in the solution as prepared; find out which is wrong and leave it out with its "
        "cause, or read again"
    )


AGREE = {
    "over range, then diluted into the range": (read(44.0), read(4.4, "10")),
    "a word, then diluted into the range": (read(0.0, signals=WORD), read(15.0, "10")),
    "over range twice": (read(44.0), read(30.0, "2"), read(1.5, "40")),
    "just above the top": (read(20.3), read(1.97, "10")),
    "less than the lowest level diluted: the bound is above": (read(5.0), read(0.3, "10")),
    "within a dilution test": (read(15.0), read(8.0, "2")),
    "a reading near the lowest level": (read(1.1), read(0.9, "2")),
}


@pytest.mark.parametrize("shots", AGREE.values(), ids=AGREE)
def test_readings_that_agree_keep_the_value(shots: Sequence[Shot]) -> None:
    work = work_of(*shots)
    assert outcome(work) == "quantified"
    assert CODE not in {row.code for row in work.voided}


def test_the_room_of_a_bound_is_ten_percent_and_twice_u() -> None:
    """Top standard 20 ug/L, 18 with its room. 1.55 reaches 1.705 by its ten percent, and past 1.8 by its u (0.1)."""
    assert outcome(work_of(read(44.0), read(1.4, "10", scatter=0.001))) == CODE
    assert outcome(work_of(read(44.0), read(1.55, "10", scatter=0.001))) == "quantified"


@pytest.mark.parametrize(("label", "check"), [("MB", "method_blank"), ("CS", "control_sample")])
def test_the_laboratorys_own_solutions_too(label: str, check: str) -> None:
    checks = (*BRACKETS, rule(check, required=True))
    work = work_of(read(0.0, label=label, signals=WORD), read(0.02, "10", label=label), read(5.0), checks=checks)
    assert not work.usable
    assert outcome(work) == "run.check"
    assert next(one for one in work.checks if one.check == check).verdict == "not_evaluated"


def test_a_blank_that_contradicts_itself_is_not_taken_off() -> None:
    blank = (read(0.0, label="MB", signals=WORD), read(0.02, "10", label="MB"))
    work = work_of(*blank, read(5.0), blank_subtraction="undiluted")
    assert outcome(work) == "blank.missing"


@pytest.mark.parametrize(("position", "left"), [(10, "below_limit"), (11, "reading.over-range")])
def test_a_reading_left_out_by_a_person_contradicts_nothing(position: int, left: str) -> None:
    """What is left counts; where that is over range there is no value."""
    run = run_of((*standards(), *pair(), read(44.0), read(0.3, "10"), *pair()), pb_method(checks=BRACKETS))
    columns, flags = run.document.solutions, list(run.document.readings.flag)
    first = columns.first_reading[position - 1]
    flags[first : first + 3] = ["excluded"] * 3
    readings = replace(run.document.readings, flag=tuple(flags))
    work = work_run(replace(run, document=replace(run.document, readings=readings)), bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert outcome(work) == left
    assert CODE not in {row.code for row in work.voided}


def test_a_reading_in_a_failed_bracket_says_nothing() -> None:
    own = pb_method(checks=BRACKETS)
    shots = (*standards(), *pair(), read(44.0), *pair(8.0), read(3.0, label="B"), *pair(), read(0.3, "10"), *pair())
    work = work_run(run_of(shots, own), bench_of(PORTIONS))
    assert isinstance(work, RunWork)
    assert outcome(work) == "below_limit"
    assert CODE not in {row.code for row in work.voided}


def test_a_portion_entered_as_lost_says_so() -> None:
    lost = (replace(PORTIONS[0], not_determined="spilled"), *PORTIONS[1:])
    shots = (*standards(), *pair(), read(44.0), read(0.3, "10"), *pair())
    work = work_run(run_of(shots, pb_method(checks=BRACKETS)), bench_of(lost))
    assert isinstance(work, RunWork)
    assert {row.code for row in work.voided} == {"portion.not-determined"}


def test_a_dilution_test_still_judges_what_contradicts() -> None:
    checks = (*BRACKETS, rule("dilution_test", required=False))
    work = work_of(read(19.0), read(15.0, "2"), checks=checks)
    (found,) = (one for one in work.checks if one.check == "dilution_test")
    assert (found.verdict, found.positions) == ("fail", (10, 11))
    assert outcome(work) == CODE
