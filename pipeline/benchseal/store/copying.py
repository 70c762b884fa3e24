"""A copy of a store's file while others go on working: SQLite's own online backup, then without its open sessions."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from benchseal.problems import Stopped
from benchseal.store.connections import failed

if TYPE_CHECKING:
    from pathlib import Path

_PAGES, _PAUSE_S = 4096, 0.01  # a step, and the pause after it, in which writers get their turn


def copy_store(source: Path, target: Path) -> None:
    """Copy the database file ``source`` to the new file ``target``, whole as of one moment.

    Sessions are left out: whoever opens a copy signs in again. Raises Stopped when the machine fails.
    """
    if target.exists():
        raise AssertionError(f"{target} is there already")
    try:
        _copy(source, target)
    except (sqlite3.Error, OSError) as fault:
        raise Stopped(failed(fault)) from None


def _copy(source: Path, target: Path) -> None:
    reading = source.resolve().as_uri() + "?mode=ro"
    with closing(sqlite3.connect(reading, uri=True)) as live, closing(sqlite3.connect(target)) as copy:
        live.backup(copy, pages=_PAGES, sleep=_PAUSE_S)
        copy.execute("PRAGMA synchronous = EXTRA")
        with copy:
            copy.execute("DELETE FROM session")
