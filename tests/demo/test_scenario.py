"""The scenario as data: whole, the same everywhere, invented, and in working hours."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.demo.bench import _shifted
from benchseal.demo.calendar import at, working_day
from benchseal.demo.curves import CHANNELS, least_squares
from benchseal.demo.draws import Draws
from benchseal.demo.scenario import scenario
from benchseal.records.people import Role

if TYPE_CHECKING:
    from benchseal.demo.scenario import Scenario

# SHA-256 over every sheet and file of the default scenario from 2 March 2026, in order. It changes when the demo's
# data change, and must not change with the machine, the day or the Python version.
EVERYTHING = "f96dca478029c14360ce92c07122a3252d40ba56c6349fd988043c5b56950120"


def all_bytes(story: Scenario) -> bytes:
    sheets = [one.content for one in (*story.registers, *story.preparations)]
    return b"\0".join([*sheets, *(one.content for one in (*story.files, *story.refused, story.slow_clock))])


def test_the_same_bytes_on_every_machine(story: Scenario) -> None:
    assert sha256(all_bytes(story)).hexdigest() == EVERYTHING


def test_another_seed_gives_other_readings_and_the_same_order(story: Scenario) -> None:
    other = scenario(story.start, story.seed + 1)
    assert all_bytes(other) != all_bytes(story)
    assert [one.name for one in other.files] == [one.name for one in story.files]


def test_six_people_and_every_role_of_the_job(story: Scenario) -> None:
    roles = [role for one in story.people for role in one.roles]
    assert len(story.people) == len({one.person for one in story.people}) == 6
    assert [roles.count(role) for role in (Role.ANALYST, Role.REVIEWER, Role.APPROVER, Role.ADMINISTRATOR)] == [
        2,
        1,
        2,
        1,
    ]
    assert all(len(one.roles) == 1 for one in story.people), "nobody here needs an exception"


def test_nothing_is_done_at_night_or_on_a_free_day(story: Scenario) -> None:
    for file in story.files:
        assert file.ready_at.weekday() < 5, file.name
        assert 9 <= file.ready_at.hour < 18, file.name


def test_files_come_in_the_order_they_were_written(story: Scenario) -> None:
    times = [file.ready_at for file in story.files]
    assert times == sorted(times)
    assert times[-1].date() - story.start < timedelta(days=14)


def test_a_start_on_a_free_day_waits_for_the_next_working_day() -> None:
    assert working_day(date(2026, 3, 7), 0) == date(2026, 3, 9)
    assert at(date(2026, 3, 6), 1, "09:15") == datetime(2026, 3, 9, 9, 15)  # noqa: DTZ001  instruments print local time


def test_every_step_of_the_story_names_a_file_that_exists(story: Scenario) -> None:
    named = {step.file for step in story.story if step.file}
    assert named == {file.name for file in story.files}
    assert len({step.name for step in story.story}) == len(story.story)


def test_addresses_cannot_reach_anybody(story: Scenario) -> None:
    """RFC 2606: the top level example is kept free for such use."""
    text = b"".join(one.content for one in story.registers).decode("utf-8")
    addresses = re.findall(r"[\w.]+@[\w.]+", text)
    assert addresses
    assert all(address.endswith(".example") for address in addresses)
    assert story.laboratory.address.endswith("(invented)")


def test_labels_fit_the_narrowest_file_shape(story: Scenario) -> None:
    labels = [line.split(",")[0] for one in story.preparations for line in one.content.decode().splitlines()[1:]]
    assert len(labels) == len(set(labels)) == 21 + 21 + 7
    assert max(map(len, labels)) <= 18


def test_the_mistyped_mass_stands_in_the_sheet_and_the_true_one_does_not(story: Scenario) -> None:
    wrong = story.correction
    rows = [
        line
        for one in story.preparations
        for line in one.content.decode().splitlines()
        if line.startswith(wrong.portion)
    ]
    assert len(rows) == 1
    assert f",{wrong.typed}," in rows[0]
    assert wrong.true not in rows[0]
    assert sorted(wrong.typed) == sorted(wrong.true), "figures were exchanged, none was invented"


def test_the_reading_of_each_solution_at_its_limit_is_the_scenarios() -> None:
    """The last column of the scenario's table of runs: signal at limit or claim."""
    due = {
        "zinc-flame": (1.00, 0.326), "magnesium-flame": (0.400, 0.294), "lead-furnace": (10.0, 0.0308),
        "cadmium-furnace": (1.0, 0.089), "mercury-cold-vapour": (3.0, 0.182), "arsenic-hydride": (3.0, 0.138),
        "lead-flame-ware": (5.71, 0.101), "cadmium-flame-ware": (0.50, 0.20),
    }  # fmt: skip
    assert due.keys() == CHANNELS.keys()
    for name, (concentration, signal) in due.items():
        assert CHANNELS[name].signal(concentration) == pytest.approx(signal, abs=0.0006), name


@pytest.mark.parametrize(
    ("pg", "ul", "channel", "unit"), [(30.0, 20.0, "lead-furnace", "ug/L"), (1.0, 20.0, "cadmium-furnace", "ug/L")]
)
def test_furnace_curves_have_the_characteristic_mass_of_the_scenario(
    pg: float, ul: float, channel: str, unit: str
) -> None:
    """m0 = 0.0044 V/slope in pg (from memory, IUPAC): 30 pg of lead, 1.0 pg of cadmium in 20 uL."""
    assert unit == "ug/L"
    assert 0.0044 * ul / CHANNELS[channel].b1 == pytest.approx(pg, rel=0.01)


@given(st.integers(0, 2**32))
def test_scatter_is_bounded(seed: int) -> None:
    draws = Draws(seed, "any")
    assert all(abs(draws.scatter()) <= 1.8 for _ in range(5))


@given(st.lists(st.floats(0.001, 0.6), min_size=1, max_size=5), st.floats(0.001, 0.6))
def test_a_shifted_solution_has_the_wanted_mean(values: list[float], wanted: float) -> None:
    printed = [float(text) for text in _shifted(values, wanted, 4)]
    assert sum(printed) / len(printed) == pytest.approx(wanted, abs=0.5e-4 / len(values) + 1e-9)


@given(st.floats(-1, 1), st.floats(0.1, 2), st.floats(-0.2, 0.2))
def test_least_squares_finds_an_exact_curve(b0: float, b1: float, b2: float) -> None:
    x = [0.0, 0.5, 1.0, 1.5, 2.0]
    found = least_squares(x, [b0 + b1 * one + b2 * one * one for one in x], 3)
    assert found == pytest.approx((b0, b1, b2), abs=1e-9)
