"""What lies in a folder is looked at before it is opened."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from benchseal.desk import arriving
from benchseal.desk.arriving import read_arriving, unfit_name
from benchseal.problems import EXIT_BUSY, EXIT_INPUT, Stopped, exit_code

if TYPE_CHECKING:
    from benchseal.problems import Notice

POSIX = pytest.mark.skipif(os.name == "nt", reason="needs files only POSIX systems have")


def refused(path: Path, largest: int = 100) -> Notice:
    with pytest.raises(Stopped) as caught:
        read_arriving(path, largest)
    (notice,) = caught.value.notices
    return notice


def test_a_plain_file_is_read(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_bytes(b"whole\r\n\0")
    assert read_arriving(tmp_path / "a.txt") == b"whole\r\n\0"


@pytest.mark.parametrize(
    "name",
    ["CON", "nul", "aux.txt", "COM1", "com9.csv", "LPT1.", "PRN .txt", "NUL.tar.gz", "CONIN$", "com¹", "Con:x", "lpt0"],
)
def test_names_of_devices(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"x")
    notice = refused(tmp_path / name)
    assert (notice.code, exit_code((notice,))) == ("file.device-name", EXIT_INPUT)


@pytest.mark.parametrize("name", ["CONTROL.txt", "com10", "null", "auxiliary", "COM", "lpt", "run 10.15.txt", "nul-1"])
def test_names_that_only_look_like_devices(name: str) -> None:
    assert unfit_name(Path(name)) is None


@POSIX
@pytest.mark.parametrize("kind", ["link", "broken link", "link to itself", "link to a folder"])
def test_links_are_not_followed(tmp_path: Path, kind: str) -> None:
    (tmp_path / "real").write_bytes(b"x")
    target = {"link": "real", "broken link": "none", "link to itself": "a.txt", "link to a folder": "."}[kind]
    (tmp_path / "a.txt").symlink_to(target)
    assert refused(tmp_path / "a.txt").code == "file.link"


@POSIX
@pytest.mark.parametrize("kind", ["folder", "pipe", "socket", "nothing"])
def test_what_is_no_file(tmp_path: Path, kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)  # the name of a socket is short
    match kind:
        case "folder":
            Path("a").mkdir()
        case "pipe":
            os.mkfifo("a")
        case "socket":
            with socket.socket(socket.AF_UNIX) as one:
                one.bind("a")
        case _:
            pass
    assert refused(Path("a")).code == ("file.missing" if kind == "nothing" else "file.not-a-file")


@POSIX
def test_a_device() -> None:
    assert refused(Path("/dev/zero")).code == "file.not-a-file"


def test_too_large_is_not_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a").write_bytes(b"x" * 101)
    monkeypatch.setattr(os, "open", None)
    assert refused(tmp_path / "a").code == "file.too-large"


@pytest.mark.parametrize("how", ["grows", "shrinks", "is replaced", "goes away", "is written over"])
def test_a_file_that_changes_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: str) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"first half")

    def meanwhile(_: int) -> bool:
        match how:
            case "grows":
                path.write_bytes(b"first half and the second")
            case "shrinks":
                path.write_bytes(b"first")
            case "is replaced":
                (tmp_path / "b").write_bytes(b"first half")
                (tmp_path / "b").replace(path)
            case "goes away":
                path.unlink()
            case _:
                path.write_bytes(b"other half")
                os.utime(path, ns=(1, 1))
        return False

    monkeypatch.setattr(arriving, "_is_locked", meanwhile)
    notice = refused(path)
    assert (notice.code, exit_code((notice,))) == ("file.growing", EXIT_BUSY)


_HOLD = """
import fcntl, sys
file = open(sys.argv[1], "r+b")
getattr(fcntl, sys.argv[2])(file, fcntl.LOCK_EX)
print("held", flush=True)
sys.stdin.read()
"""


@POSIX
@pytest.mark.parametrize("how", ["lockf", "flock"])
def test_a_file_another_program_holds(tmp_path: Path, how: str) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"x")
    command = [sys.executable, "-c", _HOLD, str(path), how]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as holder:  # noqa: S603
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"held\n"
        notice = refused(path)
        assert (notice.code, exit_code((notice,))) == ("file.locked", EXIT_BUSY)
        holder.communicate(b"")
    assert read_arriving(path) == b"x"


@POSIX
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="nothing is forbidden to root")
def test_a_file_without_rights(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"x")
    (tmp_path / "a").chmod(0)
    assert refused(tmp_path / "a").code == "file.unreadable"
