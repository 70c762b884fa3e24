"""The same run from other bytes waits until a person says which stands, and why."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

import pytest
from tests.desk.putting import ADMIN, FLAME, REVIEWER, TRACE, bring_in, do, entries, kinds, left_file, read_anew

from benchseal.desk.acts_people import AddPerson
from benchseal.desk.acts_runs import AcceptRuns, CancelRun, CheckFile, SubmitRuns
from benchseal.desk.admission import Password
from benchseal.desk.perform import perform
from benchseal.desk.same_readings import same_readings_lines
from benchseal.ingest import reader
from benchseal.ingest.joining import Part
from benchseal.problems import Stopped, exit_code
from benchseal.records.people import Role

if TYPE_CHECKING:
    from collections.abc import Callable

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


def exchanged(data: bytes) -> bytes:
    """Two solutions of the lead run in each other's places."""
    lines = data.split(b"\r\n")
    here, there = (next(n for n, line in enumerate(lines) if line.startswith(begin)) for begin in (b"8;Pb", b"16;Pb"))
    assert lines[here] != lines[there]
    (one, _, first), (other, _, second) = (lines[place].partition(b";") for place in (here, there))
    lines[here], lines[there] = one + b";" + second, other + b";" + first
    return b"\r\n".join(lines)


def test_readings_in_another_order_do_not_differ(stage: Stage) -> None:
    bring_in(stage)
    act = left_file(stage)
    problem = refused(stage, replace(act, data=exchanged(act.data)))
    assert problem.code == "ingest.same-run"
    assert "all readings are the same, in another order; the files differ from line " in problem.what


def test_what_differs_is_counted_beside_what_stands_elsewhere(stage: Stage) -> None:
    bring_in(stage)
    act = left_file(stage)
    old, new = b"0,0529;0,0535;0,0525;0,0530", b"0,0529;0,0535;0,0526;0,0530"
    assert old in act.data
    problem = refused(stage, replace(act, data=exchanged(act.data).replace(old, new)))
    assert ": 1 of 51 readings differ, and others stand at other places; " in problem.what


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
    done = do(stage, exported_again(stage, stands="both", stands_because="two series begun in one minute"), FLAME)
    made = done.data["runs"]
    assert isinstance(made, list)
    assert len(made) == len(runs)
    noted = [entry for entry in entries(stage) if entry.kind == "run.repeated"]
    assert [(entry.subject, entry.facts["beside"]) for entry in noted] == [
        (f"run/{run}", [new]) for run, new in zip(runs, made, strict=True)
    ]
    assert any("On record" in line for line in done.said)


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


# ------------------------------------------------------------------ the same readings under another start


def another_day(stage: Stage, **changes: str) -> IngestFile:
    """The left file as of the next day, every reading as it was."""
    return changed(stage, (b"Day;24.11.2026", b"Day;25.11.2026"), **changes)


def changed(stage: Stage, *pairs: tuple[bytes, bytes], **changes: str) -> IngestFile:
    act = left_file(stage, **changes)
    data = act.data
    for old, new in pairs:
        assert old in data
        data = data.replace(old, new, 1)
    return replace(act, data=data, source="again.txt")


def solutions_read_anew(data: bytes, which: Callable[[int], bool]) -> bytes:
    """Some solutions of each run have other readings."""
    pairs = zip(data.split(b"\r\n"), read_anew(data, 9).split(b"\r\n"), strict=True)
    lines = [new if (number := old.partition(b";")[0]).isdigit() and which(int(number)) else old for old, new in pairs]
    return b"\r\n".join(lines)


def codes(stage: Stage, act: IngestFile) -> list[str]:
    return [notice.code for notice in do(stage, act, FLAME).notices]


def told(stage: Stage, run: object) -> str:
    with stage.site.store.reading() as view:
        return "\n".join(same_readings_lines(view, str(run)))


