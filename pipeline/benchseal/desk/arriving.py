"""An instrument file as it lies in a folder: looked at before it is opened, and read only where it stays as it is.

A link, a pipe, a device, a name that is a device on Windows are refused unopened: what a person sees under a name
must be what was read. A file that changes while it is read, or that somebody holds locked, is left for a later try.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Final, NamedTuple

from benchseal.desk.texts import kept_text
from benchseal.problems import Problem, Stopped, Trouble

if TYPE_CHECKING:
    from pathlib import Path

LARGEST_FILE_BYTES: Final = 64 * 1024 * 1024
# Names Windows keeps for devices, with any ending (Microsoft, "Naming Files, Paths, and Namespaces"; from memory).
_DEVICE = re.compile(
    r"(?:CON|PRN|AUX|NUL|COM[0-9¹²³]|LPT[0-9¹²³]|CONIN\$|CONOUT\$|CLOCK\$)[ .]*(?:[.:].*)?", re.IGNORECASE
)
_BUSY: Final = {errno.EACCES, errno.EAGAIN}
_AGAIN = "Nothing was read. It is tried again; wait until whoever writes it has finished."

if sys.platform == "win32":  # pragma: no cover  not run on this system

    def _is_locked(_: int) -> bool:
        """There a locked file does not open at all."""
        return False

else:
    import fcntl

    def _is_locked(descriptor: int) -> bool:
        """Whether another process holds a lock on an open file; a share that knows no locks has none."""
        for lock in (fcntl.lockf, fcntl.flock):
            try:
                lock(descriptor, fcntl.LOCK_SH | fcntl.LOCK_NB)
            except OSError as fault:
                if fault.errno in _BUSY:
                    return True
        return False


class Seen(NamedTuple):
    """What tells whether a file is still the same: size in bytes, time of its last change, and which file it is."""

    size: int
    changed_ns: int
    device: int
    number: int


def seen_of(status: os.stat_result) -> Seen:
    """The marks of a file's status."""
    return Seen(status.st_size, status.st_mtime_ns, status.st_dev, status.st_ino)


def unfit_name(path: Path) -> Problem | None:
    """The problem of a file's name; None for a plain one."""
    if _DEVICE.fullmatch(path.name.strip()) or (os.name == "nt" and ":" in path.name):
        what = "the name stands for a device on Windows."
        return Problem("file.device-name", kept_text(str(path)), what, "It was not opened. Give it another name.")
    return None


def unfit_kind(path: Path, status: os.stat_result, largest: int = LARGEST_FILE_BYTES) -> Problem | None:
    """The problem of what lies under a name, by its status alone; None for a plain file of a size that is read."""
    name = kept_text(str(path))
    if stat.S_ISLNK(status.st_mode):
        what = "it is a link to another file."
        return Problem("file.link", name, what, "It was not followed. Give the file itself.")
    if not stat.S_ISREG(status.st_mode):
        kind = "a folder" if stat.S_ISDIR(status.st_mode) else "a device or pipe"
        return Problem("file.not-a-file", name, f"it is {kind}, not a file.", "Name a file.")
    if status.st_size > largest:
        what = f"it has {status.st_size} bytes; at most {largest} are read."
        return Problem("file.too-large", name, what, "Cut it at a section, or ask IT for the limit.")
    return None


def read_arriving(path: Path, largest: int = LARGEST_FILE_BYTES) -> bytes:
    """Bytes of a plain file that nobody is writing. Raises Stopped: a Problem, or a Trouble for now."""
    if problem := unfit_name(path):
        raise Stopped(problem)
    try:
        status = path.lstat()
        if problem := unfit_kind(path, status, largest):
            raise Stopped(problem)
        return _read(path, seen_of(status), largest)
    except FileNotFoundError:
        raise Stopped(
            Problem("file.missing", kept_text(str(path)), "there is no such file.", "Check the name.")
        ) from None
    except OSError as fault:
        if os.name == "nt" and fault.errno == errno.EACCES:  # pragma: no cover  not run on this system
            raise Stopped(_locked(path)) from None
        what = f"{fault.strerror}."
        raise Stopped(Problem("file.unreadable", kept_text(str(path)), what, "Check the rights on it.")) from None


def _read(path: Path, seen: Seen, largest: int) -> bytes:
    flags = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    descriptor = os.open(path, flags)
    with os.fdopen(descriptor, "rb") as file:
        if _is_locked(descriptor):
            raise Stopped(_locked(path))
        begun = seen_of(os.fstat(descriptor))
        data = file.read(largest + 1)
        after = seen_of(os.fstat(descriptor))
    now = None
    with suppress(FileNotFoundError):
        now = seen_of(path.lstat())
    if not (seen == begun == after == now and len(data) == seen.size):
        what = "it changed while it was read."
        raise Stopped(Trouble("file.growing", kept_text(str(path)), what, _AGAIN))
    return data


def _locked(path: Path) -> Trouble:
    return Trouble("file.locked", kept_text(str(path)), "another program holds it.", _AGAIN)
