"""The log of reads: a line before anything is shown, each day's digest in the ledger, and every later change found."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from benchseal.desk.acts_people import UnlockPerson
from benchseal.desk.checking import verify_site
from benchseal.desk.read_log import WantedReads, find_reads, log_lines, note_read
from benchseal.desk.reading import all_entries
from benchseal.desk.site import open_site
from benchseal.problems import Finding, Stopped, Trouble
from benchseal.upkeep.backup import make_backup
from benchseal.upkeep.doctor import examine
from benchseal.upkeep.restore import unpacked

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.conftest import Bench

    from benchseal.desk.read_log import Logged
    from benchseal.records.entries import Entry

LOG = "reads-2026.jsonl"
MARCH = {day: datetime(2026, 3, day, 9, 0, tzinfo=UTC) for day in range(2, 9)}


def look(bench: Bench, run: str, person: str = "p-ana.keel") -> None:
    assert note_read(bench.site, person, "password", "run show", [f"run={run}"]) is None


def act(bench: Bench) -> None:
    bench.do(UnlockPerson("p-ana.keel", "she asked"), "emil")


def noted(bench: Bench) -> list[Entry]:
    with bench.site.store.reading() as view:
        return [entry for entry in all_entries(view) if entry.kind == "reads.noted"]


def lines(bench: Bench, wanted: WantedReads | None = None) -> list[Logged]:
    with bench.site.store.reading() as view:
        return list(log_lines(view, bench.site) if wanted is None else find_reads(view, bench.site, wanted))


def found(bench: Bench) -> list[Finding]:
    return [one for one in verify_site(bench.site).findings if one.code == "integrity.read-log"]


@pytest.fixture
def three_days(bench: Bench) -> Bench:
    """Two reads on each of three days; the ledger notes the first two, as an act on the third comes after them."""
    for day in (3, 4, 5):
        bench.clock.now = MARCH[day]
        look(bench, f"R-0000{day}")
        look(bench, f"R-0001{day}", "p-ben.marsh")
    act(bench)
    return bench


def test_the_secret_of_a_token_is_masked_wherever_it_was_given(bench: Bench) -> None:
    secret = "EZq5-" + "a_" * 19
    failed = note_read(bench.site, "p-ana.keel", "password", f"x SY-00005.{secret}", [f"text=see SY-00005.{secret},"])
    assert failed is None
    (line,) = lines(bench)
    assert line.read is not None
    assert (line.read.command, line.read.asked) == ("x SY-00005.…", ("text=see SY-00005.…,",))


@pytest.mark.clause("A11d 12.1")
def test_the_first_act_of_a_later_day_notes_each_day_before_it(three_days: Bench) -> None:
    entries = noted(three_days)
    assert [(entry.subject, entry.actor, entry.facts["lines"]) for entry in entries] == [
        ("reads/2026-03-03", "program", 2),
        ("reads/2026-03-04", "program", 2),
    ]
    assert entries[0].facts["ends"] == entries[1].facts["begins"]
    assert [one.entry for one in lines(three_days)] == [entries[0].seq] * 2 + [entries[1].seq] * 2 + [0] * 2
    assert verify_site(three_days.site).findings == ()


def test_a_second_act_of_the_day_notes_nothing_and_the_next_day_only_what_is_new(three_days: Bench) -> None:
    act(three_days)
    assert len(noted(three_days)) == 2
    three_days.clock.now = MARCH[6]
    act(three_days)
    assert [entry.subject for entry in noted(three_days)][2:] == ["reads/2026-03-05"]
    assert verify_site(three_days.site).findings == ()


def test_a_site_nobody_reads_has_no_log_and_no_entry(bench: Bench) -> None:
    act(bench)
    assert noted(bench) == []
    assert not list(bench.site.folder.glob("reads-*"))


def test_a_year_has_its_file(bench: Bench) -> None:
    bench.clock.now = datetime(2026, 12, 31, 23, 0, tzinfo=UTC)
    look(bench, "R-00001")
    bench.clock.now = datetime(2027, 1, 1, 1, 0, tzinfo=UTC)
    look(bench, "R-00002")
    act(bench)
    assert sorted(path.name for path in bench.site.folder.glob("reads-*.jsonl")) == [LOG, "reads-2027.jsonl"]
    assert [entry.facts["file"] for entry in noted(bench)] == [LOG]
    assert verify_site(bench.site).findings == ()


@pytest.mark.parametrize(
    ("wanted", "runs"),
    [
        (WantedReads(who="ben.marsh"), ["13", "14", "15"]),
        (WantedReads(since="2026-03-05"), ["05", "15"]),
        (WantedReads(until="2026-03-03"), ["03", "13"]),
        (WantedReads(text="r-00014"), ["14"]),
        (WantedReads(who="p-ana.keel", since="2026-03-04", text="run show"), ["04", "05"]),
        (WantedReads(who="nobody"), []),
    ],
)
def test_every_field_narrows_what_is_found(three_days: Bench, wanted: WantedReads, runs: list[str]) -> None:
    assert [one.read.asked[0][-2:] for one in lines(three_days, wanted) if one.read] == runs


ATTACKS: dict[str, Callable[[bytes], bytes]] = {
    "a person exchanged": lambda data: data.replace(b"p-ana.keel", b"p-ben.marsh", 1),
    "one letter": lambda data: data.replace(b"R-00013", b"R-00018"),
    "a line taken out": lambda data: b"".join(data.splitlines(keepends=True)[1:]),
    "a line put in": lambda data: data.splitlines(keepends=True)[0] + data,
    "two lines exchanged": lambda data: b"".join(sorted(data.splitlines(keepends=True), reverse=True)),
    "the end cut off": lambda data: data[: len(data) // 2],
    "emptied": lambda _: b"",
}


@pytest.mark.refuses("A11d 12.1", "P11 11.10(e)")
@pytest.mark.parametrize("attack", ATTACKS)
def test_a_change_of_a_noted_day_is_found_and_named(three_days: Bench, attack: str) -> None:
    path = three_days.site.folder / LOG
    path.write_bytes(ATTACKS[attack](path.read_bytes()))
    findings = found(three_days)
    assert findings
    assert all(one.where == LOG and "2026-03-0" in one.what for one in findings)
    assert [one for one in examine(three_days.site) if one.code == "integrity.read-log"] == findings


@pytest.mark.refuses("A11d 12.1")
def test_a_log_that_is_gone_is_found(three_days: Bench) -> None:
    (three_days.site.folder / LOG).unlink()
    (finding,) = found(three_days)
    assert "notes 4 lines" in finding.what
    assert [one.where for one in examine(three_days.site) if one.code == "integrity.read-log"] == [LOG]


def test_a_change_of_today_does_not_show_yet_and_the_list_says_so(three_days: Bench) -> None:
    """What the manual says it cannot do: until the ledger notes a day, its lines are only a file."""
    path = three_days.site.folder / LOG
    path.write_bytes(path.read_bytes().replace(b"R-00015", b"R-00099"))
    assert found(three_days) == []
    assert [one.entry for one in lines(three_days)][4:] == [0, 0]


def test_a_line_cut_short_is_kept_apart_shown_and_noted(bench: Bench) -> None:
    bench.clock.now = MARCH[3]
    look(bench, "R-00001")
    path = bench.site.folder / LOG
    path.write_bytes(path.read_bytes()[:-9])  # the power went while it was written
    look(bench, "R-00002")
    assert [one.read is None for one in lines(bench)] == [True, False]
    assert [one.number for one in lines(bench, WantedReads(text="R-00002"))] == [
        1,
        2,
    ]  # one nobody can read always shows
    bench.clock.now = MARCH[4]
    act(bench)
    assert sum(int(str(entry.facts["lines"])) for entry in noted(bench)) == 2
    assert found(bench) == []


def test_a_line_that_cannot_be_written_stops_no_read_and_is_said(bench: Bench) -> None:
    (bench.site.folder / LOG).mkdir()
    failed = note_read(bench.site, "p-ana.keel", "session", "run show", ["run=R-00001"])
    assert isinstance(failed, Trouble)
    assert failed.code == "reads.not-noted"
    with pytest.raises(Stopped, match=r"reads\.unreadable"):
        lines(bench)
    bench.clock.now = MARCH[4]
    act(bench)  # and stops no act


def test_a_clock_that_goes_back_breaks_nothing(three_days: Bench) -> None:
    three_days.clock.now = MARCH[3]
    look(three_days, "R-00077")
    act(three_days)
    three_days.clock.now = MARCH[7]
    act(three_days)
    assert sum(int(str(entry.facts["lines"])) for entry in noted(three_days)) == 7
    assert found(three_days) == []


def test_what_is_asked_is_cut_where_it_is_long(bench: Bench) -> None:
    note_read(bench.site, "p-ana.keel", "password", "ledger find", ["text=" + "x" * 5000])
    assert len((bench.site.folder / LOG).read_bytes()) < 1000


@pytest.mark.clause("A11 7.2")
def test_a_backup_holds_the_log_and_one_without_it_is_found(three_days: Bench, tmp_path: Path) -> None:
    make_backup(three_days.site, tmp_path / "b.zip")
    with unpacked(tmp_path / "b.zip") as (again, _):
        assert (again.folder / LOG).read_bytes() == (three_days.site.folder / LOG).read_bytes()
        assert verify_site(again).findings == ()
        (again.folder / LOG).unlink()
        assert [one.code for one in verify_site(again).findings] == ["integrity.read-log"]


def test_a_derived_row_changed_with_the_log_does_not_hide_it(three_days: Bench) -> None:
    """Whoever also changes the row of the day is found by the replay."""
    import sqlite3  # noqa: PLC0415
    from contextlib import closing  # noqa: PLC0415

    from benchseal.records.canonical import digest  # noqa: PLC0415

    path = three_days.site.folder / LOG
    path.write_bytes(path.read_bytes().replace(b"R-00003", b"R-00004"))
    first = noted(three_days)[0].facts
    new = digest(path.read_bytes()[: int(str(first["ends"]))])
    with closing(sqlite3.connect(three_days.site.folder / "store.sqlite")) as store:
        store.execute("UPDATE reads_noted SET sha256 = ? WHERE day = '2026-03-03'", (new,))
        store.commit()
    site = replace(three_days.site, store=open_site(three_days.site.folder).store)
    assert [one.code for one in verify_site(site).findings] == ["integrity.derived-row"]
    site.store.close()
