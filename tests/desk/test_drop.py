"""Nothing half under a final name, whatever happens between two steps."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
from functools import partial
from pathlib import Path
from threading import Barrier, Thread
from typing import TYPE_CHECKING, Any

import pytest

from benchseal.desk.drop import Dropped, FileOperations, drop
from benchseal.problems import (
    EXIT_FINDING,
    EXIT_NOT_ALLOWED,
    EXIT_UNREACHABLE,
    Finding,
    Notice,
    Stopped,
    Trouble,
    exit_code,
)

if TYPE_CHECKING:
    from collections.abc import Callable

DATA, MANIFEST, DONE = (
    "p_20260304T140211Z_D-1.csv",
    "p_20260304T140211Z_D-1.manifest.json",
    "p_20260304T140211Z_D-1.done",
)
FILES = {DONE: b"", MANIFEST: b'{"a":1}', DATA: b"ID\r\n" * 500}
ORDER = (DATA, MANIFEST, DONE)


class Killed(BaseException):
    """The process is gone: no step after this one happens."""


class Watched(FileOperations):
    """Counts steps, notes final names as they appear, and stops, or fails, at the n-th step."""

    def __init__(self, stop_at: int = 0, fault: int | None = None, *, lasting: bool = False) -> None:
        self.step, self.stop_at, self.fault, self.lasting = 0, stop_at, fault, lasting
        self.published: list[str] = []
        self.synced_after: list[int] = []
        self.steps: list[str] = []

    def _next(self, name: str) -> None:
        self.step += 1
        self.steps.append(name)
        if not self.stop_at:
            return
        if self.fault is None and self.step >= self.stop_at:
            raise Killed
        if self.fault is not None and (self.step == self.stop_at or (self.lasting and self.step > self.stop_at)):
            raise OSError(self.fault, os.strerror(self.fault))

    def read(self, path: Path) -> bytes | None:
        self._next("read")
        return super().read(path)

    def write(self, path: Path, data: bytes) -> None:
        self._next("write")
        super().write(path, data)

    def publish(self, part: Path, final: Path) -> None:
        self._next("publish")
        super().publish(part, final)
        self.published.append(final.name)

    def sync_folder(self, folder: Path) -> None:
        self._next("sync_folder")
        super().sync_folder(folder)
        self.synced_after.append(len(self.published))

    def remove(self, path: Path) -> None:
        self._next("remove")
        super().remove(path)

    def parts(self, final: Path) -> list[Path]:
        self._next("parts")
        return super().parts(final)


class TornWrite(Watched):
    """The step at which the process dies leaves half of its bytes behind."""

    def write(self, path: Path, data: bytes) -> None:
        try:
            super().write(path, data)
        except (Killed, OSError):
            path.write_bytes(data[: len(data) // 2])
            raise


class KilledBetweenLinkAndUnlink(Watched):
    """The final name is there and the part still is, too."""

    def publish(self, part: Path, final: Path) -> None:
        os.link(part, final)
        self.stop_at = 1
        self._next("publish")


def found(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def finals(folder: Path) -> dict[str, bytes]:
    return {name: data for name, data in found(folder).items() if not name.endswith(".part")}


def stopped(act: Callable[[], Any]) -> Stopped:
    with pytest.raises(Stopped) as caught:
        act()
    return caught.value


@pytest.fixture
def quick_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thousands of drops in one test: their flushes, tested by themselves, are left out."""
    monkeypatch.setattr(os, "fsync", lambda _: None)


def told(act: Callable[[], Any]) -> tuple[Notice, ...]:
    try:
        act()
    except Stopped as stop:
        return stop.notices
    return ()


def steps_of_a_whole_drop(tmp_path: Path) -> list[str]:
    watched = Watched()
    (folder := tmp_path / "counted").mkdir()
    drop(folder, FILES, ORDER, watched)
    return watched.steps


def test_files_appear_whole_in_the_order_asked_for_and_nothing_else_is_left(tmp_path: Path) -> None:
    watched = Watched()
    assert drop(tmp_path, FILES, ORDER, watched) == Dropped(placed=ORDER, already=())
    assert found(tmp_path) == FILES
    assert watched.published == list(ORDER)
    assert watched.synced_after == [1, 2, 3]  # each name is on the disk before the next appears


