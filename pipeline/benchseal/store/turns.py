"""Whose turn it is to write: processes that wait are served in the order they came.

A lock that is asked for again and again goes to whoever asks first after it came free, mostly to the one who had it
last; with eight processes at work one of them waited for seconds. So each takes a place in a row first, and asks for
the lock once the place before its own is left. Places are locked bytes of a small file: the operating system frees
them whatever becomes of a process. Only the order rests on this, never the safety: that is the lock's own, and where
the file cannot be used everybody asks for the lock as before.
"""

from __future__ import annotations

import os
import sys
import time
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_PLACES: Final = 1000  # more than may ever wait at once
_COUNTER: Final = 1 << 20  # locked while the length of the file is read and set; beyond what is ever written
_FIRST_PLACE: Final = _COUNTER + 1
_LOOK_SECONDS: Final = 0.002

if sys.platform == "win32":  # pragma: no cover  not run on this system
    import msvcrt

    def _lock(descriptor: int, byte: int) -> None:
        os.lseek(descriptor, byte, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)

    def _free(descriptor: int, byte: int) -> None:
        os.lseek(descriptor, byte, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _lock(descriptor: int, byte: int) -> None:
        fcntl.lockf(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, byte)

    def _free(descriptor: int, byte: int) -> None:
        fcntl.lockf(descriptor, fcntl.LOCK_UN, 1, byte)


@contextmanager
def turn(path: Path, seconds: float) -> Iterator[None]:
    """Wait until all who came before have left, at most so long; a place of one's own until the block ends."""
    descriptor = None
    with suppress(OSError):
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        _wait(descriptor, time.monotonic() + seconds)
    try:
        yield
    finally:
        if descriptor is not None:
            with suppress(OSError):
                os.close(descriptor)


def _wait(descriptor: int, until: float) -> None:
    """Take the next place and look until the one before it is left. Raises OSError where the system refuses."""
    if not _locked(descriptor, _COUNTER, until):
        return
    # The length of the file is the next place: no byte is ever written, so a full disk changes nothing.
    place = os.fstat(descriptor).st_size % _PLACES
    os.ftruncate(descriptor, (place + 1) % _PLACES)
    with suppress(OSError):  # held only where a thousand wait: then order is no longer kept
        _lock(descriptor, _FIRST_PLACE + place)
    _free(descriptor, _COUNTER)
    before = _FIRST_PLACE + (place - 1) % _PLACES
    if _locked(descriptor, before, until):
        _free(descriptor, before)


def _locked(descriptor: int, byte: int, until: float) -> bool:
    while True:
        try:
            _lock(descriptor, byte)
        except (BlockingIOError, PermissionError):
            if time.monotonic() > until:
                return False
            time.sleep(_LOOK_SECONDS)
        else:
            return True