@pytest.mark.refuses("DI Q12", "P11 11.10(h)")
@pytest.mark.parametrize(
    "pairs",
    [
        pytest.param([(b"Day;24.11.2026", b"Day;25.11.2026")], id="another day"),
        pytest.param([(b"Start;10.30.00", b"Start;10.30.01"), (b"Start;11.15.00", b"Start;11.15.01")], id="a second"),
    ],
)
def test_a_run_brought_in_again_under_another_start(stage: Stage, pairs: list[tuple[bytes, bytes]]) -> None:
    first, second = bring_in(stage)
    done = do(stage, changed(stage, *pairs), FLAME)
    assert done.data["runs"] == []
    assert [notice.code for notice in done.notices] == ["ingest.same-readings"] * 2
    assert exit_code(done.notices) == 4
    for run, notice in zip((first, second), done.notices, strict=True):
        assert f"are those of {run} (draft, " in notice.what
        assert "by chance" in notice.what
    assert "--stands" in done.notices[0].remedy
    assert entries(stage)[-1].facts["codes"] == ["ingest.same-readings"]


def test_one_solution_read_otherwise_hides_nothing(stage: Stage) -> None:
    bring_in(stage)
    act = another_day(stage)
    act = replace(act, data=solutions_read_anew(act.data, lambda number: number == 12))
    assert codes(stage, act) == ["ingest.same-readings"] * 2


def test_half_of_the_readings_are_told_and_nothing_is_asked(stage: Stage) -> None:
    first, _ = bring_in(stage)
    act = another_day(stage)
    done = do(stage, replace(act, data=solutions_read_anew(act.data, lambda number: number % 4 == 0)), FLAME)
    assert done.notices == ()
    made = done.data["runs"]
    assert isinstance(made, list)
    assert any(f"are those of {first} (draft, Pb on flame-1" in line for line in done.said)
    assert f"are those of {first} (draft" in told(stage, made[0])
    assert f"are those of {made[0]} (draft" in told(stage, first)


def test_a_series_read_another_time_is_a_series_of_its_own(stage: Stage) -> None:
    bring_in(stage)
    act = another_day(stage)
    done = do(stage, replace(act, data=read_anew(act.data, 1)), FLAME)
    assert done.notices == ()
    assert not any("neighbouring" in line for line in done.said)
    runs = done.data["runs"]
    assert isinstance(runs, list)
    assert told(stage, runs[0]) == ""


def test_whoever_signs_is_told_of_the_same_readings(stage: Stage) -> None:
    first, second = bring_in(stage)
    done = do(stage, another_day(stage, stands="both", stands_because="the instrument was set back"), FLAME)
    made = done.data["runs"]
    assert isinstance(made, list)
    entry = next(each for each in entries(stage) if each.kind == "run.repeated")
    both = f"both stand, {first} and {made[0]}: the instrument was set back"
    assert f"{FLAME} said at {entry.at} of again.txt: {both}" in told(stage, made[0])
    assert both in told(stage, first)
    submitted = do(stage, SubmitRuns((str(made[0]),)), FLAME)
    assert any(f"are those of {first} (draft" in line for line in submitted.said)
    accepted = do(stage, AcceptRuns((str(made[0]),)), REVIEWER)
    assert any(line.startswith(f"{made[0]}: ") and f"are those of {first} (" in line for line in accepted.said)
    assert any(both in line for line in accepted.said)
    assert second not in told(stage, first)


def test_readings_of_a_cancelled_run_are_told(stage: Stage) -> None:
    runs = bring_in(stage)
    for run in runs:
        perform(stage.site, CancelRun(run, "the lamp was old"), stage.key(FLAME), stage.key(REVIEWER))
    done = do(stage, another_day(stage), FLAME)
    assert done.notices == ()
    assert any(f"are those of {runs[0]} (cancelled" in line for line in done.said)
    made = done.data["runs"]
    assert isinstance(made, list)
    assert f"are those of {runs[0]} (cancelled" in told(stage, made[0])


def test_the_look_before_says_it_too(stage: Stage) -> None:
    first, _ = bring_in(stage)
    act = another_day(stage)
    done = do(stage, CheckFile(act.data, act.source, "", ()), FLAME)
    assert f"Run {first} (draft) has the same readings from another file: `ingest` will ask which of them stands." in (
        done.said
    )


def test_the_same_readings_twice_in_one_file(stage: Stage) -> None:
    act = left_file(stage)
    lines = act.data.split(b"\r\n")
    begins = [nth for nth, line in enumerate(lines) if line.startswith(b"#Element")]
    last = next(nth for nth, line in enumerate(lines) if line.startswith(b"#Log closed"))
    section = b"\r\n".join(lines[begins[-1] : last]).replace(b"Start;11.15.00", b"Start;13.15.00")
    closed = b"#Log closed;%d" % (int(lines[last].partition(b";")[2]) + 1)
    problem = refused(stage, replace(act, data=b"\r\n".join([*lines[:last], section, closed, b""])))
    assert problem.code == "ingest.run-twice"
    assert f"The readings of this run stand in this file already, from line {begins[-1] + 1} on" in problem.what