def test_a_repeat_changes_nothing(tmp_path: Path) -> None:
    drop(tmp_path, FILES, ORDER)
    before = {path.name: path.stat().st_mtime_ns for path in tmp_path.iterdir()}
    watched = Watched()
    assert drop(tmp_path, FILES, ORDER, watched) == Dropped(placed=(), already=ORDER)
    assert {path.name: path.stat().st_mtime_ns for path in tmp_path.iterdir()} == before
    assert "write" not in watched.steps
    assert "sync_folder" in watched.steps  # the first try may have died just before its last flush


@pytest.mark.usefixtures("quick_disk")
@pytest.mark.parametrize("operations", [Watched, TornWrite])
def test_killed_before_every_step_then_repeated(tmp_path: Path, operations: type[Watched]) -> None:
    total = len(steps_of_a_whole_drop(tmp_path))
    assert total > 15
    for step in range(1, total + 1):
        (folder := tmp_path / str(step)).mkdir()
        with contextlib.suppress(Killed):
            drop(folder, FILES, ORDER, operations(step))
        there = finals(folder)
        assert there == {name: FILES[name] for name in ORDER[: len(there)]}, f"killed before step {step}"
        drop(folder, FILES, ORDER)
        assert found(folder) == FILES, f"repeated after a kill before step {step}"


def test_killed_with_both_names_present(tmp_path: Path) -> None:
    with pytest.raises(Killed):
        drop(tmp_path, FILES, ORDER, KilledBetweenLinkAndUnlink())
    assert finals(tmp_path) == {DATA: FILES[DATA]}
    assert len(found(tmp_path)) == 4
    assert drop(tmp_path, FILES, ORDER) == Dropped(placed=(MANIFEST, DONE), already=(DATA,))
    assert found(tmp_path) == FILES


FAULTS = {
    errno.ENOSPC: ("delivery.disk-full", EXIT_FINDING),
    errno.EDQUOT: ("delivery.disk-full", EXIT_FINDING),
    errno.EROFS: ("delivery.read-only", EXIT_FINDING),
    errno.EACCES: ("delivery.not-permitted", EXIT_NOT_ALLOWED),
    errno.EIO: ("delivery.disk-failed", EXIT_FINDING),
    errno.EMFILE: ("delivery.disk-failed", EXIT_FINDING),
    errno.ESTALE: ("delivery.unreachable", EXIT_UNREACHABLE),
    errno.ENOTDIR: ("delivery.unreachable", EXIT_UNREACHABLE),
}


@pytest.mark.usefixtures("quick_disk")
@pytest.mark.parametrize("fault", FAULTS, ids=errno.errorcode.get)
@pytest.mark.parametrize("lasting", [False, True], ids=["once", "lasting"])
@pytest.mark.parametrize("operations", [Watched, TornWrite])
def test_an_error_at_every_step_is_one_clear_line(
    tmp_path: Path, fault: int, lasting: bool, operations: type[Watched]
) -> None:
    code, exit_with = FAULTS[fault]
    for step, name in enumerate(steps_of_a_whole_drop(tmp_path), start=1):
        (folder := tmp_path / f"{step}").mkdir()
        notices = told(partial(drop, folder, FILES, ORDER, operations(step, fault, lasting=lasting)))
        assert notices or name in ("parts", "remove"), f"the error at step {step} ({name}) was not told"
        for notice in notices:
            assert isinstance(notice, Trouble)
            assert (notice.code, notice.where, exit_code(notices)) == (code, str(folder), exit_with)
            assert len(notices) == len(str(notice).splitlines()) == 1
        there = finals(folder)
        assert there == {name: FILES[name] for name in ORDER[: len(there)]}
        drop(folder, FILES, ORDER)
        assert found(folder) == FILES


