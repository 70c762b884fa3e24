"""``--log FILE``: one JSON line for each event of a scheduled command, with names that stay.

No event holds a secret, a result, a reason or the words of a problem: of a problem stands its code alone.
"""

from __future__ import annotations

import json
import os
import stat
import sys
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal import __version__
from benchseal.cli import show
from benchseal.cli.opened import require_not_of_site, require_own_kind
from benchseal.desk.clock import stamp, system_clock
from benchseal.problems import (
    EXIT_BUSY,
    EXIT_DONE,
    EXIT_FAULT,
    EXIT_INTERRUPTED,
    EXIT_PIPE,
    Notice,
    Stopped,
    Trouble,
    exit_code,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

SCHEMA = "log-line/1"
BEGINS = f'{{"schema": "{SCHEMA}"'.encode()
# A link is not followed; what is no regular file is never waited for. Windows has neither flag.
_OPENED = (
    os.O_RDWR
    | os.O_APPEND
    | os.O_CREAT
    | sum(getattr(os, name, 0) for name in ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY"))
)


@dataclass(slots=True)
class EventLog:
    """A file that lines are appended to; without a name nothing is written. ``exit``: what ``ended`` will say."""

    name: str
    noun: str
    exit: int = EXIT_DONE
    begun: float = field(default_factory=time.monotonic)
    _silent: bool = False

    def write(self, event: str, **facts: str | float | list[str]) -> None:
        """Append ``NOUN.EVENT``. A log that cannot be written is said once and stops nothing."""
        if not self.name:
            return
        line = {
            "schema": SCHEMA,
            "at": stamp(system_clock()),
            "event": f"{self.noun}.{event}",
            "process": os.getpid(),
            "program": __version__,
            **facts,
        }
        try:
            _append(Path(self.name), json.dumps(line, ensure_ascii=True, allow_nan=False).encode("ascii") + b"\n")
        except OSError as fault:
            self._say(fault)
        else:
            self._silent = False

    def problems(self, found: tuple[Notice, ...]) -> None:
        """An event ``problem`` for each notice, with its code."""
        for each in found:
            self.write("problem", code=each.code, kind=type(each).__name__.lower())

    def _say(self, fault: OSError) -> None:
        if self._silent:
            return
        self._silent = True
        what, remedy = f"a line cannot be added: {fault.strerror}.", "The work went on. Look at disk and rights."
        print(show.one_line(str(Trouble("log.not-written", self.name, what, remedy))), file=sys.stderr, flush=True)


def require_log(name: str) -> None:
    """That lines may be added at ``name``, where one is given. Raises Stopped."""
    if name:
        require_not_of_site(name)
        require_own_kind(name, BEGINS)


@contextmanager
def logged(name: str, noun: str, **facts: str) -> Iterator[EventLog]:
    """From ``begun`` to ``ended``, whatever comes between.

    Raises Stopped where ``name`` is in a site, or a file of another kind.
    """
    require_log(name)
    log = EventLog(name, noun)
    log.write("begun", **facts)
    try:
        yield log
    except Stopped as stop:
        log.problems(stop.notices)
        log.exit = exit_code(stop.notices)
        raise
    except KeyboardInterrupt:
        log.exit = EXIT_INTERRUPTED
        raise
    except BaseException as fault:  # as the main door says it
        is_pipe = isinstance(fault, BrokenPipeError)
        log.exit = EXIT_PIPE if is_pipe else EXIT_BUSY if isinstance(fault, OSError) else EXIT_FAULT
        raise
    finally:
        log.write("ended", exit=log.exit, seconds=round(time.monotonic() - log.begun, 3))


def _append(path: Path, line: bytes) -> None:
    """One write of one whole line, after a line break where an earlier one was cut short. Raises OSError.

    Opened anew each time, so that a log may be moved away while we work.
    """
    handle = os.open(path, _OPENED, 0o640)
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise OSError(0, "it is not a regular file")
        if os.lseek(handle, 0, os.SEEK_END):
            os.lseek(handle, -1, os.SEEK_END)
            if os.read(handle, 1) != b"\n":
                line = b"\n" + line
        if os.write(handle, line) != len(line):
            raise OSError(0, "the disk took only part of it")
    finally:
        os.close(handle)
