"""The facts beside an investigation's questions: what the registers say about the day of the measurement."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from tests.desk.investigating import APPROVER, FIRST_ANALYST, HIGH, REVIEWER, World, copied, world_of

from benchseal.desk.acts_confirmations import ConfirmPreparation, ConfirmStandard
from benchseal.desk.acts_instruments import NoteInstrumentEvent
from benchseal.desk.acts_training import AddTraining
from benchseal.desk.case_facts import facts_of
from benchseal.desk.cases import case_of
from benchseal.desk.reading import load
from benchseal.records.run import Run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.demo.play import Played

ONE = "I-00002"
METHOD, INSTRUMENT = "lead-flame-ware", "flame-1"


@pytest.fixture(scope="module")
def ground(played: Played, tmp_path_factory: pytest.TempPathFactory) -> World:
    made = world_of(played, tmp_path_factory.mktemp("ground") / "site")
    made.site.store.close()
    return made


@pytest.fixture
def world(ground: World, tmp_path: Path) -> Iterator[World]:
    made = copied(ground, tmp_path / "site")
    yield made
    made.site.store.close()


def facts(world: World) -> dict[str, tuple[str, ...]]:
    with world.site.store.reading() as view:
        return facts_of(view, case_of(view, ONE))


def bound(world: World) -> Run:
    with world.site.store.reading() as view:
        return load(view, Run, case_of(view, ONE).row["bound"])


def about(lines: tuple[str, ...], word: str) -> list[str]:
    return [line for line in lines if word in line]


def event(world: World, kind: str, text: str = "", **more: Any) -> None:  # noqa: ANN401  fields of the act
    world.do(NoteInstrumentEvent(INSTRUMENT, kind, text, **more), REVIEWER)


def clock(world: World, ahead_seconds: int) -> None:
    """A check of the instrument's clock, five minutes later."""
    true = world.later(minutes=5)
    seen = true + timedelta(seconds=ahead_seconds)
    event(world, "clock_check", seen=f"{seen:%Y-%m-%dT%H:%M:%SZ}", true=f"{true:%Y-%m-%dT%H:%M:%SZ}")


@pytest.mark.clause("OOS III")
def test_nothing_on_record_is_said_as_that(world: World) -> None:
    world.measured(HIGH)
    found, run = facts(world), bound(world)
    untrained = about(found["procedure"], "had no training for")
    assert [line.split(" for ")[1].split(" on record")[0] for line in untrained] == [
        f"method/{run.method_ref.id}@{run.method_ref.version}",
        f"instrument/{run.instrument}",
        "role/analyst",
    ]
    assert all(line.startswith(FIRST_ANALYST) for line in untrained)
    assert about(found["instrument"], "its clock was not checked before the run")
    assert about(found["instrument"], "no event says that it was out of service")
    assert about(found["instrument"], "no end of a calibration was on record")
    assert about(found["preparation"], "confirmed by nobody: ")
    assert about(found["calibration"], "confirmed by nobody: ")


@pytest.mark.clause("OOS III", "P11 11.10(i)", "P11 11.10(h)")
def test_training_service_clock_and_confirmations_of_that_day_stand_there(world: World) -> None:
    world.do(AddTraining(FIRST_ANALYST, "role/analyst", f"{world.clock.now:%Y-%m-%d}", "course sheet 14"), APPROVER)
    world.later(days=1)
    world.do(AddTraining(FIRST_ANALYST, f"method/{METHOD}", "2099-12-31", "three runs seen"), APPROVER)
    clock(world, 7)
    event(world, "service", "nebuliser changed")
    event(world, "calibration_due", until="2099-06-30")
    run = world.measured(HIGH)
    clock(world, 9)
    with world.site.store.reading() as view:
        rows = [f"{one['batch']}/{one['portion']}" for one in view.rows("run_portion", run=run)]
    world.do(ConfirmPreparation(tuple(rows)), REVIEWER)
    world.do(ConfirmStandard((bound(world).standard_lots[0],)), REVIEWER)
    found = facts(world)
    assert about(found["procedure"], "no training for role/analyst")[0].count("; T-") == 1  # ended the day before
    assert about(found["procedure"], f"was trained for method/{METHOD}@")[0].endswith("three runs seen")
    assert about(found["procedure"], f"no training for instrument/{INSTRUMENT}")
    assert "offset +7 s" in about(found["instrument"], "before the run, clock checked")[0]
    assert "offset +9 s" in about(found["instrument"], "after the run, clock checked")[0]
    assert about(found["instrument"], "when the run began; corrected")
    assert about(found["instrument"], "last before: service: nebuliser changed")
    assert about(found["instrument"], "calibrated then until 2099-06-30")
    assert all(f"confirmed by {REVIEWER} at " in line for line in about(found["preparation"], "typed by"))
    assert any(f"confirmed by {REVIEWER} at " in line for line in found["calibration"])