def test_no_space_while_staging_leaves_no_final_name_and_no_part(tmp_path: Path) -> None:
    staging = [step for step, name in enumerate(steps_of_a_whole_drop(tmp_path), start=1) if name == "write"]
    for step in staging:
        (folder := tmp_path / f"{step}").mkdir()
        stop = stopped(partial(drop, folder, FILES, ORDER, TornWrite(step, errno.ENOSPC)))
        assert stop.notices[0].code == "delivery.disk-full"
        assert found(folder) == {}


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs the device that is always full")
def test_a_device_that_is_really_full(tmp_path: Path) -> None:
    """The kernel's own ENOSPC, from Linux's /dev/full, goes the same way as the injected one."""

    class Full(FileOperations):
        def write(self, path: Path, data: bytes) -> None:  # noqa: ARG002  the device stands for every path
            with Path("/dev/full").open("wb") as file:
                file.write(data or b"x")
                file.flush()

    assert stopped(lambda: drop(tmp_path, FILES, ORDER, Full())).notices[0].code == "delivery.disk-full"
    assert found(tmp_path) == {}


def test_bytes_that_were_not_kept_are_noticed(tmp_path: Path) -> None:
    class Forgetful(FileOperations):
        def write(self, path: Path, data: bytes) -> None:
            super().write(path, data[:-1])

    (notice,) = stopped(lambda: drop(tmp_path, FILES, (DATA, MANIFEST, DONE), Forgetful())).notices
    assert notice.code == "delivery.not-kept"
    assert found(tmp_path) == {}


@pytest.mark.parametrize("taken", ORDER)
def test_another_file_under_a_name_stops_everything_before_the_first_byte(tmp_path: Path, taken: str) -> None:
    (tmp_path / taken).write_bytes(b"other")
    stop = stopped(lambda: drop(tmp_path, FILES, ORDER))
    (notice,) = stop.notices
    assert isinstance(notice, Finding)
    assert (notice.code, notice.where) == ("delivery.name-taken", str(tmp_path / taken))
    assert exit_code(stop.notices) == EXIT_FINDING
    assert found(tmp_path) == {taken: b"other"}


@pytest.mark.skipif(os.name == "nt", reason="makes links and pipes")
@pytest.mark.parametrize("kind", ["folder", "link to an equal file", "broken link", "pipe"])
def test_what_is_no_plain_file_is_never_followed_or_opened(tmp_path: Path, kind: str) -> None:
    (folder := tmp_path / "out").mkdir()
    (equal := tmp_path / "elsewhere").write_bytes(FILES[DATA])
    match kind:
        case "folder":
            (folder / DATA).mkdir()
        case "link to an equal file":
            (folder / DATA).symlink_to(equal)
        case "broken link":
            (folder / DATA).symlink_to(tmp_path / "nowhere")
        case _:
            os.mkfifo(folder / DATA)
    assert stopped(lambda: drop(folder, FILES, ORDER)).notices[0].code == "delivery.name-taken"
    assert [path.name for path in folder.iterdir()] == [DATA]


def test_a_name_taken_between_look_and_step_is_not_overwritten(tmp_path: Path) -> None:
    class Late(FileOperations):
        def publish(self, part: Path, final: Path) -> None:
            final.write_bytes(b"other")
            super().publish(part, final)

    assert stopped(lambda: drop(tmp_path, FILES, ORDER, Late())).notices[0].code == "delivery.name-taken"
    assert found(tmp_path) == {DATA: b"other"}


