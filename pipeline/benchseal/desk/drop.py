"""Putting the files of a delivery into a folder so that nobody ever sees half of one.

Every file is written under a temporary ``.part`` name, flushed to the disk, read back and compared; only then do the
final names appear, in the given order, each by one step of the file system, and never over another file; there each is
read once more. A crash at any point leaves only whole files under final names; the repeat, with the same bytes,
finishes the rest.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import stat
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchseal.problems import Finding, Stopped, Trouble

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

_NO_LINKS: Final = {errno.EPERM, errno.EOPNOTSUPP, errno.ENOTSUP, errno.ENOSYS, errno.EMLINK, errno.EINVAL}
_NO_FOLDER_SYNC: Final = {errno.EINVAL, errno.EOPNOTSUPP, errno.ENOTSUP, errno.ENOSYS}
_HELD_ON_WINDOWS: Final = {5, 32}  # access denied, sharing violation: a scanner or a spreadsheet holds the file
_PAUSES_S: Final = (0.05, 0.1, 0.2, 0.4, 0.75, 1.0)  # 2.5 seconds in all

_FULL: Final = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_AWAY: Final = {errno.ENOENT, errno.ENOTDIR, errno.ESTALE, errno.EHOSTDOWN, errno.EHOSTUNREACH, errno.ENETUNREACH}
_FORBIDDEN: Final = {errno.EACCES, errno.EPERM}


_PART: Final = re.compile(r"(.+)\.[0-9a-f]{12}\.part")


class FileOperations:
    """The steps ``drop`` takes in the world, one method each, so that tests can stop between any two."""

    def read(self, path: Path) -> bytes | None:
        """Bytes of a plain file; None where nothing is. Raises FileExistsError for a folder, link, pipe or device."""
        try:
            status = path.lstat()
            if not stat.S_ISREG(status.st_mode):
                raise FileExistsError(errno.EEXIST, "not a plain file", str(path))
            return path.read_bytes()
        except FileNotFoundError:  # also between the two: another exporter swept it
            return None

    def write(self, path: Path, data: bytes) -> None:
        """A new file, its bytes flushed to the disk. A failed flush is never tried again on the same file."""
        with path.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())

    def publish(self, part: Path, final: Path) -> None:
        """Give a finished file its final name.

        Raises FileExistsError where the name is taken, FileNotFoundError where the part is gone.
        """
        if os.name == "nt":
            _rename_on_windows(part, final)
            return
        try:
            os.link(part, final)  # unlike a rename it never replaces
        except OSError as fault:
            if fault.errno not in _NO_LINKS:
                raise
            if os.path.lexists(final):
                raise FileExistsError(errno.EEXIST, "name taken", str(final)) from None
            part.rename(final)
        else:
            self.remove(part)

    def sync_folder(self, folder: Path) -> None:
        """Flush the folder's list of names. Windows has no such call, some network folders refuse it."""
        if os.name == "nt":
            return
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        except OSError as fault:
            if fault.errno not in _NO_FOLDER_SYNC:
                raise
        finally:
            os.close(handle)

    def remove(self, path: Path) -> None:
        """Remove a file if it is there."""
        path.unlink(missing_ok=True)

    def parts(self, final: Path) -> list[Path]:
        """Temporary files left over for one final name."""
        start = f"{final.name}."
        return [one for one in final.parent.iterdir() if one.name.startswith(start) and one.name.endswith(".part")]

    def done_parts(self, folder: Path) -> list[Path]:
        """Temporary files of any delivery whose file stands under its final name: an exporter died behind another."""
        found = ((one, _PART.fullmatch(one.name)) for one in folder.iterdir())
        return [one for one, named in found if named is not None and (folder / named[1]).exists()]


@dataclass(frozen=True, slots=True)
class Dropped:
    """placed: put there now. already: equal files that were there before. Both in order."""

    placed: tuple[str, ...]
    already: tuple[str, ...]


FILE_OPERATIONS: Final = FileOperations()


def drop(
    folder: Path, files: Mapping[str, bytes], order: Sequence[str], operations: FileOperations = FILE_OPERATIONS
) -> Dropped:
    """Put ``files`` into ``folder``, final names appearing in ``order``; the folder must exist.

    A repeat with the same bytes changes nothing and succeeds. Raises Stopped with the Finding ``delivery.name-taken``
    where another file has a name, before anything is put down; with a Trouble where disk or folder fail: then only
    whole files stand under final names. Raises ValueError for names that are no plain file names.
    """
    _require_plain(files, order)
    waiting: dict[str, Path] = {}
    try:
        already = tuple(name for name in order if _is_there(folder / name, files[name], operations))
        for name in (name for name in order if name not in already):
            waiting[name] = folder / f"{name}.{secrets.token_hex(6)}.part"
            _write_part(waiting[name], files[name], operations)
        if already:
            operations.sync_folder(folder)  # an earlier try may have stopped between a name and this
        for name, part in waiting.items():
            _publish(part, folder / name, files[name], operations)
            _require_kept(folder / name, files[name], operations)
            operations.sync_folder(folder)
        _sweep(folder, order, operations)
    except OSError as fault:
        _discard(waiting.values(), operations)
        raise Stopped(_trouble(folder, fault)) from fault
    except BaseException:
        _discard(waiting.values(), operations)
        raise
    return Dropped(tuple(waiting), already)


