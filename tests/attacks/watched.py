"""A watched folder inside a site: what lies in it before, and what must be there wherever the watch was stopped."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.watch_folder import DONE, IN_WORK

if TYPE_CHECKING:
    from pathlib import Path

NAMES = ("flame-ware.txt", "copy-of-it.txt")


def put_to_watch(site: Path) -> None:
    """The file the demo leaves, twice."""
    (site / "watched").mkdir()
    for name in NAMES:
        (site / "watched" / name).write_bytes(left(site))


def left(site: Path) -> bytes:
    return (site / "inbox" / "flame-ware.txt").read_bytes()


def require_watched(site: Path) -> None:
    """Each file is there once, whole, in the folder, in work or done."""
    found = [path for path in (site / "watched").rglob("*") if path.is_file()]
    assert sorted(path.name for path in found) == sorted(NAMES)
    assert {path.read_bytes() for path in found} == {left(site)}


def require_watched_ended(site: Path) -> None:
    """Both are done, and nothing is in work."""
    assert sorted(path.name for path in (site / "watched" / DONE).iterdir()) == sorted(NAMES)
    assert not list((site / "watched" / IN_WORK).iterdir())
