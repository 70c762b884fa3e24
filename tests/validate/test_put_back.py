"""Runs measured while clocks are put back: held against the zone of the instrument, start and readings alike."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.validate.test_check import DOCUMENT, KNOWN

from benchseal.problems import Problem
from benchseal.validate.registers import Fold, clock_changed, measured_at, put_back_problems

if TYPE_CHECKING:
    from benchseal.records.registers import Instrument
    from benchseal.records.run import RunDocument

LONDON, BERLIN, LORD_HOWE = "Europe/London", "Europe/Berlin", "Australia/Lord_Howe"  # the last one by half an hour


def autumn(started: str, *clocks: str, day: str = "2025-10-26") -> RunDocument:
    """The sample run begun at one time, its first readings at these times, the rest at the last of them."""
    count = len(DOCUMENT.readings.taken_at)
    taken = tuple(f"{day}T{clock}" for clock in clocks) + (f"{day}T{clocks[-1]}",) * (count - len(clocks))
    facts = replace(DOCUMENT.facts, started_at=f"{day}T{started}")
    return replace(DOCUMENT, facts=facts, readings=replace(DOCUMENT.readings, taken_at=taken))


def in_zone(zone: str) -> Instrument:
    return replace(KNOWN.instruments[0], zone=zone)


def found(document: RunDocument, zone: str, fold: Fold = 0) -> list[Problem]:
    return list(put_back_problems(document, in_zone(zone), fold))


@pytest.mark.parametrize(
    ("zone", "day", "times", "fold"),
    [
        pytest.param(
            LONDON, "2025-10-26", ("00:50:00", "01:10:00", "01:59:15", "01:01:00", "01:03:00"), 0, id="London"
        ),
        pytest.param(LONDON, "2025-10-26", ("00:50:00", "01:59:15", "01:01:00"), 1, id="begun before the doubled hour"),
        pytest.param(LONDON, "2025-10-26", ("01:58:00", "01:01:00", "03:01:00"), 0, id="from the start itself"),
        pytest.param(BERLIN, "2025-10-26", ("01:50:00", "02:59:59", "02:00:00", "04:00:00"), 0, id="a whole hour"),
        pytest.param(LORD_HOWE, "2025-04-06", ("01:10:00", "01:59:00", "01:31:00"), 0, id="half an hour"),
        pytest.param("UTC", "2025-10-26", ("00:50:00", "00:50:00", "01:59:15"), 0, id="times that rise"),
        pytest.param(LONDON, "2025-10-26", ("01:10:00", "01:30:00", "02:10:00"), 1, id="begun in the second hour"),
    ],
)
def test_where_clocks_were_put_back(zone: str, day: str, times: tuple[str, ...], fold: Fold) -> None:
    document = autumn(*times, day=day)
    assert found(document, zone, fold) == []
    assert clock_changed(document, in_zone(zone)) is (zone != "UTC"), "drift goes by position"


@pytest.mark.parametrize(
    ("zone", "times", "fold", "place"),
    [
        pytest.param("UTC", ("00:50:00", "01:59:15", "01:01:00"), 0, 1, id="no change at all"),
        pytest.param(BERLIN, ("00:50:00", "01:59:15", "01:01:00"), 0, 1, id="an hour before the change"),
        pytest.param(LONDON, ("01:50:00", "02:10:00", "01:30:00"), 0, 1, id="from after the doubled hour"),
        pytest.param(LONDON, ("00:30:00", "01:10:00", "00:59:59"), 0, 1, id="to before the doubled hour"),
        pytest.param(LONDON, ("00:30:00", "01:59:00", "01:30:00", "01:20:00"), 0, 2, id="twice"),
        pytest.param(LONDON, ("01:30:00", "01:59:00", "01:01:00"), 1, 1, id="begun in the second hour"),
    ],
)
def test_where_they_were_not(zone: str, times: tuple[str, ...], fold: Fold, place: int) -> None:
    (problem,) = found(autumn(*times), zone, fold)
    assert problem.code == "validate.time-backwards"
    assert f"line {DOCUMENT.readings.line[place]} " in problem.where
    assert f"2025-10-26T{times[place + 1]} after 2025-10-26T{times[place]}" in problem.what
    assert zone in problem.what
    assert ("doubled_hour: first" in problem.remedy) is (fold == 1)


def test_in_spring_nothing_is_put_back() -> None:
    (problem,) = found(autumn("00:50:00", "02:30:00", "02:10:00", day="2025-03-30"), BERLIN)
    assert "clocks were not put back there" in problem.what


def test_a_start_in_the_doubled_hour_names_the_key() -> None:
    document = autumn("01:30:00", "01:31:00")
    known = replace(KNOWN, now="2025-10-26T20:00:00Z")
    told = measured_at(document, in_zone(LONDON), known, None)
    assert isinstance(told, Problem)
    assert told.code == "validate.time-impossible"
    assert "doubled_hour: first or second" in told.remedy
    left_out = measured_at(autumn("02:30:00", "03:31:00", day="2025-03-30"), in_zone(BERLIN), known, None)
    assert isinstance(left_out, Problem)
    assert "doubled_hour" not in left_out.remedy


def test_a_run_across_the_change_is_not_of_the_future_when_it_comes_in_at_once() -> None:
    """Its greatest time is of the first hour: taken for the second it would lie half an hour ahead."""
    document = autumn("00:50:00", "01:59:15", "01:01:00")
    known = replace(KNOWN, now="2025-10-26T01:02:00Z")
    assert measured_at(document, in_zone(LONDON), known, 0) == "2025-10-25T23:50:00Z"
