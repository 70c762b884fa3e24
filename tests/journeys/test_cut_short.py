"""Full disks, read-only folders, kills and races: what was said to be done is there whole, the rest is not there."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import event
from tests.journeys.commands import ANALYST, APPROVER, REVIEWER, SECOND_APPROVER, Line, finished, kept, one_line

from benchseal.desk import sealing

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.demo.play import Played

POSIX = pytest.mark.skipif(os.name == "nt", reason="SIGKILL is a POSIX signal")
MEBIBYTE = 1024 * 1024


def brought_in(line: Line) -> list[str]:
    """Two draft runs of the file the demo leaves."""
    came = line("ingest", str(line.inbox("flame-ware.txt")), "--json", by=(ANALYST,))
    return [str(run) for run in came.json["files"][0]["runs"]]


def states(line: Line, runs: list[str]) -> set[str]:
    return {state for run, state in line.rows("SELECT run, state FROM run") if run in runs}


def approved(line: Line) -> str:
    """The number of a certificate of lot C-1 that waits for its release."""
    runs = brought_in(line)
    assert line("run", "submit", *runs, by=(ANALYST,)).code == 0
    assert line("run", "accept", *runs, by=(REVIEWER,)).code == 0
    number = str(line("certificate", "draft", "C-1", "--json", by=(ANALYST,)).json["number"])
    assert line("certificate", "approve", number, by=(APPROVER,)).code == 0
    return number


# ------------------------------------------------------------------ disks


@pytest.fixture
def small(
    played: Played, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Iterator[Line]:
    """The site on a file system of its own, of 8 MiB; skipped where this account may not mount one."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(disk)]
    if shutil.which("mount") is None or subprocess.run(command, capture_output=True, check=False).returncode:  # noqa: S603
        pytest.skip("no file system can be mounted here; the injected full disk is tested in any case")
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    try:
        shutil.copytree(played.site.folder, disk / "site")
        yield Line(disk / "site", capsys)
    finally:
        subprocess.run(["umount", str(disk)], check=True)  # noqa: S603, S607


