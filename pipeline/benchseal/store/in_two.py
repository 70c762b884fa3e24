"""Checks of all rows shared with a second process where there are many, and what they find told as one process would.

Half of a ledger is walked here, half there, from the head and the kept subtrees stored at the middle; both together
are worth something only if the first half ends exactly so. Where it does not, or anything is found, or no second
process can be had, everything is walked here from the first entry on: so what is found never depends on how many
processes looked.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchseal.ledger.walk import Part, Walk, joined, walk
from benchseal.store.second import walk_answer, walk_task
from benchseal.store.stored_rows import HIGHEST, LOWEST

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator

    from benchseal.store.sqlite import SqliteReading

# Below, a second process is hardly loaded before the first one is done.
LEAST_ENTRIES = 250_000
LEAST_BYTES = 50_000_000  # of objects as kept
_OWN_SHARE = 0.53  # of the entries: the first process is there already
_PACKAGES = Path(__file__).parents[2]  # where this very program lies, for the second process to be the same one


def walk_all(path: Path, ledger: str, view: SqliteReading, sizes: Collection[int]) -> Walk:
    """The walk of a whole ledger with its kept subtrees. ``view``: of the file at ``path``, its transaction open."""
    size = view.size()
    shared = _walk_in_two(path, ledger, view, sizes) if size >= LEAST_ENTRIES else None
    return shared or walk(ledger, view.stored_entries(), sizes, view)


def wrong_objects(path: Path, view: SqliteReading) -> dict[str, str]:
    """What is wrong with objects, by name."""
    size, middle = view.half_of_objects()
    if size >= LEAST_BYTES:
        with _second(path, {"check": "objects", "from": middle + 1}) as answered:
            found = view.wrong_objects(LOWEST, middle)
            there = answered()
        return found | (view.wrong_objects(middle + 1, HIGHEST) if there is None else there)
    return view.wrong_objects()


def _walk_in_two(path: Path, ledger: str, view: SqliteReading, sizes: Collection[int]) -> Walk | None:
    middle = int(view.size() * _OWN_SHARE)
    try:
        start = view.start_after(middle)
    except (KeyError, AssertionError):  # an entry or a subtree is missing there
        return None
    with _second(path, walk_task(ledger, start, sizes)) as answered:
        first = walk(ledger, view.stored_entries(1, middle), sizes, view, Part(to_the_end=False))
        there = answered()
    second = None if there is None else walk_answer(ledger, there)
    return None if second is None else joined(first, start, second)


@contextmanager
def _second(path: Path, task: dict[str, Any]) -> Iterator[Callable[[], dict[str, Any] | None]]:
    """A second process at work on ``task``. What is lent waits for its answer: None where there is none to be had."""
    process = _started() if _processors() > 1 and path.is_file() else None
    if process is None:
        yield lambda: None
        return
    with process:
        try:
            _tell(process, {**task, "file": path.resolve().as_uri()})
            yield lambda: _answer(process)
        finally:
            process.kill()  # where nobody came to ask; else it has ended


def _started() -> subprocess.Popen[bytes] | None:
    # -P: a folder somebody works in is no place to load modules from.
    command = [sys.executable, "-P", "-m", "benchseal.store.second"]
    paths = os.pathsep.join(filter(None, (str(_PACKAGES), os.environ.get("PYTHONPATH"))))
    env = {**os.environ, "PYTHONPATH": paths}
    pipe, nowhere = subprocess.PIPE, subprocess.DEVNULL
    try:
        return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=nowhere, env=env)  # noqa: S603  our own module
    except OSError:
        return None


def _tell(process: subprocess.Popen[bytes], task: dict[str, Any]) -> None:
    if process.stdin is None:
        raise AssertionError("started without standard input")
    with suppress(OSError), process.stdin:  # it has ended already: then there is no answer
        process.stdin.write(json.dumps(task).encode())


def _answer(process: subprocess.Popen[bytes]) -> dict[str, Any] | None:
    if process.stdout is None:
        raise AssertionError("started without standard output")
    said = process.stdout.read()
    return dict(json.loads(said)) if process.wait() == 0 else None


def _processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
