"""Late entries: refused without a reason, marked with one, for whoever reads the trail. All invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import APPROVER, FLAME, TRACE, bring_in, do, entries, kinds, left_file, rules
from tests.desk.test_accounts import refused
from tests.desk.test_instruments import ago, whole
from tests.desk.test_training import fact

from benchseal.desk.acts_instruments import NoteInstrumentEvent
from benchseal.desk.acts_registers import AddPreparation, AddRegister
from benchseal.desk.late import late_rows

if TYPE_CHECKING:
    from tests.conftest import Stage

COLUMNS = "portion,batch,kind,sample,elements,volume_ml,prepared_by,prepared_at,mass_g\n"
WHY = "the network was down over the weekend"


def sheet(hours: float) -> bytes:
    at = f"{datetime.now(UTC) - timedelta(hours=hours):%Y-%m-%dT%H:%M:%S}"  # the demo's zone has UTC in winter
    return f"{COLUMNS}Q-1,QQ-01,method_blank,,Zn,100.0,{TRACE},{at},1.0120\n".encode()


def marks(stage: Stage, subject: str) -> list[tuple[str, str, int]]:
    with stage.site.store.reading() as view:
        return [(row["person"], row["reason"], row["hours"]) for row in late_rows(view, subject)]


def test_a_weighing_is_not_put_on_record_before_it_is_made(stage: Stage) -> None:
    """Two hours ahead is the same day here, and to come all the same."""
    assert refused(lambda: do(stage, AddPreparation(sheet(-2), "sheet.csv"), FLAME)) == "sheet.future"
    do(stage, AddPreparation(sheet(0), "sheet.csv"), FLAME)


def test_without_a_rule_nothing_is_late(stage: Stage) -> None:
    do(stage, AddPreparation(sheet(900), "sheet.csv"), FLAME)
    assert "late.noted" not in kinds(stage)


@pytest.mark.refuses("DI Q12")
@pytest.mark.refuses("A11 12.4")
def test_late_work_without_a_reason_is_refused(stage: Stage) -> None:
    rules(stage, "late_entry_hours: 48")
    for act, person in (
        (AddPreparation(sheet(60), "sheet.csv"), FLAME),
        (AddPreparation(sheet(60), "sheet.csv", " "), FLAME),
        (NoteInstrumentEvent("flame-1", "service", "done", at=ago(days=5)), FLAME),
        (fact(FLAME, "role/analyst", since="2026-01-01"), APPROVER),
        (AddRegister("sample", samples(stage), "samples.csv"), FLAME),
    ):
        before = len(entries(stage))
        assert refused(lambda act=act, person=person: do(stage, act, person)) == "late.reason-needed"  # type: ignore[misc]
        assert len(entries(stage)) == before


def samples(stage: Stage) -> bytes:
    """The demo's register again, its lots renamed."""
    text = next(stage.site.folder.glob("inbox/*samples*.csv")).read_text(encoding="utf-8")
    head, *lines = text.splitlines()
    place = head.split(",").index("lot")
    assert place == 0
    return ("\n".join([head, f"X-{lines[0]}"]) + "\n").encode()


@pytest.mark.clause("A11 12.4")
def test_late_work_with_a_reason_is_marked_beside_its_entry(stage: Stage) -> None:
    rules(stage, "late_entry_hours: 48")
    do(stage, AddPreparation(sheet(60), "sheet.csv", WHY), FLAME)
    assert kinds(stage, last=2) == ["preparation.added", "late.noted"]
    assert marks(stage, "portion/QQ-01/Q-1") == [(FLAME, WHY, 60)]
    added, late = entries(stage)[-2:]
    assert (late.subject, late.facts["entry"], late.reason) == (added.subject, added.seq, WHY)
    do(stage, NoteInstrumentEvent("flame-1", "service", "done", at=ago(days=5), late_because=WHY), FLAME)
    do(stage, fact(FLAME, "role/analyst", since="2026-01-01", late_because=WHY), APPROVER)
    do(stage, AddRegister("sample", samples(stage), "samples.csv", WHY), FLAME)
    assert kinds(stage).count("late.noted") == 4
    assert whole(stage)


def test_work_in_time_bears_no_mark_whatever_is_said(stage: Stage) -> None:
    rules(stage, "late_entry_hours: 48")
    do(stage, AddPreparation(sheet(40), "sheet.csv", WHY), FLAME)
    assert "late.noted" not in kinds(stage)


@pytest.mark.refuses("DI Q12")
@pytest.mark.refuses("P11 11.10(h)")
def test_a_late_file_is_kept_and_refused_until_a_reason_is_given(stage: Stage) -> None:
    rules(stage, "late_entry_hours: 48")
    done = do(stage, left_file(stage), FLAME)
    assert {one.code for one in done.notices} == {"late.reason-needed"}
    assert kinds(stage, last=1) == ["file.refused"]
    (run, *_) = bring_in(stage, late_because=WHY)
    ((person, reason, hours),) = marks(stage, f"run/{run}")
    assert (person, reason) == (FLAME, WHY)
    assert hours > 48
    assert whole(stage)
