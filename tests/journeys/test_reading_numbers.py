"""A counter of readings in the demo's file of mercury: gaps, copies, explanations, review. All invented."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from tests.journeys.test_demo import ANALYST, APPROVER, REVIEWER

from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.acts_runs import AcceptRuns, CancelRun, IngestFile, RecalculateRun, SubmitRuns
from benchseal.desk.checking import verify_site
from benchseal.desk.perform import perform
from benchseal.desk.reading import load
from benchseal.problems import Stopped
from benchseal.records.entries import read_entry
from benchseal.records.results import RunWork
from benchseal.records.run import Run
from benchseal.shipped import starter

if TYPE_CHECKING:
    from tests.conftest import Stage

SOURCE = "vapour-mercury.csv"
_ROW = re.compile(r"^\d+,[^,]+,[^,]+,", re.MULTILINE)


def layout(counts: str = "running") -> bytes:
    text = starter("layouts/comma-list.yaml")
    column = "    - {header: Time, means: taken_at}\n"
    assert column in text
    text = text.replace(column, column + "    - {header: Count, means: reading_number, needed: false}\n")
    return (text if counts == "running" else f"{text}reading_numbers: {counts}\n").encode()


def plain(stage: Stage) -> str:
    return (stage.site.folder / "inbox" / SOURCE).read_bytes().decode("utf-8").replace("\r\n", "\n")


def numbered(
    stage: Stage, first: int, minute: int, *, without: tuple[int, ...] = (), change: tuple[str, str] = ("", "")
) -> bytes:
    """The demo's file begun at 08:``minute``, with a column of numbers from ``first`` on, those named left out.

    Each minute has readings of its own: every signal is higher by 0.2 per cent for each.
    """
    rows, number = [], first
    for line in re.sub(r"(?m)^(Begun,\S+ )\S+", rf"\g<1>08:{minute:02}:00", plain(stage)).splitlines():
        if line.startswith("Place,"):
            rows.append(f"{line},Count")
        elif _ROW.match(line):
            while number in without:
                number += 1
            cells = line.split(",")
            cells[6] = f"{float(cells[6]) * (1 + 0.002 * minute):.4f}"
            rows.append(f"{','.join(cells)},{number}")
            number += 1
        else:
            rows.append(line)
    text = "\n".join(rows) + "\n"
    return text.replace(*change).encode() if change[0] else text.encode()


def count_of(stage: Stage) -> int:
    return len(_ROW.findall(plain(stage)))


def ready(stage: Stage, counts: str = "running") -> int:
    """The layout is in force; how many readings the file has."""
    added = perform(stage.site, AddDocument(layout(counts), "layout.yaml"), stage.key(ANALYST)).data
    seen = counts != "running"  # a counter that may begin again is a guard less: somebody looked at that
    perform(stage.site, ApproveDocument(f"{added['kind']}/{added['id']}", looked_at=seen), stage.key(APPROVER))
    return count_of(stage)


def came_in(stage: Stage, data: bytes, name: str, because: str = "", *, beside: bool = False) -> str:
    """The run of a file; beside: of one that is here already, as somebody says who lets both stand."""
    decided: dict[str, Any] = {"stands": "both", "stands_because": "to see what the numbers tell"} if beside else {}
    done = perform(stage.site, IngestFile(data, name, "", (), (), because, **decided), stage.key(ANALYST))
    assert done.data["runs"], done.notices
    return str(done.data["runs"][0])  # type: ignore[index]


def about_numbers(stage: Stage, run: str) -> list[str]:
    return [text for text in work_of(stage, run).findings if "reading number" in text or "readings (number" in text]


def work_of(stage: Stage, run: str) -> RunWork:
    found = _load(stage, run, RunWork, "work")
    assert isinstance(found, RunWork)
    return found


def bound_of(stage: Stage, run: str) -> Run:
    found = _load(stage, run, Run, "bound")
    assert isinstance(found, Run)
    return found


def _load(stage: Stage, run: str, kind: Any, column: str) -> Any:  # noqa: ANN401  a record
    with stage.site.store.reading() as view:
        row = view.row("run", run=run)
        assert row is not None
        return load(view, kind, row[column])


def line_of(data: bytes, number: int) -> int:
    return next(nth for nth, line in enumerate(data.decode().splitlines(), 1) if line.endswith(f",{number}"))


def test_files_that_follow_each_other_leave_nothing_open(stage: Stage) -> None:
    count = ready(stage)
    one = came_in(stage, numbered(stage, 101, 10), "one.txt")
    two = came_in(stage, numbered(stage, 101 + count, 20), "two.txt")
    assert about_numbers(stage, one) == about_numbers(stage, two) == []
    assert bound_of(stage, two).document.readings.number[0] == str(101 + count)
    assert bound_of(stage, two).number_gaps == ()
    assert verify_site(stage.site).findings == ()


def test_a_file_without_the_column_is_read_as_before(stage: Stage) -> None:
    ready(stage)
    data = plain(stage).replace("Begun,", "Begun,", 1).replace("Bench,", "Bench,the same ", 1).encode()
    run = came_in(stage, data, "none.txt", beside=True)
    assert bound_of(stage, run).document.readings.number == ()
    assert about_numbers(stage, run) == []


def test_readings_left_out_before_export_are_named_with_their_lines(stage: Stage) -> None:
    ready(stage)
    data = numbered(stage, 1, 10, without=(5, 9, 10))
    run = came_in(stage, data, "one.txt")
    assert about_numbers(stage, run) == [
        f"reading number 5 is missing between lines {line_of(data, 4)} and {line_of(data, 6)}",
        f"reading numbers 9 to 10 are missing between lines {line_of(data, 8)} and {line_of(data, 11)}",
    ]


def test_a_gap_between_files_then_the_file_that_closes_it(stage: Stage) -> None:
    count = ready(stage)
    one = came_in(stage, numbered(stage, 1, 10), "one.txt")
    data = numbered(stage, 1 + 2 * count, 30)
    three = came_in(stage, data, "three.txt")
    line = line_of(data, 1 + 2 * count)
    gap = f"reading numbers {count + 1} to {2 * count} are missing between {one} and line {line}"
    assert about_numbers(stage, three) == [gap]
    two = came_in(stage, numbered(stage, 1 + count, 20), "two.txt")
    assert about_numbers(stage, two) == [], "it fits on both sides, whatever the order in which files came"
    perform(stage.site, RecalculateRun(three, "look again"), stage.key(ANALYST))
    assert about_numbers(stage, three) == [gap], "what was found when the file came in stays"
    why = f"{two} came in later"
    perform(stage.site, RecalculateRun(three, "gap explained", why), stage.key(ANALYST))
    assert about_numbers(stage, three) == [f"{gap}; explained by {ANALYST}: {why}"]
    with pytest.raises(Stopped) as stop:
        perform(stage.site, RecalculateRun(three, "again", "another reason"), stage.key(ANALYST))
    assert [notice.code for notice in stop.value.notices] == ["run.no-gap"]
    perform(stage.site, RecalculateRun(three, "once more"), stage.key(ANALYST))
    assert about_numbers(stage, three) == [f"{gap}; explained by {ANALYST}: {why}"]
    assert verify_site(stage.site).findings == ()


def test_a_file_between_two_leaves_gaps_on_both_sides(stage: Stage) -> None:
    count = ready(stage)
    one = came_in(stage, numbered(stage, 1, 10), "one.txt")
    three = came_in(stage, numbered(stage, 1 + 3 * count, 30), "three.txt", "the lamp was tried out")
    data = numbered(stage, 11 + count, 20)
    two = came_in(stage, data, "two.txt")
    first, last = 11 + count, 10 + 2 * count
    assert about_numbers(stage, two) == [
        f"reading numbers {count + 1} to {count + 10} are missing between {one} and line {line_of(data, first)}",
        f"reading numbers {last + 1} to {3 * count} are missing between line {line_of(data, last)} and {three}",
    ]


def test_a_counter_set_back_is_explained_and_does_not_block_review(stage: Stage) -> None:
    ready(stage)
    one = came_in(stage, numbered(stage, 5001, 10), "one.txt")
    data = numbered(stage, 1, 20)
    two = came_in(stage, data, "two.txt", "  new lamp, counter set to 1  ")
    last = 5000 + count_of(stage)
    fell = f"the reading numbers fall from {last} ({one}) to 1 (line {line_of(data, 1)})"
    why = "the counter was set back in between, or a time is wrong"
    assert about_numbers(stage, two) == [f"{fell}: {why}; explained by {ANALYST}: new lamp, counter set to 1"]
    with stage.site.store.reading() as view:
        entries = [read_entry(body) for _, body, _, _ in view.entries()]
    assert [one.reason for one in entries if one.subject == f"run/{two}"] == ["new lamp, counter set to 1"]
    perform(stage.site, SubmitRuns((two,)), stage.key(ANALYST))
    perform(stage.site, AcceptRuns((two,)), stage.key(REVIEWER))


def test_an_explanation_without_a_gap_is_said_not_to_be_kept(stage: Stage) -> None:
    ready(stage)
    done = perform(stage.site, IngestFile(numbered(stage, 1, 10), "one.txt", "", (), (), "no need"), stage.key(ANALYST))
    assert any("is not kept" in line for line in done.said)
    with stage.site.store.reading() as view:
        entries = [read_entry(body) for _, body, _, _ in view.entries()]
    assert entries[-1].reason == ""


def test_the_same_readings_under_another_name(stage: Stage) -> None:
    count = ready(stage)
    one = came_in(stage, numbered(stage, 1, 10), "one.txt")
    came_in(stage, numbered(stage, 1 + count, 20), "two.txt")
    data = numbered(stage, 1, 10, change=("Bench,", "Bench,copied "))
    copy = came_in(stage, data, "one-again.txt", beside=True)
    lines = f"lines {line_of(data, 1)} to {line_of(data, count)}"
    twice = "with the same signals: the same readings are here twice"
    assert about_numbers(stage, copy) == [
        f"{count} readings (numbers 1 to {count}, {lines}) stand in {one} too, {twice}"
    ]


def test_the_same_readings_under_another_time_are_found_further_away(stage: Stage) -> None:
    count = ready(stage)
    one = came_in(stage, numbered(stage, 1, 10), "one.txt")
    two = came_in(stage, numbered(stage, 1 + count, 20), "two.txt")
    data = numbered(stage, 1, 10, change=(" 08:10:00", " 08:30:00"))
    copy = came_in(stage, data, "later.txt", beside=True)
    found = about_numbers(stage, copy)
    assert len(found) == 2
    assert found[0].startswith(f"the reading numbers fall from {2 * count} ({two}) to 1 ")
    assert found[1].startswith(f"{count} readings (numbers 1 to {count}, ")
    assert f"stand in {one} too, with the same signals" in found[1]


def test_the_same_numbers_with_another_signal(stage: Stage) -> None:
    ready(stage)
    first = numbered(stage, 1, 10)
    one = came_in(stage, first, "one.txt")
    row = next(line for line in first.decode().splitlines() if line.endswith(",7"))
    cells = row.split(",")
    cells[6] = f"{float(cells[6]) + 0.0001:.4f}"
    changed = first.decode().replace(row, ",".join(cells)).encode()
    (found,) = about_numbers(stage, came_in(stage, changed, "changed.txt", beside=True))
    assert f"stand in {one} too, 1 with another signal there: " in found
    assert found.endswith("one of the two files was changed")


def test_a_run_cancelled_and_exported_again_is_no_copy_but_a_changed_signal_is_seen(stage: Stage) -> None:
    ready(stage)
    first = numbered(stage, 1, 10)
    one = came_in(stage, first, "one.txt")
    perform(stage.site, CancelRun(one, "wrong note"), stage.key(ANALYST), stage.key(REVIEWER))
    again = came_in(stage, first.replace(b"Bench,", b"Bench,noted "), "again.txt")
    assert about_numbers(stage, again) == []
    perform(stage.site, CancelRun(again, "wrong note"), stage.key(ANALYST), stage.key(REVIEWER))
    row = next(line for line in first.decode().splitlines() if line.endswith(",7"))
    cells = row.split(",")
    cells[6] = f"{float(cells[6]) + 0.0001:.4f}"
    third = came_in(stage, first.replace(row.encode(), ",".join(cells).encode()), "third.txt")
    found = about_numbers(stage, third)
    assert len(found) == 2, "cancelled runs are looked at too where a signal differs"
    assert all(" too, 1 with another signal there: " in text for text in found)


@pytest.mark.parametrize("counts", ["each_file", "each_section"])
def test_a_counter_that_begins_again_with_each_file(stage: Stage, counts: str) -> None:
    ready(stage, counts)
    one = came_in(stage, numbered(stage, 1, 10), "one.txt")
    data = numbered(stage, 4, 20)
    two = came_in(stage, data, "two.txt")
    assert about_numbers(stage, one) == []
    assert about_numbers(stage, two) == [f"reading numbers 1 to 3 are missing before line {line_of(data, 4)}"]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        pytest.param(",7", ",6", "ingest.reading-number-order", id="a number twice"),
        pytest.param(",7", ",2", "ingest.reading-number-order", id="a number that falls"),
        pytest.param(",7", ",", "ingest.reading-number", id="no number"),
        pytest.param(",7", ",seven", "ingest.reading-number", id="a word"),
        pytest.param(",7", ",7.5", "ingest.reading-number", id="no whole number"),
        pytest.param(",7", ",-7", "ingest.reading-number", id="below zero"),
        pytest.param(",7", ",1234567890123", "ingest.reading-number", id="too long"),
    ],
)
def test_numbers_that_are_none(stage: Stage, old: str, new: str, code: str) -> None:
    ready(stage)
    data = numbered(stage, 1, 10)
    row = next(line for line in data.decode().splitlines() if line.endswith(old))
    wrong = data.decode().replace(row, row.removesuffix(old) + new).encode()
    done = perform(stage.site, IngestFile(wrong, "wrong.txt", "", ()), stage.key(ANALYST))
    assert done.data["runs"] == []
    assert {notice.code for notice in done.notices} == {code}
    assert all(f"line {line_of(data, 7)}" in notice.where for notice in done.notices[:1])


def test_leading_zeros_say_the_same(stage: Stage) -> None:
    ready(stage)
    data = numbered(stage, 1, 10)
    row = next(line for line in data.decode().splitlines() if line.endswith(",7"))
    run = came_in(stage, data.decode().replace(row, row.removesuffix("7") + "0007").encode(), "zeros.txt")
    assert bound_of(stage, run).document.readings.number[6] == "7"
