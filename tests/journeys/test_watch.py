"""A watched folder from the command line: once, for ever, killed and begun again."""

from __future__ import annotations

import os
import signal
from typing import TYPE_CHECKING

import pytest
from tests.journeys.commands import ANALYST, REVIEWER, finished, one_line, pipe_of

from benchseal.desk.watch_folder import DONE, REFUSED, WHY

if TYPE_CHECKING:
    from pathlib import Path

    from tests.journeys.commands import Answer, Line

NOW = ("--settle-seconds", "0")


@pytest.fixture
def inbox(line: Line, tmp_path: Path) -> Path:
    """A folder with the file the demo leaves and one nobody knows."""
    (folder := tmp_path / "instruments").mkdir()
    (folder / "flame-ware.txt").write_bytes(line.inbox("flame-ware.txt").read_bytes())
    (folder / "letter.txt").write_bytes(b"dear laboratory,\nplease find below\n")
    os.utime(folder / "flame-ware.txt", ns=(1, 1))
    return folder


def once(line: Line, inbox: Path, *more: str, by: str = ANALYST) -> Answer:
    return line("ingest", "--watch", str(inbox), "--once", *NOW, *more, by=(by,))


@pytest.mark.clause("DI Q12")
def test_once(line: Line, inbox: Path) -> None:
    answer = once(line, inbox)
    assert answer.code == 4
    assert answer.err.startswith("ingest.layout-unknown: letter.txt: ")
    assert one_line(answer.err)
    assert f"flame-ware.txt: brought in, now {inbox / DONE / 'flame-ware.txt'}" in answer.out
    assert f"letter.txt: refused, now {inbox / REFUSED / 'letter.txt'}" in answer.out
    assert (inbox / REFUSED / f"letter.txt{WHY}").is_file()
    assert line("run", "list", "--json", by=(ANALYST,)).out.count("draft") == 2
    again = once(line, inbox)
    assert (again.code, again.out, again.err) == (0, "", "")


def test_as_one_object(line: Line, inbox: Path) -> None:
    found = once(line, inbox, "--json").json
    assert [(one["name"], one["state"]) for one in found["files"]] == [
        ("flame-ware.txt", "done"),
        ("letter.txt", "refused"),
    ]


@pytest.mark.parametrize(
    ("more", "code"),
    [
        pytest.param(("--json",), "watch.beside", id="one object, never printed"),
        pytest.param(("--once", "some.txt"), "watch.beside", id="a file too"),
        pytest.param(("--once", "--stands", "both"), "watch.beside", id="a decision for all"),
        pytest.param(("--once", "--preparation", "x.csv"), "watch.beside", id="a sheet for all"),
    ],
)
def test_what_does_not_go_together(line: Line, inbox: Path, more: tuple[str, ...], code: str) -> None:
    answer = line("ingest", "--watch", str(inbox), *more, by=(ANALYST,))
    assert answer.code == 2
    found = answer.err or answer.out
    assert code in found
    assert sorted(path.name for path in inbox.iterdir()) == ["flame-ware.txt", "letter.txt"]


def test_neither_files_nor_a_folder(line: Line) -> None:
    answer = line("ingest", by=(ANALYST,))
    assert answer.code == 2
    assert answer.err.startswith("ingest.nothing: ")


@pytest.mark.parametrize("text", ["-1", "nan", "4000", "soon", "inf"])
def test_seconds_that_are_none(line: Line, inbox: Path, text: str) -> None:
    assert line("ingest", "--watch", str(inbox), "--settle-seconds", text, by=(ANALYST,)).code == 2


def test_a_folder_that_is_none(line: Line, tmp_path: Path) -> None:
    answer = once(line, tmp_path / "none")
    assert answer.code == 3  # else a unit that takes a refused file (4) as no failure would stay green
    assert answer.err.startswith("watch.no-folder: ")