# ------------------------------------------------------------------ a decision is for its runs, and is not turned round


def without_cadmium(stage: Stage) -> IngestFile:
    """The left file with its lead run alone."""
    act = left_file(stage)
    head, _, rest = act.data.partition(b"#Element;Cd")
    assert rest.endswith(b"#Log closed;2\r\n")
    return replace(act, data=head + b"#Log closed;1\r\n", source="lead.txt")


def test_a_decision_names_the_runs_it_is_about(stage: Stage) -> None:
    (lead,) = cast("list[str]", do(stage, without_cadmium(stage), FLAME).data["runs"])
    done = do(stage, left_file(stage, stands="both", stands_because="two series"), FLAME)
    new_lead, _ = cast("list[str]", done.data["runs"])
    (noted,) = [entry for entry in entries(stage) if entry.kind == "run.repeated"]
    assert (noted.subject, noted.facts["beside"]) == (f"run/{lead}", [new_lead])
    assert f"On record, said by {FLAME}: {lead} and {new_lead} stand, because two series." in done.said


def test_a_run_that_is_new_is_not_left_out_with_the_other(stage: Stage) -> None:
    do(stage, without_cadmium(stage), FLAME)
    before = len(entries(stage))
    problem = stopped(stage, left_file(stage, stands="earlier", stands_because="exported twice"))
    assert problem.code == "ingest.stands-part"
    assert problem.where.endswith("line 33")
    assert len(entries(stage)) == before


@pytest.mark.refuses("DI Q12", "P11 11.10(h)")
def test_nobody_turns_their_own_decision_round(stage: Stage) -> None:
    runs = bring_in(stage)
    do(stage, exported_again(stage, stands="earlier", stands_because="exported twice"), FLAME)
    before = len(entries(stage))
    again = stopped(stage, exported_again(stage, stands="earlier", stands_because="again"))
    assert (again.code, "exported twice" in again.what) == ("ingest.already", True)
    own = stopped(stage, exported_again(stage, stands="both", stands_because="they are two series"))
    assert own.code == "ingest.stands-own"
    assert f"that {', '.join(runs)} stand and not this file: exported twice" in own.what
    assert len(entries(stage)) == before


def test_another_person_turns_it_round_and_the_record_names_the_first_decision(stage: Stage) -> None:
    runs = bring_in(stage)
    do(stage, exported_again(stage, stands="earlier", stands_because="exported twice"), FLAME)
    first = [entry for entry in entries(stage) if entry.kind == "run.repeated"]
    done = do(stage, exported_again(stage, stands="both", stands_because="they are two series"), TRACE)
    made = cast("list[str]", done.data["runs"])
    second = [entry for entry in entries(stage) if entry.kind == "run.repeated"][len(first) :]
    assert [entry.facts["instead_of"] for entry in second] == [entry.seq for entry in first]
    assert any(
        f"Before, {FLAME} said at {first[0].at} that {', '.join(runs)} stand and not this file: exported twice." in line
        for line in done.said
    )
    assert f"instead of what stands in entry {first[0].seq}: they are two series" in told(stage, made[0])


def test_cancelled_by_two_the_bytes_left_out_come_in(stage: Stage) -> None:
    runs = bring_in(stage)
    do(stage, exported_again(stage, stands="earlier", stands_because="exported twice"), FLAME)
    for run in runs:
        perform(stage.site, CancelRun(run, "the later is right"), stage.key(FLAME), stage.key(REVIEWER))
    assert do(stage, exported_again(stage), FLAME).data["runs"]


def test_files_that_differ_in_their_line_ends_alone(stage: Stage) -> None:
    bring_in(stage)
    act = left_file(stage)
    done = do(stage, replace(act, data=act.data.replace(b"\r\n", b"\n"), source="lf.txt"), FLAME)
    assert [notice.code for notice in done.notices] == ["ingest.same-run"] * 2
    assert all("only the line ends of the files differ" in notice.what for notice in done.notices)
    assert len(done.notices[1].remedy) < len(done.notices[0].remedy)


# ------------------------------------------------------------------ a file of one run in another