def fill(disk: Path, spare: int) -> Path:
    """A file that takes all room but ``spare`` bytes."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as file:
        while (room := shutil.disk_usage(disk).free - spare) > 0:
            file.write(bytes(min(room, MEBIBYTE)))
    return filler


@pytest.mark.refuses("A11 16")
def test_a_full_disk_while_signing_changes_nothing(small: Line) -> None:
    runs = brought_in(small)
    before = small.kept()
    filler = fill(small.site.parent, 0)
    answer = small("run", "submit", *runs, by=(ANALYST,))
    assert answer.code == 75
    assert one_line(answer.err)
    assert answer.err.startswith("store.disk-full")
    filler.unlink()
    assert small.kept() == before
    assert states(small, runs) == {"draft"}
    assert small("verify", "--all").code == 0
    assert small("run", "submit", *runs, by=(ANALYST,)).code == 0


@pytest.mark.clause("A11 16")
def test_a_full_disk_while_sealing_is_resumed_without_a_password(small: Line, monkeypatch: pytest.MonkeyPatch) -> None:
    number = approved(small)
    before = small.kept()
    on_record = sealing._put_on_record  # noqa: SLF001  the step that stores the sealed file

    def on_a_full_disk(*given: Any) -> None:  # noqa: ANN401  whatever the step takes
        fill(small.site.parent, 0)
        on_record(*given)

    with monkeypatch.context() as patch:
        patch.setattr(sealing, "_put_on_record", on_a_full_disk)
        answer = small("certificate", "release", number, by=(SECOND_APPROVER,))
    assert answer.code == 75
    assert one_line(answer.err)
    (small.site.parent / "filler").unlink()
    assert small.kept() == (before.entries + 1, before.objects + 1)  # the signed release and its evidence
    assert small.rows(f"SELECT state FROM certificate WHERE number = '{number}'") == [("sealing",)]  # noqa: S608
    assert small("verify", "--all").code == 0
    assert small("certificate", "release", number).code == 0
    assert small("verify", str(small.site / "certificates" / f"{number}.pdf")).out.startswith("GENUINE")


@POSIX
def test_a_folder_that_can_only_be_read(small: Line) -> None:
    runs = brought_in(small)
    assert small("sign-in", by=(ANALYST,)).code == 0
    before = small.kept()
    remount = ["mount", "-o", "remount,ro", str(small.site.parent)]
    subprocess.run(remount, check=True, capture_output=True)  # noqa: S603
    for read in (("run", "list"), ("verify", "--all")):
        answer = small(*read)
        assert answer.code == 0
        assert answer.err.startswith("reads.not-noted: ")  # the read goes on, and says that nobody will know of it
        assert one_line(answer.err)
    pdf = next((small.site / "certificates").iterdir())
    assert small("verify", str(pdf)).code == 0
    for words, by, noted in ((("run", "submit", *runs), (ANALYST,), 0), (("ledger", "checkpoint"), (), 1)):
        answer = small(*words, by=by)
        assert answer.code == 75
        *lines, last = answer.err.splitlines(keepends=True)
        assert [line.partition(":")[0] for line in lines] == ["reads.not-noted"] * noted
        assert one_line(last)
    assert small.kept() == before


@pytest.mark.parametrize("room", [0, 4, 16], ids="{} pages".format)
def test_a_store_that_cannot_grow_keeps_what_it_has(line: Line, monkeypatch: pytest.MonkeyPatch, room: int) -> None:
    """The database's own limit stands for a full disk where none can be mounted."""
    from benchseal.store import connections, sqlite  # noqa: PLC0415

    runs = brought_in(line)
    before = line.kept()
    made = connections.file_engine

    def limited(path: Path) -> object:
        engine = made(path)
        pages = line.rows("PRAGMA page_count")[0][0]
        event.listen(engine, "connect", lambda raw, _: raw.execute(f"PRAGMA max_page_count = {pages + room}"))
        return engine

    with monkeypatch.context() as patch:
        patch.setattr(sqlite, "file_engine", limited)
        answer = line("run", "submit", *runs, by=(ANALYST,))
    if answer.code:
        assert answer.code == 75
        assert answer.err.startswith("store.disk-full")
        assert one_line(answer.err)
        assert line.kept() == before
        assert states(line, runs) == {"draft"}
    assert room or answer.code
    assert line("verify", "--all").code == 0


# ------------------------------------------------------------------ kills


KILLED = """
import os, signal, sys
from benchseal.cli import main
from benchseal.desk import sealing
from benchseal.store.sqlite import SqliteWriting

def die(*_):
    os.kill(os.getpid(), signal.SIGKILL)

step = sys.argv.pop(1)
if step == "append":
    append = SqliteWriting.append
    SqliteWriting.append = lambda self, entry: (append(self, entry), die())
elif step == "keep":
    SqliteWriting.keep = die
else:
    setattr(sealing, {"render": "rendered", "record": "_put_on_record", "copy": "write_copy"}[step], die)
sys.exit(main(sys.argv[1:]))
"""


def killed(line: Line, step: str, *words: str, by: str) -> None:
    """One command that is killed at ``step``."""
    command = [sys.executable, "-c", KILLED, step, *words, "--site", str(line.site), "--secret-fd", "0"]
    text = "".join(f"{each}\n" for each in line.secrets(by)).encode()
    ran = subprocess.run(command, input=text, capture_output=True, check=False)  # noqa: S603
    assert ran.returncode == -signal.SIGKILL, ran.stderr


