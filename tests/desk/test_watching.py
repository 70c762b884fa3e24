"""A watched folder: finished files come in once, refused ones lie aside with their reason, wherever it was stopped."""

from __future__ import annotations

import os
import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest
from tests.desk.putting import FLAME, LEFT, REVIEWER, entries, left_file, read_anew

from benchseal.desk.acts_runs import IngestFile
from benchseal.desk.arriving import read_arriving
from benchseal.desk.checking import verify_site
from benchseal.desk.watch_folder import DONE, IN_WORK, REFUSED, WHY, Settling, Steps
from benchseal.desk.watch_lock import only_watch
from benchseal.desk.watching import Watch
from benchseal.problems import Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.conftest import Stage

    from benchseal.desk.watching import Taken

POSIX = pytest.mark.skipif(os.name == "nt", reason="needs files only POSIX systems have")
BAD = b"nothing a layout knows"


class Killed(BaseException):
    """The process is gone."""


@dataclass
class Stops(Steps):
    """Stops before the nth step, or right after it. made: the steps taken."""

    at: int = 0
    after: bool = False
    made: list[str] = field(default_factory=list)

    def _step(self, name: str, act: Callable[[], None]) -> None:
        self.made.append(name)
        if len(self.made) == self.at and not self.after:
            raise Killed
        act()
        if len(self.made) == self.at:
            raise Killed

    def make_folder(self, path: Path) -> None:
        self._step("make", lambda: super(Stops, self).make_folder(path))

    def move(self, path: Path, to: Path) -> None:
        self._step("move", lambda: super(Stops, self).move(path, to))

    def write(self, path: Path, text: str) -> None:
        self._step("write", lambda: super(Stops, self).write(path, text))

    def remove_folder(self, path: Path) -> None:
        self._step("remove", lambda: super(Stops, self).remove_folder(path))


def plain(data: bytes, name: str) -> IngestFile:
    return IngestFile(data, name, "", ())


def watch(stage: Stage, folder: Path, *, settle: float = 0, steps: Steps | None = None, person: str = FLAME) -> Watch:
    return Watch(stage.site, Settling(folder, settle), (stage.key(person),), plain, steps or Steps())


def looked(watched: Watch, now: float = 0.0) -> list[Taken]:
    return list(watched.look(now))