def _require_plain(files: Mapping[str, bytes], order: Sequence[str]) -> None:
    if sorted(order) != sorted(files):
        raise ValueError("order and files name different files")
    for name in order:
        if (
            not name
            or not name.isascii()
            or not name.isprintable()
            or set(name) & set('/\\:*?"<>|')
            or name.strip(". ") != name
        ):
            raise ValueError(f"{name!r} is not a plain file name")


def _is_there(final: Path, data: bytes, operations: FileOperations) -> bool:
    try:
        found = operations.read(final)
    except FileExistsError:
        raise Stopped(_name_taken(final)) from None
    if found is None:
        return False
    if found != data:
        raise Stopped(_name_taken(final))
    return True


def _write_part(part: Path, data: bytes, operations: FileOperations) -> None:
    """A part gone already was swept by another exporter that placed the file; ``_publish`` looks."""
    operations.write(part, data)
    if operations.read(part) not in (data, None):
        what, remedy = "a file read back differs from what was written.", "Nothing was delivered."
        raise Stopped(_not_kept(part.parent, what, remedy))


def _require_kept(final: Path, data: bytes, operations: FileOperations) -> None:
    """What stands under the final name. Nothing there is no fault: a receiver may take files away at once."""
    if operations.read(final) not in (data, None):
        what = "a file read back under its final name differs from what was written."
        raise Stopped(_not_kept(final, what, "Tell the receiver not to load it."))


def _not_kept(where: Path, what: str, first: str) -> Trouble:
    remedy = f"{first} Have the disk or share checked, then run the export again."
    return Trouble("delivery.not-kept", str(where), what, remedy)


def _publish(part: Path, final: Path, data: bytes, operations: FileOperations) -> None:
    """Another exporter may have placed the same delivery meanwhile: an equal file is as good; ours is swept."""
    try:
        operations.publish(part, final)
    except (FileExistsError, FileNotFoundError):
        if not _is_there(final, data, operations):
            raise


def _sweep(folder: Path, order: Sequence[str], operations: FileOperations) -> None:
    """Parts of earlier, interrupted tries. A part still in use elsewhere is missed by nobody: its file is placed."""
    with contextlib.suppress(OSError):
        for name in order:
            _discard(operations.parts(folder / name), operations)
        _discard(operations.done_parts(folder), operations)


def _discard(parts: Iterable[Path], operations: FileOperations) -> None:
    for part in parts:
        with contextlib.suppress(OSError):
            operations.remove(part)


def _rename_on_windows(part: Path, final: Path) -> None:
    """A rename there refuses a taken name; a file somebody holds open is tried again for a short while."""
    for pause_s in (*_PAUSES_S, None):
        try:
            part.rename(final)
        except PermissionError as fault:
            if pause_s is None or getattr(fault, "winerror", None) not in _HELD_ON_WINDOWS:
                raise
            time.sleep(pause_s)
        else:
            return


def _name_taken(final: Path) -> Finding:
    return Finding(
        "delivery.name-taken",
        str(final),
        "another file has this name; nothing was overwritten.",
        "Find out where it came from and move it away, then run the export again.",
    )


def _trouble(folder: Path, fault: OSError) -> Trouble:
    where, why = str(folder), os.strerror(fault.errno) if fault.errno else str(fault)
    again = "Nothing half stands under a final name; run the export again"
    if fault.errno in _FULL:
        return Trouble("delivery.disk-full", where, "there is no space left.", f"Free space. {again}.")
    if fault.errno == errno.EROFS:
        return Trouble("delivery.read-only", where, "the folder cannot be written.", f"Make it writable. {again}.")
    if fault.errno in _FORBIDDEN:
        return Trouble("delivery.not-permitted", where, f"{why}.", f"Give this account the right to write. {again}.")
    if fault.errno in _AWAY:
        return Trouble("delivery.unreachable", where, f"{why}.", f"{again} when the folder is back.")
    return Trouble("delivery.disk-failed", where, f"{why}.", f"Have the disk or share checked. {again}.")
