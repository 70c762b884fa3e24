"""Opening the site a command names, and doing one act there."""

from __future__ import annotations

import errno
import os
import stat
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.secrets_in import credentials
from benchseal.desk.admission import Session, admit
from benchseal.desk.in_force import bring_in_force
from benchseal.desk.perform import perform
from benchseal.desk.read_log import note_read
from benchseal.desk.site import SETTINGS_FILE, TRUST_FILE, Site, open_site
from benchseal.problems import Problem, Stopped, Trouble

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

    from benchseal.desk.acting import Who
    from benchseal.records.reads import ReadBy
    from benchseal.store.sqlite import SqliteReading

_NOT_ASKED = {"command", "function", "json", "needs", "quiet", "secret_fd", "site", "verbose"}
LARGEST_FILE_BYTES = 64 * 1024 * 1024
_SURE = 8  # bytes by which a first line that was cut short is still known
_MAY_PASS = {errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.ESTALE, errno.EBUSY, errno.EINTR, errno.EMFILE, errno.ENFILE}
_OTHER_BEGINNING = "a file of another kind stands there: it does not begin as this command's own files do."


@contextmanager
def site_of(args: Namespace) -> Iterator[Site]:
    """The site of this command, closed afterwards."""
    site = open_site(Path(args.site))
    try:
        yield site
    finally:
        site.store.close()


def do(args: Namespace, act: object, how_many: int = 1) -> int:
    """Do one act for the people who give their credentials; print the receipt."""
    with site_of(args) as site:
        return show.receipt(args, perform(site, act, *credentials(args, site, how_many)))


@contextmanager
def reading(args: Namespace) -> Iterator[tuple[Site, SqliteReading]]:
    """A view of the site for somebody whose identity is checked; any role may read."""
    with site_of(args) as site:
        admitted(args, site)
        bring_in_force(site)
        with site.store.reading() as view:
            yield site, view


def admitted(args: Namespace, site: Site) -> Who:
    """Who reads: their identity is checked, and the read is noted before anything is shown."""
    given = credentials(args, site)[0]
    who = admit(site, given)
    noted(args, site, who.person, "session" if isinstance(given, Session) else "password")
    return who


def noted(args: Namespace, site: Site, person: str, by: ReadBy) -> None:
    """Note a read with what was asked for; say so where that fails, and go on."""
    asked = [f"{name}={text}" for name, value in sorted(vars(args).items()) if (text := _text(name, value))]
    failed = note_read(site, person, by, args.command, asked)
    if failed is not None:
        print(show.one_line(str(failed)), file=sys.stderr)


def _text(name: str, value: object) -> str:
    """What was given for one argument; nothing for how it is to be shown."""
    if name in _NOT_ASKED or value is None or value is False:
        return ""
    if value is True:
        return "yes"
    return " ".join(map(str, value)) if isinstance(value, list) else str(value)


def write_file(name: str, data: bytes, *, is_trust: bool = False) -> None:
    """Write what a command was asked to put into a file, never into a site. Raises Stopped.

    is_trust: it is a trust file, which may take the place of a site's.
    """
    require_not_of_site(name, is_trust=is_trust)
    try:
        Path(name).write_bytes(data)
    except OSError as fault:
        raise _not_written(name, fault) from None


def replace_file(name: str, data: bytes, begins: bytes) -> None:
    """As ``write_file``, in one step: whoever reads meanwhile has the old file or the new one. All may read it.

    begins: how a file begins whose place it may take: nothing else, no link, device or pipe is taken away. The part
    beside it has another ending, so that a collector of ``*.prom`` passes it by. Raises Stopped.
    """
    require_not_of_site(name)
    _require_replaceable(name, begins)
    path = Path(name)
    part = None
    try:
        handle, part = tempfile.mkstemp(".part", f"{path.name}.", path.parent)
        with open(handle, "wb") as file:  # noqa: PTH123  a handle, no name
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(part).chmod(0o644)
        Path(part).replace(path)
    except OSError as fault:
        if part is not None:
            Path(part).unlink(missing_ok=True)
        raise _not_written(name, fault) from None


def require_not_of_site(name: str, *, is_trust: bool = False) -> None:
    """Stop where ``name`` is a file in a site, there or not: its store and keys, what comes in and what goes out.

    Raises Stopped.
    """
    path = Path(name).resolve()
    own = next((one for one in path.parents if (one / SETTINGS_FILE).is_file()), None)
    if own is not None and not (is_trust and path == own / TRUST_FILE):
        what = f"it belongs to the site {own}."
        raise Stopped(Problem("file.of-site", name, what, "Nothing was written. Name a file outside."))


def require_own_kind(name: str, begins: bytes) -> None:
    """Stop where a file stands at ``name`` that does not begin so: it is another one, met by a slip. Raises Stopped."""
    try:
        if not Path(name).is_file():
            return
        with Path(name).open("rb") as file:
            found = file.readline(len(begins))
    except OSError:
        return  # what cannot be read is said where it cannot be written
    line = found.rstrip(b"\n")
    if found and not (begins.startswith(line) and len(line) >= _SURE):  # a full disk may have cut the first line
        raise _other_kind(name, _OTHER_BEGINNING)


def _require_replaceable(name: str, begins: bytes) -> None:
    """Stop where anything but a plain file that begins so stands at ``name``: a file made here is never empty."""
    try:
        if not stat.S_ISREG(Path(name).lstat().st_mode):
            raise _other_kind(name, "a link, folder, device or pipe stands there, not a file of this command.")
        with Path(name).open("rb") as file:
            found = file.read(len(begins))
    except FileNotFoundError:
        return
    except OSError as fault:
        raise _not_written(name, fault) from None
    if found != begins:
        raise _other_kind(name, _OTHER_BEGINNING)


def _other_kind(name: str, what: str) -> Stopped:
    return Stopped(Problem("file.other-kind", name, what, "Nothing was written. Name another file."))


def _not_written(name: str, fault: OSError) -> Stopped:
    what, remedy = f"it cannot be written: {fault.strerror}.", "Name a place that can be written."
    kind = Trouble if fault.errno in _MAY_PASS else Problem  # what does not pass by itself is no matter of trying again
    return Stopped(kind("file.not-written", name, what, remedy))


def _kind_words(path: Path) -> str:
    return "a folder" if path.is_dir() else "a device or pipe"


def file_bytes(name: str, largest: int = LARGEST_FILE_BYTES) -> bytes:
    """Bytes of a regular file of reasonable size. Raises Stopped."""
    path = Path(name)
    try:
        if not path.exists():
            raise Stopped(Problem("file.missing", name, "there is no such file.", "Check the name."))
        if not path.is_file():
            what = f"it is {_kind_words(path)}, not a file."
            raise Stopped(Problem("file.not-a-file", name, what, "Name a file."))
        size = path.stat().st_size
        if size > largest:
            what = f"it has {size} bytes; at most {largest} are read."
            raise Stopped(Problem("file.too-large", name, what, "Cut it at a section, or ask IT for the limit."))
        return path.read_bytes()
    except OSError as fault:
        raise Stopped(Problem("file.unreadable", name, f"{fault.strerror}.", "Check the rights on it.")) from None