def files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder by its path there, reasons left out."""
    found = (path for path in folder.rglob("*") if path.is_file() and not path.name.endswith(WHY))
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def kinds(stage: Stage, before: int) -> Counter[str]:
    return Counter(entry.kind for entry in entries(stage)[before:])


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    (tmp_path / "inbox").mkdir()
    return tmp_path / "inbox"


def put_both(stage: Stage, inbox: Path) -> bytes:
    """The good file of the demo, then one that is refused."""
    good = left_file(stage).data
    (inbox / LEFT).write_bytes(good)
    (inbox / "bad.txt").write_bytes(BAD)
    os.utime(inbox / LEFT, ns=(1, 1))
    os.utime(inbox / "bad.txt", ns=(2, 2))
    return good


@pytest.mark.clause("P11 11.10(h)")
def test_each_file_goes_its_way(stage: Stage, inbox: Path) -> None:
    good, before = put_both(stage, inbox), len(entries(stage))
    found = looked(watch(stage, inbox))
    assert [(one.name, one.state) for one in found] == [(LEFT, DONE), ("bad.txt", REFUSED)]
    assert files(inbox) == {f"{DONE}/{LEFT}": good, f"{REFUSED}/bad.txt": BAD}
    why = (inbox / REFUSED / f"bad.txt{WHY}").read_text(encoding="utf-8")
    assert "ingest.layout-unknown: bad.txt" in why
    assert kinds(stage, before) == Counter({"run.ingested": 2, "file.refused": 1})
    assert looked(watch(stage, inbox)) == []


def test_the_same_bytes_and_the_same_name_again(stage: Stage, inbox: Path) -> None:
    good = put_both(stage, inbox)
    looked(watch(stage, inbox))
    put_both(stage, inbox)
    before = len(entries(stage))
    again, bad = looked(watch(stage, inbox))
    assert again.state == DONE
    assert "ingest.already" in again.said[0]
    assert bad.state == REFUSED
    stem = LEFT.removesuffix(".txt")
    assert files(inbox)[f"{DONE}/{stem} (2).txt"] == good
    assert files(inbox)[f"{REFUSED}/bad (2).txt"] == BAD
    assert (inbox / REFUSED / f"bad (2).txt{WHY}").is_file()
    assert kinds(stage, before) == Counter({"file.refused": 1})


def test_a_name_as_long_as_a_file_system_takes_stops_no_other(stage: Stage, inbox: Path) -> None:
    """Its report is named after it, with more behind: the name is cut, the file is not left in work for ever."""
    put_both(stage, inbox)
    for nth in (1, 2):
        (inbox / ("ä" * 125 + f"{nth}.txt")).write_bytes(BAD)
    assert Counter(taken.state for taken in looked(watch(stage, inbox))) == {DONE: 1, REFUSED: 3}
    assert looked(watch(stage, inbox)) == []
    kept = [name for name in files(inbox) if "ää" in name and not name.endswith(WHY)]
    assert len(kept) == 2
    assert all(name.endswith(".txt") and (inbox / f"{name}{WHY}").is_file() for name in kept)


def test_the_same_run_in_other_bytes_waits_for_a_person(stage: Stage, inbox: Path) -> None:
    put_both(stage, inbox)
    looked(watch(stage, inbox))
    (inbox / "again.txt").write_bytes(left_file(stage).data.replace(b"Room;", b"Room;1", 1))
    (one,) = looked(watch(stage, inbox))
    assert one.state == REFUSED
    assert {notice.code for notice in one.notices} == {"ingest.same-run"}


# ------------------------------------------------------------------ stopped and begun again


def whole_steps(stage: Stage, inbox: Path) -> list[str]:
    put_both(stage, inbox)
    steps = Stops()
    looked(watch(stage, inbox, steps=steps))
    return steps.made


STEPS = ["make", "move", "make", "move", "remove", "make", "move", "make", "write", "move", "remove"]


def test_the_steps_of_two_files(stage: Stage, inbox: Path) -> None:
    assert whole_steps(stage, inbox) == STEPS


@pytest.mark.refuses("P11 11.10(h)")
def test_stopped_at_every_step_and_begun_again(stage: Stage, tmp_path: Path) -> None:
    """Before and after each step, on one site: each turn has runs of a second of its own, and another bad file."""
    for turn, (step, after) in enumerate((step, after) for step in range(1, len(STEPS) + 1) for after in (False, True)):
        inbox = tmp_path / str(turn)
        inbox.mkdir()
        good = re.sub(rb"(Start;\d\d\.\d\d\.)\d\d", rb"\g<1>%02d" % turn, read_anew(left_file(stage).data, turn))
        bad = BAD + bytes([65 + turn])
        (inbox / "a.txt").write_bytes(good)
        (inbox / "b.txt").write_bytes(bad)
        os.utime(inbox / "a.txt", ns=(1, 1))
        before = len(entries(stage))
        with pytest.raises(Killed):
            looked(watch(stage, inbox, steps=Stops(step, after)))
        assert Counter(files(inbox).values()) == Counter((good, bad)), (step, after)
        looked(watch(stage, inbox))
        assert files(inbox) == {f"{DONE}/a.txt": good, f"{REFUSED}/b.txt": bad}, (step, after)
        assert not list((inbox / IN_WORK).iterdir())
        assert (inbox / REFUSED / f"b.txt{WHY}").is_file()
        assert kinds(stage, before) == Counter({"run.ingested": 2, "file.refused": 1}), (step, after)
    assert verify_site(stage.site).findings == ()


def test_a_refused_file_put_back_is_tried_again(stage: Stage, inbox: Path) -> None:
    """What the ledger says of these bytes from before they were taken does not count for this time."""
    (inbox / "bad.txt").write_bytes(BAD)
    looked(watch(stage, inbox))
    (inbox / REFUSED / "bad.txt").rename(inbox / "bad.txt")
    before = len(entries(stage))
    with pytest.raises(Killed):
        looked(watch(stage, inbox, steps=Stops(2, after=True)))
    (one,) = looked(watch(stage, inbox))
    assert one.state == REFUSED
    assert kinds(stage, before) == Counter({"file.refused": 1})


# ------------------------------------------------------------------ what is finished


def test_a_file_is_read_when_it_has_stayed_the_same_long_enough(inbox: Path) -> None:
    settling, path = Settling(inbox, 10), inbox / "a.txt"
    path.write_bytes(b"one")
    assert settling.finished(0) == []
    assert settling.finished(9.9) == []
    path.write_bytes(b"one and two")
    assert settling.finished(10) == []
    assert settling.finished(19.9) == []
    assert settling.finished(20) == [path]
    os.utime(path, ns=(5, 5))  # written over in the same length
    assert settling.finished(21) == []
    assert settling.finished(31) == [path]
    path.unlink()
    assert settling.finished(40) == []
    assert settling.waiting == 0


def test_a_file_replaced_by_another_of_the_same_size_and_time_settles_anew(inbox: Path) -> None:
    settling, path = Settling(inbox, 10), inbox / "a.txt"
    path.write_bytes(b"one")
    os.utime(path, ns=(5, 5))
    settling.finished(0)
    (inbox / "b").write_bytes(b"two")
    os.utime(inbox / "b", ns=(5, 5))
    (inbox / "b").replace(path)
    assert settling.finished(10) == []


@pytest.mark.parametrize(
    "name",
    ["a.txt.part", "A.TMP", ".hidden", "~$a.txt", "a.txt~", "a.filepart", "a.crdownload", "a.lock", "a.lck"],
)
def test_names_that_are_left_alone(inbox: Path, name: str) -> None:
    (inbox / name).write_bytes(b"x")
    (inbox / "folder").mkdir()
    assert Settling(inbox, 0).finished(0) == []


@pytest.mark.parametrize("lock", ["a.txt.lock", "a.txt.lck"])
def test_a_lock_beside_a_file(inbox: Path, lock: str) -> None:
    (inbox / "a.txt").write_bytes(b"x")
    (inbox / lock).touch()
    settling = Settling(inbox, 0)
    assert settling.finished(0) == []
    (inbox / lock).unlink()
    assert settling.finished(0) == [inbox / "a.txt"]


def test_earlier_files_come_first(inbox: Path) -> None:
    for nth, name in enumerate(("c", "a", "b")):
        (inbox / name).write_bytes(b"x")
        os.utime(inbox / name, ns=(nth, nth))
    assert [path.name for path in Settling(inbox, 0).finished(0)] == ["c", "a", "b"]


def test_a_locked_file_waits_and_stops_no_other(stage: Stage, inbox: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def held(path: Path) -> bytes:
        if path.name == "bad.txt":
            raise Stopped(Trouble("file.locked", "x", "y", "z"))
        return read_arriving(path)

    put_both(stage, inbox)
    monkeypatch.setattr("benchseal.desk.watching.read_arriving", held)
    assert [one.name for one in looked(watch(stage, inbox))] == [LEFT]
    assert "bad.txt" in files(inbox)


# ------------------------------------------------------------------ what is put aside unread


@POSIX
@pytest.mark.parametrize(
    ("make", "code"),
    [
        pytest.param(lambda path: path.symlink_to("/etc/hostname"), "file.link", id="a link"),
        pytest.param(os.mkfifo, "file.not-a-file", id="a pipe"),
        pytest.param(lambda path: os.truncate(path, path.write_bytes(b"") + 2**27), "file.too-large", id="too large"),
    ],
)
def test_what_is_not_opened(stage: Stage, inbox: Path, make: Callable[[Path], None], code: str) -> None:
    make(inbox / "odd.txt")
    before = len(entries(stage))
    (one,) = looked(watch(stage, inbox))
    assert (one.state, [notice.code for notice in one.notices]) == (REFUSED, [code])
    assert os.path.lexists(inbox / REFUSED / "odd.txt")
    assert code in (inbox / REFUSED / f"odd.txt{WHY}").read_text(encoding="utf-8")
    assert len(entries(stage)) == before


@pytest.mark.parametrize("first", ["x", f"x{WHY}"])
def test_a_file_named_as_the_report_of_another_is_kept_beside_it(stage: Stage, inbox: Path, first: str) -> None:
    """One too large is in no store: where the report took its name, its bytes were nowhere."""
    (inbox / f"x{WHY}").write_bytes(b"an export")
    os.truncate(inbox / f"x{WHY}", 2**27)
    (inbox / "x").write_bytes(BAD)
    os.utime(inbox / first, ns=(1, 1))
    assert [one.state for one in looked(watch(stage, inbox))] == [REFUSED, REFUSED]
    kept = {path.name: path for path in (inbox / REFUSED).iterdir()}
    own = {name for name, path in kept.items() if path.stat().st_size == 2**27 or path.read_bytes() == BAD}
    assert len(kept) == 4
    assert {f"{name}{WHY}" for name in own} == kept.keys() - own, "both kept, each with its own report beside it"


@POSIX
def test_a_link_named_as_a_report_is_not_written_through(stage: Stage, inbox: Path, tmp_path: Path) -> None:
    (tmp_path / "other.txt").write_bytes(b"kept")
    (inbox / f"x{WHY}").symlink_to(tmp_path / "other.txt")
    os.utime(inbox / f"x{WHY}", ns=(1, 1), follow_symlinks=False)
    (inbox / "x").write_bytes(BAD)
    looked(watch(stage, inbox))
    assert (inbox / REFUSED / f"x{WHY}").is_symlink()
    assert (tmp_path / "other.txt").read_bytes() == b"kept"
    assert (inbox / REFUSED / "x (2)").read_bytes() == BAD


@POSIX
def test_the_name_of_a_device_and_bytes_that_are_no_name(stage: Stage, inbox: Path) -> None:
    (inbox / "NUL.txt").write_bytes(b"x")
    odd = inbox / os.fsdecode(b"caf\xe9.txt")
    odd.write_bytes(BAD)
    found = {one.name: [notice.code for notice in one.notices] for one in looked(watch(stage, inbox))}
    assert found == {"NUL.txt": ["file.device-name"], odd.name: ["text.not-unicode"]}
    assert len(list((inbox / REFUSED).iterdir())) == 4


# ------------------------------------------------------------------ who, and one at a time


def test_whoever_may_not_bring_in_ends_the_watch_and_the_file_is_back(stage: Stage, inbox: Path) -> None:
    good = put_both(stage, inbox)
    with pytest.raises(Stopped, match=r"act\.role"):
        looked(watch(stage, inbox, person=REVIEWER))
    assert files(inbox) == {LEFT: good, "bad.txt": BAD}


def test_a_store_that_is_busy_leaves_the_file_in_work_for_the_next_look(
    stage: Stage, inbox: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_both(stage, inbox)

    def busy(*_: object) -> None:
        raise Stopped(Trouble("store.busy", "", "others write.", "Try again."))

    with monkeypatch.context() as patched, pytest.raises(Stopped, match=r"store\.busy"):
        patched.setattr("benchseal.desk.watching.perform", busy)
        looked(watch(stage, inbox))
    assert [one.state for one in looked(watch(stage, inbox))] == [DONE, REFUSED]


def test_one_watch_for_a_folder(stage: Stage, inbox: Path) -> None:
    import subprocess  # noqa: PLC0415
    import sys  # noqa: PLC0415

    script = """
import sys
from pathlib import Path
from benchseal.desk.site import open_site
from benchseal.desk.watch_lock import only_watch
from benchseal.problems import Stopped
try:
    with only_watch(open_site(Path(sys.argv[1])), Path(sys.argv[2])):
        print("free")
except Stopped as stop:
    print(stop.notices[0].code)
"""
    command = [sys.executable, "-c", script, str(stage.site.folder), str(inbox)]

    def other() -> str:
        return subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout  # noqa: S603

    with only_watch(stage.site, inbox):
        assert other() == "watch.taken\n"
    assert other() == "free\n"
