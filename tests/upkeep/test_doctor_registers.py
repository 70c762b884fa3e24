"""What doctor finds in instruments, training, typed values and the periodic review. All invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import ADMIN, APPROVER, FLAME, bring_in, do, rules
from tests.desk.test_confirmations import confirm
from tests.desk.test_impact import figures
from tests.desk.test_instruments import ago, note
from tests.desk.test_training import trained

from benchseal.desk.acts_people import DisablePerson
from benchseal.desk.acts_periodic import SignPeriodic
from benchseal.desk.clock import system_clock
from benchseal.upkeep.doctor_registers import registers

if TYPE_CHECKING:
    from tests.conftest import Stage


def found(stage: Stage, *, later_days: float = 0) -> list[tuple[str, str]]:
    with stage.site.store.reading() as view:
        return [(one.code, one.where) for one in registers(view, system_clock() + timedelta(days=later_days))]


def day(days: int) -> str:
    return f"{datetime.now(UTC) + timedelta(days=days):%Y-%m-%d}"


def test_a_site_without_rules_and_events_is_well(stage: Stage) -> None:
    assert found(stage) == []


@pytest.mark.clause("P11 11.10(h)")
def test_instruments_out_overdue_and_with_a_wrong_clock_are_named(stage: Stage) -> None:
    rules(stage, "clock_tolerance_seconds: 60")
    note(stage, "calibration_due", until=day(10), text="")
    note(stage, "qualification", until=day(20))
    assert found(stage) == []
    assert found(stage, later_days=12) == [("doctor.instrument-calibration", "flame-1")]
    assert found(stage, later_days=22)[1:] == [("doctor.instrument-qualification", "flame-1")]
    note(stage, "clock_check", seen=ago(minutes=5), true=ago(minutes=8), text="")
    note(stage, "out_of_service")
    assert found(stage) == [("doctor.instrument-out", "flame-1"), ("doctor.instrument-clock", "flame-1")]


def test_an_older_event_entered_later_is_not_the_state_of_now(stage: Stage) -> None:
    """The last check is the last that was made, not the last that was typed."""
    rules(stage, "clock_tolerance_seconds: 60")
    note(stage, "clock_check", seen=ago(minutes=5), true=ago(minutes=5), text="")
    note(stage, "clock_check", seen=ago(days=2), true=ago(days=2, minutes=3), text="")
    note(stage, "qualification", until=day(20))
    note(stage, "qualification", until=day(-20), at=ago(days=300))
    assert found(stage) == []


@pytest.mark.clause("P11 11.10(i)")
def test_training_that_ends_is_named_while_there_is_time(stage: Stage) -> None:
    trained(stage, FLAME, "instrument/flame-1", until=day(40))
    assert found(stage, later_days=20) == []  # nobody asks for training here
    rules(stage, "training: required")
    assert found(stage) == []
    assert found(stage, later_days=12) == [("doctor.training", FLAME)]
    trained(stage, FLAME, "instrument/flame-1", until=day(400))
    assert found(stage, later_days=12) == []
    do(stage, DisablePerson(FLAME, "left"), ADMIN)
    assert found(stage, later_days=500) == []


@pytest.mark.clause("A11 6")
def test_runs_whose_typed_values_wait_are_named(stage: Stage) -> None:
    rules(stage, "typed_values: second_person")
    runs = bring_in(stage)
    assert found(stage) == [("doctor.typed", run) for run in runs]
    for run in runs:
        confirm(stage, run)
    assert found(stage) == []


@pytest.mark.clause("A11 11")
def test_a_periodic_review_that_is_due_is_named(stage: Stage) -> None:
    rules(stage, "periodic_review_months: 12")
    assert found(stage, later_days=360) == []
    assert found(stage, later_days=367) == [("doctor.periodic-review", "site")]
    do(stage, SignPeriodic(figures(stage), (), "all right"), APPROVER)
    assert found(stage, later_days=360) == []
