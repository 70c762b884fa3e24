"""The time of a weighing against those of the preparation and of the sample. All invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import FLAME, do
from tests.desk.test_confirmations import SHEET
from tests.desk.test_training import stopped
from tests.desk.test_weighed_once import BALANCE, weighed

from benchseal.desk.reading import load
from benchseal.desk.weighed_when import read_time, time_problems
from benchseal.records.preparation import Portion
from benchseal.records.registers import Sample

if TYPE_CHECKING:
    from tests.conftest import Stage

PREPARED = "2026-01-10T09:00:00"


def at(time: str) -> bytes:
    return BALANCE.replace(b"2026-01-10T08:50:00", time.encode())


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("2026-11-20T10:00:00", "2026-11-20T10:00:00"),
        ("2026-11-20 10:00", "2026-11-20T10:00:00"),
        ("2026-11-20", "2026-11-20"),
        ("2026-11-31", ""),
        ("2026-11-20 24:30", ""),
        ("20.11.2026 10:00", ""),
        ("2026-11-20T10:00:00Z", ""),  # of no zone that is told: the laboratory's clock has none in its times
        ("2026-W47-5", ""),
        ("20261120", ""),
        ("", ""),
    ],
)
def test_times_are_read_in_the_form_of_sheets_and_no_other(text: str, read: str) -> None:
    assert read_time(text) == read


@pytest.mark.parametrize("time", ["2026-01-11T00:00:00", "2026-01-11 00:10", "2026-01-11"])
def test_a_weighing_on_a_day_after_the_preparation_is_refused(stage: Stage, time: str) -> None:
    ((code, words),) = stopped(stage, weighed(SHEET, at(time)), FLAME)
    assert code == "balance.weighed-at"
    assert "line 2, portion Q-1" in words
    assert f"weighed at {read_time(time)}, after it was prepared at {PREPARED}" in words


def test_a_weighing_before_the_sample_was_received_is_refused(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        row = next(one for one in view.rows("portion") if one["sample"])
        one = load(view, Portion, row["record"])
        sample = view.row("sample", sample=one.sample)
        assert sample is not None
        received = load(view, Sample, sample["record"]).row.received_on
        (problem,) = time_problems(view, [one], ["line 2"], {one.portion: "2020-01-10 10:00"}, "b.csv")
        same_day = [*time_problems(view, [one], ["line 2"], {one.portion: received}, "b.csv")]
    assert (problem.code, problem.where) == ("balance.weighed-at", f"line 2, portion {one.portion}")
    assert f"before its sample {one.sample} was received on {received}" in problem.what
    assert same_day == []


def test_a_weighing_still_to_come_is_refused(stage: Stage) -> None:
    now = stage.site.clock().date().isoformat()
    sheet = SHEET.replace(PREPARED.encode(), f"{now}T00:00:00".encode())
    assert [code for code, _ in stopped(stage, weighed(sheet, at(f"{now}T23:59:59")), FLAME)] == ["sheet.future"]


_LATER, _EARLY = "Weighed after the time of preparation", "Weighed more than 3 days before the preparation"
_ODD = "Time of weighing compared with nothing, since it is not written as 2026-11-20T10:00:00"


@pytest.mark.parametrize(
    ("time", "said"),
    [
        ("2026-01-10T09:20:00", f"{_LATER} (1 portion): Q-1 (2026-01-10T09:20:00)."),
        ("2026-01-06T18:00:00", f"{_EARLY} (1 portion): Q-1 (2026-01-06T18:00:00)."),
        ("10.01.2026 08:50", f"{_ODD} (1 portion): Q-1 ('10.01.2026 08:50')."),
        ("2026-01-10T09:00:00", ""),
        ("2026-01-10", ""),
        ("2026-01-07T08:00:00", ""),
        ("", ""),
    ],
)
def test_other_odd_times_are_told_in_the_receipt(stage: Stage, time: str, said: str) -> None:
    receipt = do(stage, weighed(SHEET, at(time)), FLAME)
    assert receipt.data["weighings_odd_in_time"] == ([said] if said else [])
    assert not said or said in receipt.said
