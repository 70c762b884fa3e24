"""Where user id and password come from: an unechoed prompt, or a pipe named by its descriptor. Nowhere else."""

from __future__ import annotations

import getpass
import os
import stat
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.desk.admission import Credentials, Password, Session
from benchseal.problems import Problem, Refusal, Stopped

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.desk.site import Site

_LONGEST = 4096
_MARKS = (
    (b"\xef\xbb\xbf", "UTF-8 (ef bb bf)"),
    (b"\xff\xfe", "UTF-16 (ff fe)"),
    (b"\xfe\xff", "UTF-16 (fe ff)"),
)


def credentials(args: Namespace, site: Site, how_many: int = 1) -> tuple[Credentials, ...]:
    """Who acts. For acts that are not signed an open session does. With ``--second`` a second person's comes last."""
    seconded = int(getattr(args, "second", False))
    if args.secret_fd is not None:
        return passwords(args.secret_fd, how_many + seconded)
    token = _token(site) if args.needs == "session" else ""
    if token and not seconded:
        return (Session(token),)
    if not at_terminal():
        what = "nobody is signed in" if args.needs == "session" else "this act needs the password itself"
        raise Stopped(
            Refusal(
                "sign-in.none",
                args.command,
                f"{what}, and there is no terminal to ask at.",
                "Give user id and password with --secret-fd N (a pipe)"
                + (", or run `benchseal sign-in` first." if args.needs == "session" else "."),
            )
        )
    if token:
        return (Session(token), asked())
    return tuple(asked() for _ in range(how_many + seconded))


def credentials_and_line(args: Namespace, site: Site, how_many: int, ask: str) -> tuple[tuple[Credentials, ...], str]:
    """Who acts, and one more secret: the line after theirs in the pipe, or asked for with ``ask``."""
    if args.secret_fd is None:
        given = credentials(args, site, how_many)
        return given, getpass.getpass(ask)
    *pairs, last = secret_lines(args.secret_fd, 2 * how_many + 1)
    people = zip(pairs[::2], pairs[1::2], strict=True)
    return tuple(Password(person, password) for person, password in people), last


def passwords(descriptor: int, how_many: int) -> tuple[Password, ...]:
    """User id and password of each person, two lines each, from an open pipe."""
    lines = secret_lines(descriptor, 2 * how_many)
    pairs = zip(lines[::2], lines[1::2], strict=True)
    return tuple(Password(person, password) for person, password in pairs)


def one_more(args: Namespace) -> Password:
    """The next person, where how many are needed is known only on the way: two further lines of the pipe, or asked.

    Read byte by byte, so that what follows stays in the pipe for the next person.
    """
    if args.secret_fd is None:
        if not at_terminal():
            what = "this act needs the password itself, and there is no terminal to ask at."
            remedy = "Give user id and password of each person with --secret-fd N (a pipe)."
            raise Stopped(Refusal("sign-in.none", args.command, what, remedy))
        return asked()
    where = f"--secret-fd {args.secret_fd}"
    try:
        if stat.S_ISREG(os.fstat(args.secret_fd).st_mode):
            what = "it is a file; a password must not lie in one."
            raise Stopped(Refusal("sign-in.secret-in-file", where, what, "Give a pipe."))
        person, password = _texts([_line(args.secret_fd), _line(args.secret_fd)], where)
    except (OSError, OverflowError) as fault:
        raise Stopped(
            Problem("sign-in.secret-unreadable", where, f"it cannot be read: {fault}.", "Give a pipe.")
        ) from None
    if not (person and password):
        what = "another user id and password are needed; the pipe holds no more."
        raise Stopped(
            Problem("sign-in.secret-short", where, what, "Write user id and password, a line each, in order.")
        )
    return Password(person, password)


def _line(descriptor: int) -> bytes:
    found = bytearray()
    while len(found) < _LONGEST and (letter := os.read(descriptor, 1)) not in {b"", b"\n"}:
        found += letter
    return bytes(found)


def _texts(lines: list[bytes], where: str) -> list[str]:
    """Lines without their ends. Raises Stopped for what is not UTF-8 without a mark; no byte of a secret is shown.

    A mark is no part of a user id, and nobody sees it: the right password would be refused time after time.
    """
    mark = next((name for begins, name in _MARKS if lines[0].startswith(begins)), "")
    what = f"what came begins with the byte order mark of {mark}." if mark else ""
    texts: list[str] = []
    for number, line in enumerate(lines, start=1):
        try:
            texts.append(line.decode("utf-8").rstrip("\r\n"))
        except UnicodeDecodeError:
            what = what or f"line {number} of what came is not UTF-8."
        if b"\0" in line:
            what = what or f"line {number} of what came holds a zero byte, as UTF-16 does."
    if what:
        remedy = "Write user id and password as UTF-8 without a byte order mark, and give them again."
        raise Stopped(Problem("sign-in.secret-unreadable", where, what, remedy))
    return texts


def secret_lines(descriptor: int, how_many: int) -> list[str]:
    """Lines from an open pipe. Raises Stopped for a regular file: a password must not lie in one."""
    where = f"--secret-fd {descriptor}"
    try:
        if stat.S_ISREG(os.fstat(descriptor).st_mode):
            what = "it is a file; a password must not lie in one."
            raise Stopped(Refusal("sign-in.secret-in-file", where, what, "Give a pipe."))
        with os.fdopen(descriptor, "rb", closefd=descriptor != 0) as pipe:
            lines = _texts([pipe.readline(_LONGEST) for _ in range(how_many)], where)
    except (OSError, OverflowError) as fault:
        raise Stopped(
            Problem("sign-in.secret-unreadable", where, f"it cannot be read: {fault}.", "Give a pipe.")
        ) from None
    if not all(lines):
        what = f"{how_many} lines are needed, {sum(map(bool, lines))} came."
        raise Stopped(
            Problem("sign-in.secret-short", where, what, "Write user id and password, a line each, in order.")
        )
    return lines


def at_terminal() -> bool:
    """Whether somebody can be asked: standard input is there and is a terminal."""
    return sys.stdin is not None and sys.stdin.isatty()


def keep_token(site: Site, token: str) -> Path:
    """Keep a session token where only its user reads it."""
    path = _token_path(site)
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    path.unlink(missing_ok=True)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as file:
        file.write(token)
    return path


def drop_token(site: Site) -> str:
    """Forget the session token; it, or empty."""
    token = _token(site)
    _token_path(site).unlink(missing_ok=True)
    return token


def _token(site: Site) -> str:
    try:
        return _token_path(site).read_text(encoding="utf-8").strip()
    except OSError:
        return ""


def _token_path(site: Site) -> Path:
    home = os.environ.get("XDG_STATE_HOME") or os.environ.get("LOCALAPPDATA")
    base = Path(home) if home else Path.home() / ".local" / "state"
    return base / "benchseal" / f"session-{site.ledger}"


def asked() -> Password:
    """User id and password from the terminal; the password is not shown."""
    print("User id: ", end="", file=sys.stderr, flush=True)
    person = sys.stdin.readline().strip()
    return Password(person, getpass.getpass("Password: "))
