"""Many files of one command, checked on several processors. Answers are the same, in the order of the files."""

from __future__ import annotations

import gc
import os
from collections import deque
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from multiprocessing import get_context
from typing import TYPE_CHECKING, Final, NamedTuple

from benchseal.cli.opened import file_bytes
from benchseal.problems import Stopped
from benchseal.verify.judge import judge

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.problems import Notice
    from benchseal.records.status_file import StatusFile
    from benchseal.verify.judge import Judgement
    from benchseal.verify.trust import Trust

FEWEST: Final = 16  # files: for fewer, a second process takes longer to begin than it saves
_MOST_PROCESSES: Final = 8
_AHEAD: Final = 4  # files that wait for each process


class Asked(NamedTuple):
    """What every file is held to."""

    trust: Trust | None
    status: StatusFile | None
    redraw: bool


def judged(names: Sequence[str], asked: Asked) -> Iterator[Judgement | tuple[Notice, ...]]:
    """``judge`` of each file, in order; of one that cannot be read, why."""
    processes = min(_processors(), _MOST_PROCESSES)
    if processes < 2 or len(names) < FEWEST:
        yield from (_here(name, asked) for name in names)
        return
    done = 0
    try:
        for one in _together(names, asked, processes):
            done += 1
            yield one
    except (OSError, BrokenProcessPool):  # none can be started here, or one was ended from outside: then by itself
        yield from (_here(name, asked) for name in names[done:])


def _processors() -> int:
    """Those this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _together(names: Sequence[str], asked: Asked, processes: int) -> Iterator[Judgement | tuple[Notice, ...]]:
    pool = ProcessPoolExecutor(processes, get_context("spawn"), _begin, (asked,))
    try:
        left = iter(names)
        waiting = deque(pool.submit(_one, name) for name in islice(left, processes * _AHEAD))
        while waiting:
            found = waiting.popleft().result()
            waiting.extend(pool.submit(_one, name) for name in islice(left, 1))
            yield found
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _here(name: str, asked: Asked) -> Judgement | tuple[Notice, ...]:
    try:
        return judge(file_bytes(name), asked.trust, asked.status, redraw=asked.redraw)
    except Stopped as stop:
        return stop.notices


_asked: list[Asked] = []  # of a process that judges, and nothing else


def _begin(asked: Asked) -> None:
    _asked[:] = [asked]
    gc.collect()
    gc.freeze()  # what is loaded stays to the end


def _one(name: str) -> Judgement | tuple[Notice, ...]:
    """In a process of its own."""
    return _here(name, _asked[0])
