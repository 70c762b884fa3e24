"""The process that makes papers, one after the other, within limits: started by ``renderer``, of use to nobody else.

A template is a small program. Here it runs where no key, no password and no store is open, with a limit on processor
time, memory, size of a file and open files (where the system has such limits), and with an ear on what Python opens:
the program's own files, the time zones and a folder of its own may be read, that folder alone written, no connection
made, no process started. What was asked beyond that spoils the paper, even where a library went on without it.

Requests: eight bytes of length, then a pickle of a function of ``benchseal.certificate`` and its arguments. Answers:
eight bytes of length, one that says which kind, then a PDF or JSON.
"""

from __future__ import annotations

import json
import os
import pickle
import shutil
import sys
import sysconfig
import zoneinfo
from pathlib import Path
from typing import Any, BinaryIO, Final

from benchseal import shipped

PDF: Final = b"P"
PROBLEMS: Final = b"N"
FAULT: Final = b"F"
LENGTH: Final = 8
OWN: Final = "papers-"  # how the name of its folder begins

_FORBIDDEN: Final = frozenset(
    {"socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.bind", "subprocess.Popen", "os.system",
     "os.exec", "os.posix_spawn", "os.fork", "os.forkpty", "pty.spawn", "os.startfile", "webbrowser.open"}
)  # fmt: skip
_CHANGING: Final = frozenset({"os.remove", "os.rename", "os.mkdir", "os.rmdir", "os.truncate", "os.link", "os.symlink",
                              "os.chmod", "os.chown", "os.utime", "shutil.rmtree"})  # fmt: skip
_WRITES: Final = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


class OverreachError(PermissionError):
    """Something asked for what no paper needs."""


class Guard:
    """Listens to Python's audit events (PEP 578) once ``on``; keeps what was refused."""

    def __init__(self, own: Path) -> None:
        self._own = str(own.resolve())
        self._readable = tuple(dict.fromkeys((self._own, *_homes())))
        self.refused: list[str] = []
        self.on = False

    def __call__(self, event: str, args: tuple[Any, ...]) -> None:
        """One event. Raises OverreachError for one that no paper needs."""
        if not self.on:
            return
        if event in _FORBIDDEN:
            self._refuse(f"{event}: no paper needs it")
        elif event in _CHANGING and not self._is_in(args[0], (self._own,)):
            self._refuse(f"{event} {args[0]}")
        elif event == "open" and not isinstance(args[0], int):
            self._opened(*args)

    def _opened(self, name: object, mode: object, flags: object) -> None:
        writes = (isinstance(mode, str) and bool(set(mode) & set("wax+"))) or bool(int(str(flags or 0)) & _WRITES)
        if not self._is_in(name, (self._own,) if writes else self._readable):
            self._refuse(f"to {'write' if writes else 'read'} {name}")

    @staticmethod
    def _is_in(name: object, folders: tuple[str, ...]) -> bool:
        path = os.path.realpath(os.fsdecode(name)) if isinstance(name, str | bytes | os.PathLike) else ""
        return path == os.devnull or any(path == folder or path.startswith(folder + os.sep) for folder in folders)

    def _refuse(self, what: str) -> None:
        self.refused.append(what)
        raise OverreachError(what)


def _homes() -> list[str]:
    """Folders of the interpreter, of the packages and of the time zones: what is read late while a paper is made."""
    names = [sysconfig.get_path(name) for name in ("stdlib", "platstdlib", "purelib", "platlib")]
    names += [*zoneinfo.TZPATH, *(path for path in sys.path if path), str(shipped.templates())]
    return [os.path.realpath(name) for name in names if name]


def main() -> None:
    """Serve until standard input ends."""
    limits, own = json.loads(sys.argv[1]), Path(sys.argv[2])
    requests, answers = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints is no part of an answer
    guard = Guard(own)
    sys.addaudithook(guard)
    _load()
    _limit(limits)
    while (request := _read(requests)) is not None:
        _allow_time(limits["processor_s"])
        kind, answer = answered(request, guard)
        answers.write((len(answer)).to_bytes(LENGTH, "big") + kind + answer)
        answers.flush()
    if own.name.startswith(OWN):  # the parent does it too, unless it was killed
        shutil.rmtree(own, ignore_errors=True)


def answered(request: bytes, guard: Guard) -> tuple[bytes, bytes]:
    """What to answer to one request; any exception is a fault with its name."""
    make, args, options = pickle.loads(request)  # noqa: S301  from the process that started this one
    guard.refused.clear()
    guard.on = True
    try:
        made = make(*args, **options)
        problems = [] if isinstance(made, bytes) else [[one.code, one.where, one.what, one.remedy] for one in made]
    except BaseException as fault:  # noqa: BLE001  a template may raise anything, the renderer stops by one of its own
        return FAULT, _fault(fault, guard)
    finally:
        guard.on = False
    if guard.refused:
        return FAULT, _fault(OverreachError(guard.refused[0]), guard)
    if isinstance(made, bytes):
        return PDF, made
    return PROBLEMS, json.dumps(problems).encode()


def _fault(fault: BaseException, guard: Guard) -> bytes:
    names = [kind.__name__ for kind in type(fault).__mro__]
    return json.dumps({"is": names, "says": str(fault)[:500], "refused": guard.refused[:3]}).encode()


def _load() -> None:
    """Everything slow, before the first limit counts."""
    import mimetypes  # noqa: PLC0415  reads a file of the system

    import benchseal.certificate.render  # noqa: PLC0415
    import benchseal.certificate.shipped_only  # noqa: PLC0415
    import benchseal.certificate.tagging  # noqa: F401, PLC0415

    mimetypes.init()


def _read(stream: BinaryIO) -> bytes | None:
    head = stream.read(LENGTH)
    return stream.read(int.from_bytes(head, "big")) if len(head) == LENGTH else None


if sys.platform == "win32":  # no such limits there: the parent's clock and the ear on what Python opens remain

    def _limit(limits: dict[str, int]) -> None:
        del limits

    def _allow_time(processor_s: int) -> None:
        del processor_s

else:
    import resource

    def _limit(limits: dict[str, int]) -> None:
        wanted = {
            resource.RLIMIT_AS: limits["memory_bytes"],
            resource.RLIMIT_FSIZE: limits["file_bytes"],
            resource.RLIMIT_NOFILE: limits["open_files"],
            resource.RLIMIT_CORE: 0,
        }
        for name, most in wanted.items():
            resource.setrlimit(name, (_within(name, most), _within(name, most)))

    def _allow_time(processor_s: int) -> None:
        """So many more seconds of processor time: the limit counts from the start of the process."""
        used = resource.getrusage(resource.RUSAGE_SELF)
        until = int(used.ru_utime + used.ru_stime) + 1 + processor_s
        resource.setrlimit(resource.RLIMIT_CPU, (until, resource.getrlimit(resource.RLIMIT_CPU)[1]))

    def _within(name: int, most: int) -> int:
        hard = resource.getrlimit(name)[1]
        return most if hard == resource.RLIM_INFINITY else min(most, hard)


if __name__ == "__main__":
    main()
