"""Who came first writes first, and a place that cannot be had holds nobody up."""

from __future__ import annotations

import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

from benchseal.store.sqlite import SqliteStore
from benchseal.store.turns import turn

if TYPE_CHECKING:
    from pathlib import Path

_WAIT = 60.0
_CHILD = """
import sys
from pathlib import Path
from benchseal.store.turns import turn
with turn(Path(sys.argv[1]), 60), Path(sys.argv[2]).open("a") as file:
    file.write(sys.argv[3])
"""


def _comes(turns: Path, done: Path, name: str) -> subprocess.Popen[bytes]:
    """Start a process and wait until it has its place."""
    places = turns.stat().st_size
    child = subprocess.Popen([sys.executable, "-c", _CHILD, str(turns), str(done), name])  # noqa: S603
    until = time.monotonic() + _WAIT
    while turns.stat().st_size == places:
        assert time.monotonic() < until
    return child


def test_the_order_is_the_order_of_arrival(tmp_path: Path) -> None:
    turns, done = tmp_path / "turns", tmp_path / "done"
    with turn(turns, _WAIT):
        children = [_comes(turns, done, name) for name in "abcdef"]
        assert not done.exists()
    assert [child.wait(_WAIT) for child in children] == [0] * 6
    assert done.read_text() == "abcdef"


def test_a_process_that_was_killed_holds_nobody_up(tmp_path: Path) -> None:
    turns, done = tmp_path / "turns", tmp_path / "done"
    with turn(turns, _WAIT):
        first, second = (_comes(turns, done, name) for name in "ab")
        first.kill()
        first.wait(_WAIT)
    assert second.wait(_WAIT) == 0
    assert done.read_text() == "b"


def test_after_the_last_place_comes_the_first(tmp_path: Path) -> None:
    turns = tmp_path / "turns"
    turns.write_bytes(bytes(999))
    with turn(turns, _WAIT):
        assert turns.stat().st_size == 0
        child = _comes(turns, tmp_path / "done", "a")
    assert child.wait(_WAIT) == 0


@pytest.mark.parametrize("long", [0, 1, 5_000])
def test_a_file_of_any_length_is_good_enough(tmp_path: Path, long: int) -> None:
    turns = tmp_path / "turns"
    turns.write_bytes(bytes(long))
    for _ in range(3):
        with turn(turns, _WAIT):
            pass


def test_without_the_file_nobody_waits(tmp_path: Path) -> None:
    with turn(tmp_path / "no folder" / "turns", _WAIT):
        pass


def test_whoever_waits_too_long_asks_for_the_lock_all_the_same(tmp_path: Path) -> None:
    turns, done = tmp_path / "turns", tmp_path / "done"
    short = _CHILD.replace("60", "0")
    with turn(turns, _WAIT):
        subprocess.run([sys.executable, "-c", short, str(turns), str(done), "a"], check=True)  # noqa: S603
        assert done.read_text() == "a"


def test_a_store_keeps_one_place_however_deep_it_asks(tmp_path: Path) -> None:
    store = SqliteStore.create(tmp_path / "store.sqlite", "L-1")
    with store.queued(), store.queued(), store.writing():
        assert (tmp_path / "store.turns").stat().st_size == 1
    with store.writing():
        assert (tmp_path / "store.turns").stat().st_size == 2
    store.close()
