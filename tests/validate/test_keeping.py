"""Digests read before and after their time: exactly at the end, a second later, with and without times of readings."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.validate.test_check import DOCUMENT, KNOWN, METHOD, METHOD_REF

from benchseal.records.instrument_events import InstrumentEvent
from benchseal.records.method import DigestsKeep
from benchseal.records.run import Run
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from benchseal.problems import Problem
    from benchseal.records.known import Known
    from benchseal.records.run import RunDocument
    from benchseal.validate.registers import Fold


def known(prepared: str = "2026-03-01T10:00:00", batch: str = "P-031", **keep: str) -> Known:
    portions = {
        label: tuple(replace(one, prepared_at=prepared, batch=batch) for one in own)
        for label, own in KNOWN.portions.items()
    }
    method = replace(METHOD, digests_keep=DigestsKeep(**keep, source="test"))
    return replace(KNOWN, methods=((METHOD_REF, method),), portions=portions)


def begun_at(started: str, read: str = "") -> RunDocument:
    """The sample file begun at one time, every reading taken at ``read``; nothing where the file gives no times."""
    taken = (read,) * len(DOCUMENT.readings.taken_at)
    facts = replace(DOCUMENT.facts, started_at=started)
    return replace(DOCUMENT, facts=facts, readings=replace(DOCUMENT.readings, taken_at=taken))


def problems(found: Run | tuple[Problem, ...]) -> list[str]:
    return [] if isinstance(found, Run) else [one.code for one in found]


@pytest.mark.parametrize(
    ("keep", "prepared", "started", "codes"),
    [
        pytest.param({"days": "7"}, "2026-02-23T00:00:00", "2026-03-02T23:59:59", [], id="the last second of a day"),
        pytest.param({"days": "7"}, "2026-02-22T23:59:59", "2026-03-01T23:59:59", [], id="the last day"),
        pytest.param({"days": "7"}, "2026-02-22T23:59:59", "2026-03-02T00:00:00", ["validate.digest-past"],
                     id="the first second of the next day"),
        pytest.param({"hours": "24"}, "2026-03-01T10:00:00", "2026-03-02T10:00:00", [], id="the last second"),
        pytest.param({"hours": "24"}, "2026-03-01T10:00:00", "2026-03-02T10:00:01", ["validate.digest-past"],
                     id="a second later"),
        pytest.param({}, "2025-03-01T10:00:00", "2026-03-02T10:00:00", [], id="not said"),
    ],
)  # fmt: skip
def test_the_boundary(keep: dict[str, str], prepared: str, started: str, codes: list[str]) -> None:
    asked = replace(known(prepared, **keep), now="2026-03-03T20:00:00Z")
    assert problems(check_run(begun_at(started), asked)) == codes, "the begin of the run where there are no times"
    assert problems(check_run(begun_at("2026-03-01T11:00:00", started), asked)) == codes, "its own time"


def test_the_last_reading_of_a_solution_decides_where_the_file_gives_times() -> None:
    count = len(DOCUMENT.readings.taken_at)
    timed = begun_at("2026-03-02T09:59:00")
    last = len(DOCUMENT.solutions.label) - 1
    while DOCUMENT.solutions.label[last] not in KNOWN.portions:
        last -= 1
    first, size = DOCUMENT.solutions.first_reading[last], DOCUMENT.solutions.reading_count[last]
    taken = ["2026-03-02T09:59:00"] * count
    assert problems(check_run(replace(timed, readings=replace(timed.readings, taken_at=tuple(taken))),
                              known(hours="24"))) == []  # fmt: skip
    taken[first + size - 1 :] = ["2026-03-02T10:00:01"] * (count - first - size + 1)
    late = check_run(replace(timed, readings=replace(timed.readings, taken_at=tuple(taken))), known(hours="24"))
    assert not isinstance(late, Run)
    assert [one.code for one in late] == ["validate.digest-past"]
    assert late[0].what == (
        f"'{DOCUMENT.solutions.label[last]}' of batch P-031 was made up 2026-03-01T10:00:00; by lead-furnace digests "
        "hold 24 hours, this one until 2026-03-02 10:00:00 (Europe/Berlin). It was read 2026-03-02 10:00:01 "
        "(Europe/Berlin)."
    )
    assert "Prepare those samples again" in late[0].remedy


def test_each_batch_once_with_how_many_more() -> None:
    found = check_run(DOCUMENT, known("2026-02-01T10:00:00", days="7"))
    assert not isinstance(found, Run)
    assert [one.code for one in found] == ["validate.digest-past"]
    assert " more portions of the batch." in found[0].what


def test_a_clock_that_is_ahead_is_corrected() -> None:
    begun = begun_at("2026-03-02T10:00:30")
    asked = known(hours="24")
    assert problems(check_run(begun, asked)) == ["validate.digest-past"]
    seen, true = "2026-03-02T08:01:00Z", "2026-03-02T08:00:00Z"
    event = InstrumentEvent(
        "instrument-event/1", "furnace-1", "clock_check", true, "ana", "", seen=seen, true=true, offset_seconds=60
    )
    asked = replace(asked, instrument_events={"furnace-1": (event,)})
    assert problems(check_run(begun, asked)) == []


# Germany put clocks back at 03:00 summer time on 26 October 2025 (time zone database): 02:30 came twice.
_LOTS = tuple(replace(lot, in_use_from="2025-01-01") for lot in KNOWN.standard_lots)


def autumn(started: str, *taken: str) -> RunDocument:
    """The sample file begun that night; readings at these times, those behind them all at the last."""
    count = len(DOCUMENT.readings.taken_at)
    times = [f"2025-10-26T{text}" for text in taken]
    times += times[-1:] * (count - len(times))
    facts = replace(DOCUMENT.facts, started_at=f"2025-10-26T{started}")
    return replace(DOCUMENT, facts=facts, readings=replace(DOCUMENT.readings, taken_at=tuple(times)))


@pytest.mark.parametrize(
    ("started", "taken", "fold", "prepared", "codes"),
    [
        pytest.param("02:05:00", ("02:10:00",), 0, "02:10:00", [], id="the layout says the first hour"),
        pytest.param("02:05:00", ("02:10:00",), 1, "02:10:00", ["validate.digest-past"], id="it says the second"),
        pytest.param("01:50:00", ("02:10:00",), 0, "02:10:00", [], id="order goes through the first"),
        pytest.param("01:50:00", ("02:10:00",), None, "02:10:00", [], id="with no word of the layout"),
        pytest.param("01:50:00", ("02:50:00", "02:10:00"), 0, "02:10:00", ["validate.digest-past"],
                     id="behind a step back"),
        pytest.param("02:50:00", ("02:10:00",), 0, "03:09:59", ["validate.digest-past"], id="a second past there"),
        pytest.param("02:50:00", ("02:10:00",), 0, "03:10:00", [], id="the last second there"),
    ],
)  # fmt: skip
def test_in_a_doubled_hour_layout_and_order_say_which(
    started: str, taken: tuple[str, ...], fold: Fold, prepared: str, codes: list[str]
) -> None:
    asked = replace(known(f"2025-10-25T{prepared}", hours="24"), standard_lots=_LOTS)
    found = check_run(autumn(started, *taken), asked, fold=fold)
    assert problems(found) == codes
    if not isinstance(found, Run):
        assert "2025-10-26 02:10:00 (Europe/Berlin, UTC+01:00)" in found[0].what


def test_a_run_just_read_in_the_first_of_the_two_hours_is_not_ahead() -> None:
    asked = replace(KNOWN, standard_lots=_LOTS, portions=known("2025-10-25T10:00:00").portions)
    document = autumn("01:50:00", "02:10:00")
    assert problems(check_run(document, replace(asked, now="2025-10-26T00:11:00Z"))) == []
    assert problems(check_run(document, replace(asked, now="2025-10-26T00:09:00Z"))) == ["validate.time-future"]
    again = autumn("01:50:00", "02:50:00", "02:10:00")
    assert problems(check_run(again, replace(asked, now="2025-10-26T00:11:00Z"))) == ["validate.time-future"]