@pytest.fixture
def paged(monkeypatch: pytest.MonkeyPatch) -> None:
    """As though the layout knew pages: what is asked is by bytes. ``journeys/test_one_run`` has real ones."""
    monkeypatch.setattr(reader, "unopened", lambda *_: ())


def racks(stage: Stage, *parts: Part, **changes: str) -> IngestFile:
    """The series read anew on another day, as if it had come in these files."""
    act = another_day(stage, **changes)
    return replace(act, data=read_anew(act.data, 3), source="first.txt + second.txt", parts=parts)


def second_rack(stage: Stage) -> Part:
    return Part("second.txt", read_anew(left_file(stage).data, 5), 9)


def as_first(stage: Stage) -> Part:
    """The left file, byte for byte, as the first of several."""
    return Part("first.txt", left_file(stage).data, 1)


@pytest.mark.usefixtures("paged")
@pytest.mark.refuses("DI Q12", "P11 11.10(h)")
def test_a_file_that_came_in_alone_is_asked_about_among_those_of_a_run(stage: Stage) -> None:
    runs = bring_in(stage)
    done = do(stage, racks(stage, as_first(stage), second_rack(stage)), FLAME)
    assert done.data["runs"] == []
    assert [notice.code for notice in done.notices] == ["ingest.same-part"] * 2
    for run, notice in zip(runs, done.notices, strict=True):
        assert notice.what == f"The bytes of first.txt came in before, in flame-ware.txt: run {run} (draft)."
    assert done.notices[0].remedy.startswith("Name the files of one run only.")


@pytest.mark.usefixtures("paged")
def test_a_file_of_a_run_is_asked_about_when_it_comes_alone(stage: Stage) -> None:
    made = do(stage, racks(stage, as_first(stage), second_rack(stage)), FLAME).data["runs"]
    assert isinstance(made, list)
    done = do(stage, left_file(stage), FLAME)
    assert [notice.code for notice in done.notices] == ["ingest.same-part"] * 2
    assert f"flame-ware.txt came in before, in first.txt + second.txt: run {made[0]} (draft)." in done.notices[0].what
    left_out = do(stage, left_file(stage, stands="earlier", stands_because="it is the first rack"), FLAME)
    assert left_out.notices == ()
    assert left_out.data["runs"] == []


@pytest.mark.usefixtures("paged")
def test_a_file_of_one_run_is_asked_about_in_another(stage: Stage) -> None:
    (first, _) = cast("list[str]", do(stage, racks(stage, as_first(stage), second_rack(stage)), FLAME).data["runs"])
    again = changed(stage, (b"Day;24.11.2026", b"Day;26.11.2026"))
    parts = (Part("other.txt", read_anew(again.data, 8), 1), second_rack(stage))
    act = replace(again, data=read_anew(again.data, 7), source="other.txt + second.txt", parts=parts)
    assert codes(stage, act) == ["ingest.same-part"] * 2
    looked = do(stage, CheckFile(act.data, act.source, "", (), parts=parts), FLAME)
    assert f"Run {first} (draft) has the bytes of second.txt: `ingest` will ask which of them stands." in looked.said
    earlier = stopped(stage, replace(act, stands="earlier", stands_because="x"))
    assert earlier.code == "ingest.stands-part"
    both = replace(act, stands="both", stands_because="the standards were read for both")
    made = cast("list[str]", do(stage, both, FLAME).data["runs"])
    assert f"both stand, {first} and {made[0]}: the standards were read for both" in told(stage, made[0])
    submitted = do(stage, SubmitRuns((made[0],)), FLAME)
    assert any("the standards were read for both" in line for line in submitted.said)


@pytest.mark.usefixtures("paged")
def test_a_file_of_a_cancelled_run_asks_nothing(stage: Stage) -> None:
    for run in bring_in(stage):
        perform(stage.site, CancelRun(run, "a rack lacked"), stage.key(FLAME), stage.key(REVIEWER))
    assert do(stage, racks(stage, as_first(stage), second_rack(stage)), FLAME).data["runs"]


@pytest.mark.usefixtures("paged")
def test_files_of_their_own_ask_nothing(stage: Stage) -> None:
    bring_in(stage)
    own = Part("first.txt", read_anew(left_file(stage).data, 6), 1)
    assert do(stage, racks(stage, own, second_rack(stage)), FLAME).data["runs"]