@pytest.mark.skipif(os.name == "nt", reason="Windows renames")
@pytest.mark.parametrize("taken", [False, True])
def test_a_folder_that_knows_no_hard_links(tmp_path: Path, taken: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some network and memory-card file systems answer EPERM: then look, and rename."""

    def no_links(*_: object) -> None:
        raise PermissionError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", no_links)
    (part := tmp_path / "x.part").write_bytes(b"new")
    if taken:
        (tmp_path / "x").write_bytes(b"old")
        with pytest.raises(FileExistsError):
            FileOperations().publish(part, tmp_path / "x")
        assert (tmp_path / "x").read_bytes() == b"old"
    else:
        assert drop(tmp_path, FILES, ORDER).placed == ORDER
        assert finals(tmp_path) == FILES


@pytest.mark.skipif(os.name == "nt", reason="Windows has no flush of a folder")
def test_bytes_are_flushed_before_their_name_appears_and_the_name_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[tuple[str, int]] = []
    real = os.fsync

    def noting(handle: int) -> None:
        status = os.fstat(handle)
        seen.append(("folder", len(finals(tmp_path))) if stat.S_ISDIR(status.st_mode) else ("file", status.st_size))
        real(handle)

    monkeypatch.setattr(os, "fsync", noting)
    drop(tmp_path, FILES, ORDER)
    written = [("file", len(FILES[name])) for name in ORDER]
    assert seen == [*written, ("folder", 1), ("folder", 2), ("folder", 3)]


def test_folder_flush_that_a_share_refuses_is_no_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.fsync

    def refusing(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "not here")
        real(handle)

    monkeypatch.setattr(os, "fsync", refusing)
    assert drop(tmp_path, FILES, ORDER).placed == ORDER


def test_a_folder_that_is_not_there_is_unreachable_and_not_made(tmp_path: Path) -> None:
    stop = stopped(lambda: drop(tmp_path / "gone", FILES, ORDER))
    assert (stop.notices[0].code, exit_code(stop.notices)) == ("delivery.unreachable", EXIT_UNREACHABLE)
    assert not (tmp_path / "gone").exists()


def test_parts_of_other_deliveries_are_left_alone(tmp_path: Path) -> None:
    for name in ("other.csv.00ff.part", f"{DATA}.00ff.part"):
        (tmp_path / name).write_bytes(b"half")
    drop(tmp_path, FILES, ORDER)
    assert found(tmp_path) == FILES | {"other.csv.00ff.part": b"half"}


@pytest.mark.parametrize(
    "name", ["../x", "a/b", "a\\b", "c:x", "", ".", "..", " x", "x.", "é.csv", "a\nb", "a*", "a?", '"a"', "<a>"]
)
def test_names_that_are_no_plain_names_are_our_bug(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="plain file name"):
        drop(tmp_path, {name: b""}, (name,))


@pytest.mark.parametrize("order", [(), (DATA,), (*ORDER, DATA), (DATA, MANIFEST, "x")])
def test_an_order_that_does_not_fit_the_files_is_our_bug(tmp_path: Path, order: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match="order"):
        drop(tmp_path, FILES, order)


def test_a_part_swept_between_two_looks_is_no_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What once ended a delivery: the part was seen, then gone before it was read back."""

    def gone(path: Path) -> bytes:
        raise FileNotFoundError(path)

    (tmp_path / "a.part").write_bytes(b"x")
    monkeypatch.setattr(type(tmp_path), "read_bytes", gone)
    assert FileOperations().read(tmp_path / "a.part") is None


def test_several_exporters_at_once_make_one_delivery(tmp_path: Path) -> None:
    """Eight deliveries, four exporters each, started together: one file per name, equal, and nobody fails."""
    for delivery in range(8):
        files = {f"{delivery}.csv": os.urandom(50_000), f"{delivery}.done": b""}
        start = Barrier(4)
        outcomes: list[object] = []

        def exporter(
            files: dict[str, bytes] = files, start: Barrier = start, outcomes: list[object] = outcomes
        ) -> None:
            start.wait()
            try:
                outcomes.append(drop(tmp_path, files, tuple(files)))
            except Stopped as stop:
                outcomes.append(stop)

        threads = [Thread(target=exporter) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert all(isinstance(outcome, Dropped) for outcome in outcomes), outcomes
        assert len(outcomes) == 4
        assert {name: data for name, data in found(tmp_path).items() if name.startswith(f"{delivery}.")} == files


def test_what_a_share_makes_of_a_file_under_its_final_name_is_read(tmp_path: Path) -> None:
    class Share(FileOperations):
        def publish(self, part: Path, final: Path) -> None:
            super().publish(part, final)
            final.write_bytes(final.read_bytes()[:-1])

    with pytest.raises(Stopped) as found:
        drop(tmp_path, FILES, ORDER, Share())
    (notice,) = found.value.notices
    assert (notice.code, notice.where) == ("delivery.not-kept", str(tmp_path / DATA))
    assert {path.name for path in tmp_path.iterdir()} == {DATA}  # and the manifest never comes


def test_a_receiver_may_take_each_file_away_at_once(tmp_path: Path) -> None:
    taken: dict[str, bytes] = {}

    class Quick(FileOperations):
        def publish(self, part: Path, final: Path) -> None:
            super().publish(part, final)
            taken[final.name] = final.read_bytes()
            final.unlink()

    assert drop(tmp_path, FILES, ORDER, Quick()).placed == ORDER
    assert taken == FILES
