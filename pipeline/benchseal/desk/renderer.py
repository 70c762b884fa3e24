"""Papers are made in a process beside this one, which holds no key and is within limits (renderer_child.py).

It is started by the first paper and kept for the next ones, so that a batch pays for the start once. One that came to
a limit, or that failed in any way, is ended; the next paper gets a new one.
"""

from __future__ import annotations

import atexit
import json
import os
import pickle
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import IO, TYPE_CHECKING, Final, NamedTuple, NoReturn, ParamSpec

from benchseal.desk.renderer_child import FAULT, LENGTH, OWN, PDF
from benchseal.problems import Notice, Problem, Refusal, Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Callable

P = ParamSpec("P")

_PACKAGES: Final = Path(__file__).parents[2]
# What a program needs to start, to find fonts and to know its languages; nothing that could hold a secret.
_ENVIRONMENT: Final = frozenset(
    {"PATH", "HOME", "LANG", "LC_ALL", "SYSTEMROOT", "WINDIR", "LOCALAPPDATA", "XDG_CACHE_HOME", "XDG_DATA_DIRS",
     "FONTCONFIG_FILE", "FONTCONFIG_PATH", "WEASYPRINT_DLL_DIRECTORIES", "DYLD_FALLBACK_LIBRARY_PATH",
     "LD_LIBRARY_PATH", "PYTHONDONTWRITEBYTECODE", "PYTHONTZPATH"}
)  # fmt: skip
_AS_SHIPPED: Final = "The shipped templates do nothing of the kind: `benchseal qualify iq` compares them."
_REPORT: Final = "Nothing was made. Try again; where it comes again, report it with the number of the paper."


@dataclass(frozen=True, slots=True)
class Limits:
    """Of one paper. processor_s: its processor time; wait_s: until it is given up, whatever it waits for.

    memory_bytes: address space of the process. file_bytes: of any file it writes (fonts for a moment).
    papers: after so many a new process takes over, whatever a library may keep of each.
    """

    processor_s: int = 120
    wait_s: float = 600.0
    memory_bytes: int = 2 * 1024**3
    file_bytes: int = 16 * 1024**2
    open_files: int = 64
    papers: int = 2000


class _Answer(NamedTuple):
    kind: bytes
    data: bytes


@dataclass
class Renderer:
    """One process that makes papers, or none yet. Several threads may ask; they wait for each other."""

    limits: Limits = field(default_factory=Limits)
    _process: subprocess.Popen[bytes] | None = None
    _folder: str = ""
    _owner: int = 0
    _made: int = 0
    _turn: threading.Lock = field(default_factory=threading.Lock)

    def make(self, make: Callable[P, bytes | tuple[Problem, ...]], *args: P.args, **options: P.kwargs) -> bytes:
        """What ``make``, a function of ``benchseal.certificate``, makes of these arguments: a PDF.

        Raises Stopped: its problems, or why the paper was refused.
        """
        request = pickle.dumps((make, args, options))
        with self._turn:
            answer = self._answer(request)
            if answer.kind == PDF:
                return answer.data
            told = json.loads(answer.data)
            if answer.kind == FAULT:
                self._end()
                raise Stopped(_refused(set(told["is"]), told["says"], [*told["refused"]]))
            raise Stopped(*(Problem(*one) for one in told))

    def close(self) -> None:
        """End the process; the next paper starts another."""
        with self._turn:
            self._end()

    @property
    def process_id(self) -> int:
        """Of the process at work; 0 where there is none."""
        return self._process.pid if self._process is not None else 0

    def _answer(self, request: bytes) -> _Answer:
        process = self._running()
        self._made += 1
        given_up = threading.Event()

        def give_up() -> None:
            given_up.set()
            process.kill()

        clock = threading.Timer(self.limits.wait_s, give_up)
        clock.start()
        try:
            return _exchange(process, request)
        except (OSError, EOFError):
            code = process.wait()
            self._end()
            self._died(code, waited=given_up.is_set())
        except BaseException:  # interrupted: what comes next would be the answer to this
            self._end()
            raise
        finally:
            clock.cancel()
            clock.join()  # a process with one thread may fork

    def _died(self, code: int, *, waited: bool) -> NoReturn:
        if waited or (code < 0 and -code == getattr(signal, "SIGXCPU", 0)):
            most = f"{self.limits.wait_s:g} s" if waited else f"{self.limits.processor_s} s of processor time"
            raise Stopped(Trouble("paper.too-long", "the paper", f"it was not made within {most}.", _REPORT))
        how = f"signal {-code}" if code < 0 else f"exit code {code}"
        what = f"the process that makes papers ended by {how}; it may use {self.limits.memory_bytes} bytes of memory."
        raise Stopped(Trouble("paper.not-made", "the paper", what, _REPORT))

    def _running(self) -> subprocess.Popen[bytes]:
        ours = self._process is not None and self._owner == os.getpid() and self._made < self.limits.papers
        if self._process is not None and ours and self._process.poll() is None:
            return self._process
        if self._owner == os.getpid():
            self._end()
        self._folder = tempfile.mkdtemp(prefix=OWN)
        self._owner, self._made = os.getpid(), 0
        self._process = _started(self.limits, self._folder)
        return self._process

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is None or self._owner != os.getpid():  # one that a parent of this process started is the parent's
            return
        process.kill()
        process.wait()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                with suppress(OSError):
                    stream.close()
        shutil.rmtree(self._folder, ignore_errors=True)


