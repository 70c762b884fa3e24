"""Events of instruments: what may be put on record, by whom, and what follows for runs. All invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import APPROVER, FLAME, REVIEWER, bring_in, do, kinds, left_file, rules
from tests.desk.test_accounts import refused

from benchseal.desk.acts_instruments import NoteInstrumentEvent
from benchseal.desk.checking import verify_site
from benchseal.desk.instrument_time import corrected, events_of
from benchseal.desk.rebuilding import rebuild_site
from benchseal.problems import Stopped

if TYPE_CHECKING:
    from tests.conftest import Stage

NAME = "flame-1"


def note(stage: Stage, kind: str, person: str = FLAME, text: str = "seen by two", **fields: object) -> int:
    done = do(stage, NoteInstrumentEvent(NAME, kind, text, **fields), person)  # type: ignore[arg-type]
    return int(str(done.data["event"]))


def ago(**span: float) -> str:
    return f"{datetime.now(UTC) - timedelta(**span):%Y-%m-%dT%H:%M:%S}+00:00"


def whole(stage: Stage) -> bool:
    return verify_site(stage.site).findings == () and rebuild_site(stage.site) == 0


# ------------------------------------------------------------------ what can be put on record


@pytest.mark.clause("17025 6.4")
def test_every_kind_of_event_is_on_record_and_shown(stage: Stage) -> None:
    note(stage, "clock_check", seen=ago(minutes=5), true=ago(minutes=8), text="")
    note(stage, "service", by="M. Bell, service of the maker", at=ago(days=3))
    note(stage, "qualification", until="2099-01-01")
    note(stage, "calibration_due", until="2099-01-01", text="")
    note(stage, "lamp", part="Zn 2", count="1250.5", unit="mA h")
    note(stage, "tube", part="T-7", count="212", unit="firings")
    note(stage, "out_of_service")
    note(stage, "back_in_service", REVIEWER)
    note(stage, "original_record", text="bench computer 2, folder runs, kept 10 years")
    with stage.site.store.reading() as view:
        events = events_of(view, NAME)
    assert [one.kind for one in events] == [
        "clock_check", "service", "qualification", "calibration_due", "lamp", "tube", "out_of_service",
        "back_in_service", "original_record",
    ]  # fmt: skip
    assert events[0].offset_seconds == 180
    assert events[1].by == "M. Bell, service of the maker"
    assert events[4].by == FLAME
    assert whole(stage)


@pytest.mark.parametrize(
    ("kind", "fields", "code"),
    [
        pytest.param("party", {}, "instrument.event-kind", id="no kind"),
        pytest.param("clock_check", {"seen": ago(hours=1)}, "instrument.event-lacks", id="no true time"),
        pytest.param("calibration_due", {}, "instrument.event-lacks", id="no day"),
        pytest.param("lamp", {}, "instrument.event-lacks", id="no lamp"),
        pytest.param("tube", {"part": "T-7", "count": "9"}, "instrument.event-lacks", id="a count of nothing"),
        pytest.param("service", {"text": " "}, "instrument.event-lacks", id="no text"),
        pytest.param("service", {"seen": ago(hours=1)}, "instrument.event-foreign", id="a clock in a service"),
        pytest.param(
            "clock_check",
            {"seen": ago(days=30), "true": ago(days=30, hours=1), "at": ago(minutes=1)},
            "instrument.event-foreign",
            id="an old check said to be of now",
        ),
        pytest.param("service", {"set_right": True}, "instrument.event-foreign", id="set right in a service"),
        pytest.param("service", {"at": "yesterday"}, "instrument.time", id="no time"),
        pytest.param("calibration_due", {"until": "soon"}, "instrument.time", id="no day that is one"),
        pytest.param("service", {"at": "2026-03-29T01:30:00"}, "instrument.time", id="an hour left out"),
        pytest.param("service", {"at": "2026-10-25T01:30:00"}, "instrument.time", id="an hour that comes twice"),
        pytest.param("service", {"at": "2099-01-01T00:00:00"}, "instrument.future", id="still to come"),
        pytest.param("lamp", {"part": "Zn", "count": "many", "unit": "h"}, "instrument.count", id="no number"),
        pytest.param("back_in_service", {}, "instrument.not-out", id="never out"),
    ],
)
def test_what_is_no_event(stage: Stage, kind: str, fields: dict[str, object], code: str) -> None:
    before = len(kinds(stage))
    act = NoteInstrumentEvent(NAME, kind, **{"text": "seen by two", **fields})  # type: ignore[arg-type]
    assert refused(lambda: do(stage, act, FLAME)) == code
    assert len(kinds(stage)) == before


def test_every_problem_is_said_at_once(stage: Stage) -> None:
    with pytest.raises(Stopped) as stop:
        note(stage, "lamp", at="yesterday", count="many", until="2099-01-01")
    assert [one.code for one in stop.value.notices] == [
        "instrument.event-lacks",
        "instrument.event-foreign",
        "instrument.time",
        "instrument.count",
    ]


def test_an_instrument_nobody_registered(stage: Stage) -> None:
    act = NoteInstrumentEvent("flame-9", "service", "done")
    assert refused(lambda: do(stage, act, FLAME)) == "history.instrument-unknown"


@pytest.mark.refuses("P11 11.10(h)")
def test_out_once_and_back_by_somebody_who_checks(stage: Stage) -> None:
    note(stage, "out_of_service")
    assert refused(lambda: note(stage, "out_of_service")) == "instrument.already-out"
    assert refused(lambda: note(stage, "back_in_service")) == "instrument.back-by"
    note(stage, "back_in_service", APPROVER)
    assert refused(lambda: note(stage, "back_in_service", REVIEWER)) == "instrument.not-out"


# ------------------------------------------------------------------ what follows for runs


@pytest.mark.refuses("17025 6.4")
@pytest.mark.refuses("P11 11.10(h)")
def test_a_file_of_an_instrument_out_of_service_is_refused_and_kept(stage: Stage) -> None:
    event = note(stage, "out_of_service", at=ago(days=30))
    done = do(stage, left_file(stage), FLAME)
    assert {one.code for one in done.notices} == {"instrument.out-of-service"}
    assert "reviewer or approver" in done.notices[0].remedy
    assert done.data["runs"] == []
    assert kinds(stage, last=1) == ["file.refused"]
    note(stage, "back_in_service", REVIEWER, at=ago(days=29))
    assert bring_in(stage)
    assert event
    assert whole(stage)


@pytest.mark.refuses("17025 6.4")
@pytest.mark.refuses("P11 11.10(h)")
def test_a_file_of_an_instrument_overdue_is_refused(stage: Stage) -> None:
    note(stage, "calibration_due", at=ago(days=60), until=f"{datetime.now(UTC) - timedelta(days=40):%Y-%m-%d}")
    done = do(stage, left_file(stage), FLAME)
    assert {one.code for one in done.notices} == {"instrument.calibration-overdue"}
    note(stage, "calibration_due", at=ago(days=39), until="2099-01-01")
    assert bring_in(stage)


@pytest.mark.clause("P11 11.10(h)")
def test_the_time_of_a_run_is_corrected_and_what_the_instrument_showed_stays(stage: Stage) -> None:
    with stage.site.store.reading() as view:
        row = view.row("run", run="R-00001")
        assert row is not None
        instrument, shown = row["instrument"], row["measured_at"]
    seen = datetime.fromisoformat(shown) - timedelta(hours=1)
    act = NoteInstrumentEvent(
        instrument, "clock_check", "", seen=seen.isoformat(), true=(seen - timedelta(seconds=95)).isoformat()
    )
    do(stage, act, FLAME)
    with stage.site.store.reading() as view:
        found = datetime.fromisoformat(corrected(view, instrument, shown))
        again = view.row("run", run="R-00001")
    assert again is not None
    assert again["measured_at"] == shown
    assert datetime.fromisoformat(shown) - found == timedelta(seconds=95)


def test_a_clock_beyond_its_tolerance_is_a_finding_until_set_right(stage: Stage) -> None:
    rules(stage, "clock_tolerance_seconds: 60")
    act = NoteInstrumentEvent(NAME, "clock_check", "", seen=ago(minutes=5), true=ago(minutes=8))
    (found,) = do(stage, act, FLAME).notices
    assert found.code == "instrument.clock-off"
    near = NoteInstrumentEvent(NAME, "clock_check", "", seen=ago(seconds=230), true=ago(seconds=240))
    assert do(stage, near, FLAME).notices == ()
    right = NoteInstrumentEvent(NAME, "clock_check", "", seen=ago(minutes=5), true=ago(minutes=8), set_right=True)
    assert do(stage, right, FLAME).notices == ()