def test_a_log_that_can_be_none_is_no_refused_file(line: Line, inbox: Path, tmp_path: Path) -> None:
    (tmp_path / "notes").write_text("results of the year\n", encoding="utf-8")
    for log in (tmp_path / "notes", line.site / "store.sqlite"):
        answer = once(line, inbox, "--log", str(log))
        assert (answer.code, answer.err.split(":")[0]) == (3, "watch.log")
    assert sorted(path.name for path in inbox.iterdir()) == ["flame-ware.txt", "letter.txt"]


def test_a_credential_that_is_empty_is_no_refused_file(line: Line, inbox: Path) -> None:
    answer = line("ingest", "--watch", str(inbox), "--once", "--secret-fd", str(pipe_of("")))
    assert (answer.code, answer.err.split(":")[0]) == (3, "sign-in.secret-short")
    assert sorted(path.name for path in inbox.iterdir()) == ["flame-ware.txt", "letter.txt"]


@pytest.mark.refuses("P11 11.10(g)")
def test_whoever_may_not_bring_in_is_told_before_anything_is_touched(line: Line, inbox: Path) -> None:
    answer = once(line, inbox, by=REVIEWER)
    assert answer.code == 5
    assert answer.err.startswith("act.role: ")
    assert sorted(path.name for path in inbox.iterdir()) == ["flame-ware.txt", "letter.txt"]


def test_for_ever_until_it_is_killed_then_begun_again(line: Line, inbox: Path) -> None:
    """A process of its own: it takes what is there, then what comes, and leaves a whole site when it is killed."""
    words = ("ingest", "--watch", str(inbox), *NOW, "--every-seconds", "0.05")
    process = line.start(*words, by=(ANALYST,))
    assert process.stdout is not None
    assert process.stderr is not None
    said = ""
    while "letter.txt: refused" not in said:
        said += (text := process.stdout.readline().decode())
        assert text, process.stderr.read()
    mercury = line.inbox("vapour-mercury.csv").read_bytes()
    (inbox / "mercury.part").write_bytes(mercury)
    (inbox / "mercury.part").rename(inbox / "mercury.csv")
    while "mercury.csv: was in before, nothing brought in" not in said:  # the same bytes as in the demo: here already
        said += (text := process.stdout.readline().decode())
        assert text, process.stderr.read()
    process.send_signal(signal.SIGKILL)
    assert finished(process).code == -signal.SIGKILL
    assert "ingest.already" in said
    assert line("verify", "--all").code == 0
    assert sorted(path.name for path in (inbox / DONE).iterdir()) == ["flame-ware.txt", "mercury.csv"]
    assert once(line, inbox).code == 0


@pytest.mark.parametrize("name", ["done", "in-work"])
def test_a_file_that_stands_where_the_watch_keeps_a_folder_is_named(line: Line, inbox: Path, name: str) -> None:
    (inbox / name).write_bytes(b"a list of what is done\n")
    os.utime(inbox / name, ns=(2**62, 2**62))  # the last to be looked at
    (inbox / "again.csv").write_bytes(line.inbox("vapour-mercury.csv").read_bytes())
    answer = once(line, inbox)
    assert answer.code == 75
    where = f"{inbox / name}: a file is named '{name}', and the watch keeps a folder of that name"
    assert f"watch.away: {where}" in answer.err
    (inbox / name).rename(inbox / "other.txt")
    assert "watch.away" not in once(line, inbox).err


def test_a_folder_that_goes_away_is_told_once_and_comes_back(
    line: Line, inbox: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    away = inbox.with_name("away")
    moves = iter([(inbox, away), None, (away, inbox), None])

    def between(_: float) -> None:
        try:
            move = next(moves)
        except StopIteration:
            raise KeyboardInterrupt from None
        if move is not None:
            move[0].rename(move[1])

    monkeypatch.setattr("time.sleep", between)
    answer = line("ingest", "--watch", str(inbox), *NOW, by=(ANALYST,))
    assert answer.code == 130
    lines = [text for text in answer.err.splitlines() if str(inbox) in text]
    assert [text.partition(" ")[0] for text in lines] == ["watch.away:", f"{inbox}:"]