@pytest.mark.clause("PI041 enduring")
@pytest.mark.refuses("PI041 enduring", "A11 16")
@POSIX
@pytest.mark.parametrize("step", ["keep", "append"])
def test_killed_while_signing(line: Line, step: str) -> None:
    runs = brought_in(line)
    before = line.kept()
    killed(line, step, "run", "submit", *runs, by=ANALYST)
    assert line.kept() == before
    assert states(line, runs) == {"draft"}
    assert line("verify", "--all").code == 0
    assert line("run", "submit", *runs, by=(ANALYST,)).code == 0
    assert states(line, runs) == {"submitted"}


@pytest.mark.clause("A11 16")
@POSIX
@pytest.mark.parametrize("step", ["render", "record", "copy"])
def test_killed_while_releasing_and_resumed_without_a_password(line: Line, step: str) -> None:
    number = approved(line)
    pdf = line.site / "certificates" / f"{number}.pdf"
    killed(line, step, "certificate", "release", number, by=SECOND_APPROVER)
    assert not pdf.exists()
    assert line("verify", "--all").code == 0
    resumed = line("certificate", "release", number, "--json")
    assert resumed.code == 0, resumed.err
    assert resumed.json["state"] == "released"
    assert line("verify", str(pdf)).out.startswith("GENUINE")
    done = line.kept()
    assert line("certificate", "release", number, by=(SECOND_APPROVER,)).code == 5
    assert line.kept() == done
    assert line("verify", "--all").code == 0


# ------------------------------------------------------------------ two at once


@pytest.mark.refuses("P11 11.10(f)")
def test_two_processes_sign_the_same_runs_and_one_wins(line: Line) -> None:
    runs = brought_in(line)
    before = line.kept()
    started = [line.start("run", "submit", *runs, by=(ANALYST,)) for _ in range(2)]
    answers = sorted((finished(process) for process in started), key=lambda answer: answer.code)
    assert [answer.code for answer in answers] == [0, 5]
    assert answers[1].out == ""
    assert {part.partition(":")[0] for part in answers[1].err.splitlines()} == {"run.wrong-state"}
    assert line.kept().entries == before.entries + len(runs)
    assert line("verify", "--all").code == 0


def test_two_processes_bring_in_the_same_file_and_one_makes_the_runs(line: Line) -> None:
    before = line.kept()
    file = str(line.inbox("flame-ware.txt"))
    started = [line.start("ingest", file, by=(ANALYST,)) for _ in range(2)]
    answers = sorted((finished(process) for process in started), key=lambda answer: answer.err)
    assert [answer.code for answer in answers] == [0, 0]  # for the second there is nothing to do
    assert answers[0].err == ""
    assert answers[1].err.startswith("ingest.already")
    assert kept(line.site).entries == before.entries + 2


@pytest.mark.refuses("A11 5")
def test_two_exporters_at_once_make_one_delivery(line: Line, tmp_path: Path) -> None:
    text = line("document", "show", "comma-utf8", by=(ANALYST,)).out
    (tmp_path / "second.yaml").write_text(text.replace("id: comma-utf8", "id: second"), encoding="utf-8")
    assert line("document", "add", str(tmp_path / "second.yaml"), by=(ANALYST,)).code == 0
    assert line("document", "approve", "second", by=(APPROVER,)).code == 0
    (tmp_path / "there").mkdir()
    words = ("export", "run", "second", "--to", str(tmp_path / "there"))
    answers = [finished(process) for process in [line.start(*words, by=(APPROVER,)) for _ in range(2)]]
    assert [answer.code for answer in answers] == [0, 0], [answer.err for answer in answers]
    made = line.rows("SELECT file, state FROM delivery WHERE profile = 'second'")
    assert [state for _, state in made] == ["done"]
    kinds = line.rows("SELECT json_extract(body, '$.kind') FROM ledger WHERE seq > (SELECT max(seq) - 2 FROM ledger)")
    assert sorted(kind for (kind,) in kinds) == ["delivery.done", "delivery.planned"]
    assert not [path for path in (tmp_path / "there").iterdir() if path.name.endswith(".part")]
    assert (tmp_path / "there" / made[0][0]).is_file()
    assert line("verify", "--all").code == 0