def _started(limits: Limits, folder: str) -> subprocess.Popen[bytes]:
    # -P: a folder somebody works in is no place to load modules from.
    paths = os.pathsep.join(filter(None, (str(_PACKAGES), os.environ.get("PYTHONPATH"))))
    kept = {name: value for name, value in os.environ.items() if name.upper() in _ENVIRONMENT}
    env = {**kept, "PYTHONPATH": paths, "TMPDIR": folder, "TEMP": folder, "TMP": folder, "PYTHONUTF8": "1"}
    command = [sys.executable, "-P", "-m", "benchseal.desk.renderer_child", json.dumps(asdict(limits)), folder]
    pipe, nowhere = subprocess.PIPE, subprocess.DEVNULL
    try:
        return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=nowhere, env=env, cwd=folder)  # noqa: S603
    except OSError as fault:
        shutil.rmtree(folder, ignore_errors=True)
        what = f"the process that makes papers could not be started: {fault.strerror or fault}."
        raise Stopped(Trouble("paper.not-made", "the paper", what, _REPORT)) from None


def _exchange(process: subprocess.Popen[bytes], request: bytes) -> _Answer:
    """Raises OSError or EOFError where the process has ended."""
    if process.stdin is None or process.stdout is None:
        raise AssertionError("started without pipes")
    process.stdin.write(len(request).to_bytes(LENGTH, "big") + request)
    process.stdin.flush()
    head = _read(process.stdout, LENGTH + 1)
    return _Answer(head[LENGTH:], _read(process.stdout, int.from_bytes(head[:LENGTH], "big")))


def _read(stream: IO[bytes], count: int) -> bytes:
    data = stream.read(count)
    if len(data) != count:
        raise EOFError
    return data


def _refused(names: set[str], says: str, reached: list[str]) -> Notice:
    """Why a paper was not made. names: the exception's class and those it comes from."""
    if reached or names & {"OverreachError", "FatalURLFetchingError"}:
        what = f"its template reaches out: {reached[0] if reached else says}. A paper is made of its record alone."
        return Refusal("paper.reaches-out", "the paper", what, f"Take that out of the template. {_AS_SHIPPED}")
    if "ChangedTemplateError" in names:
        what = f"{says.removesuffix('.')}."
        return Refusal("paper.template-changed", "the paper", what, f"Install the version again. {_AS_SHIPPED}")
    if "MemoryError" in names:
        what = "it needs more memory than a paper may have."
        return Trouble("paper.too-large", "the paper", what, _REPORT)
    if names & {"TemplateError", "OverflowError", "RecursionError", "LeftOutError"}:
        what = f"its template is faulty: {says}."
        return Problem("paper.template-faulty", "the paper", what, f"Mend the template. {_AS_SHIPPED}")
    what = f"the process that makes papers failed: {says}."
    return Trouble("paper.not-made", "the paper", what, _REPORT)


_OURS: Final = Renderer()
atexit.register(_OURS.close)


def rendered(make: Callable[P, bytes | tuple[Problem, ...]], *args: P.args, **options: P.kwargs) -> bytes:
    """What ``make`` makes of these arguments, in the one process that this one keeps. Raises Stopped as ``make``."""
    return _OURS.make(make, *args, **options)
