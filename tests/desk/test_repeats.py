"""The same run from other bytes waits until a person says which stands, and why."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import ADMIN, FLAME, REVIEWER, bring_in, do, entries, kinds, left_file

from benchseal.desk.acts_people import AddPerson
from benchseal.desk.acts_runs import CancelRun
from benchseal.desk.admission import Password
from benchseal.desk.perform import perform
from benchseal.problems import Stopped, exit_code
from benchseal.records.people import Role

if TYPE_CHECKING:
    from tests.conftest import Stage

    from benchseal.desk.acting import Receipt
    from benchseal.desk.acts_runs import IngestFile
    from benchseal.problems import Notice


def exported_again(stage: Stage, **changes: str) -> IngestFile:
    """The left file with another temperature of the room in its head, and another name."""
    act = left_file(stage, **changes)
    data = act.data.replace(b"Room;", b"Room;1", 1)
    assert data != act.data
    return replace(act, data=data, source="again.txt")


def refused(stage: Stage, act: IngestFile) -> Notice:
    done = do(stage, act, FLAME)
    assert done.data["runs"] == []
    return done.notices[0]


def stopped(stage: Stage, act: IngestFile, by: str = FLAME) -> Notice:
    with pytest.raises(Stopped) as caught:
        do(stage, act, by)
    return caught.value.notices[0]


def test_the_file_the_demo_leaves_fits(stage: Stage) -> None:
    assert b"Room;" in left_file(stage).data


@pytest.mark.refuses("DI Q12", "P11 11.10(h)")
def test_it_is_refused_and_kept_until_somebody_decides(stage: Stage) -> None:
    (first, *_) = bring_in(stage)
    problem = refused(stage, exported_again(stage))
    assert (problem.code, exit_code((problem,))) == ("ingest.same-run", 4)
    assert problem.where.startswith("again.txt, run beginning at line ")
    assert f"Run {first} (draft)" in problem.what
    assert "all readings are the same" in problem.what
    assert "from line 5 on" in problem.what
    assert kinds(stage, last=1) == ["file.refused"]
    assert entries(stage)[-1].facts["codes"] == ["ingest.same-run"]


def test_readings_that_differ_are_counted(stage: Stage) -> None:
    bring_in(stage)
    act = left_file(stage)
    rows = act.data.split(b"\r\n")
    place = next(nth for nth, row in enumerate(rows) if row.startswith(b"1;"))
    cells = rows[place].split(b";")
    assert cells[5] != cells[6]
    cells[5], cells[6] = cells[6], cells[5]
    rows[place] = b";".join(cells)
    changed = replace(act, data=b"\r\n".join(rows))
    problem = refused(stage, changed)
    assert problem.code == "ingest.same-run"
    assert "2 of " in problem.what
    assert f"from line {place + 1} on" in problem.what


def test_the_earlier_stands(stage: Stage) -> None:
    runs = bring_in(stage)
    refused(stage, exported_again(stage))
    decided = exported_again(stage, stands="earlier", stands_because="exported twice, the room was typed wrong")
    done: Receipt = do(stage, decided, FLAME)
    assert done.data["runs"] == []
    assert done.notices == ()
    noted = entries(stage)[-len(runs) :]
    assert [entry.subject for entry in noted] == [f"run/{run}" for run in runs]
    assert {(entry.kind, entry.actor, entry.reason) for entry in noted} == {
        ("run.repeated", FLAME, "exported twice, the room was typed wrong")
    }
    again = stopped(stage, exported_again(stage))
    assert (again.code, exit_code((again,))) == ("ingest.already", 0)
    assert FLAME in again.what
    assert "exported twice" in again.what


def test_both_stand(stage: Stage) -> None:
    runs = bring_in(stage)
    new = do(stage, exported_again(stage, stands="both", stands_because="two series begun in one minute"), FLAME)
    made = new.data["runs"]
    assert isinstance(made, list)
    assert len(made) == len(runs)
    noted = [entry for entry in entries(stage) if entry.kind == "run.repeated"]
    assert [entry.facts["beside"] for entry in noted] == [made] * len(runs)
    assert any("On record" in line for line in new.said)


def test_the_later_stands_once_the_earlier_is_cancelled_by_two(stage: Stage) -> None:
    for run in bring_in(stage):
        cancel = CancelRun(run, "the room was typed wrong; exported again")
        perform(stage.site, cancel, stage.key(FLAME), stage.key(REVIEWER))
    done = do(stage, exported_again(stage), FLAME)
    assert done.data["runs"]
    assert done.notices == ()


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        pytest.param({"stands": "earlier"}, "act.reason", id="no reason"),
        pytest.param({"stands": "both", "stands_because": "  "}, "act.reason", id="blanks"),
        pytest.param({"stands": "later", "stands_because": "x"}, "ingest.stands", id="another word"),
        pytest.param({"stands_because": "x"}, "ingest.stands", id="a reason for nothing"),
    ],
)
def test_a_decision_needs_its_word_and_its_reason(stage: Stage, changes: dict[str, str], code: str) -> None:
    bring_in(stage)
    before = len(entries(stage))
    assert stopped(stage, exported_again(stage, **changes)).code == code
    assert len(entries(stage)) == before


def test_where_nothing_is_repeated_nothing_is_decided(stage: Stage) -> None:
    before = len(entries(stage))
    problem = stopped(stage, left_file(stage, stands="earlier", stands_because="x"))
    assert problem.code == "ingest.no-repeat"
    assert len(entries(stage)) == before


def test_a_run_that_stands_twice_in_one_file(stage: Stage) -> None:
    act = left_file(stage)
    lines = act.data.split(b"\r\n")
    begins = [nth for nth, line in enumerate(lines) if line.startswith(b"#Element")]
    last = next(nth for nth, line in enumerate(lines) if line.startswith(b"#Log closed"))
    section = lines[begins[-1] : last]
    count = int(lines[last].partition(b";")[2])
    closed = b"#Log closed;%d" % (count + 1)
    doubled = replace(act, data=b"\r\n".join([*lines[:last], *section, closed, b""]))
    problem = refused(stage, doubled)
    assert problem.code == "ingest.run-twice"
    assert f"line {last + 1}" in problem.where
    assert f"from line {begins[-1] + 1} on" in problem.what


def test_a_service_does_not_decide(stage: Stage) -> None:
    bring_in(stage)
    word = "four grey herons walk"
    added = do(stage, AddPerson("watcher", "Folder watch", (Role.SERVICE,), "a machine", word), ADMIN)
    by = Password(str(added.data["person"]), word)
    problem, *_ = perform(stage.site, exported_again(stage), by).notices
    assert problem.code == "ingest.same-run"
    decided = exported_again(stage, stands="earlier", stands_because="x")
    with pytest.raises(Stopped, match=r"ingest\.stands-person"):
        perform(stage.site, decided, by)
