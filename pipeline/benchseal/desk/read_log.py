"""The log of reads: a file a year beside the store, a line for each read; the ledger notes each day's digest.

The log is no part of the truth: a read must not wait for the one writer, nor fill the ledger. What makes a later change
show is that the first act of a later day puts the digest of each day before it on record. A line that cannot be
written does not stop the read: somebody who looks at a full disk has to see something.
"""

from __future__ import annotations

import os
import re
import sys
from bisect import bisect_left
from contextlib import suppress
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Final

from filelock import FileLock, Timeout

from benchseal import __version__
from benchseal.desk.clock import stamp
from benchseal.desk.site import SETTINGS_FILE
from benchseal.desk.texts import kept_text
from benchseal.problems import Finding, Stopped, Trouble
from benchseal.records.canonical import digest
from benchseal.records.reads import NotedRead, ReadBy
from benchseal.records.shape import read_record, record_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from benchseal.desk.acting import Acting
    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row

READS_FILE: Final = re.compile(r"reads-\d{4}\.jsonl")
_LOCK: Final = "reads.lock"
_WAIT_SECONDS: Final = 2
_LONGEST: Final = 300  # signs of one value asked for
_TOKEN: Final = re.compile(r"(SY-[0-9]{5,9})[.][A-Za-z0-9_-]+")  # of a system, with its secret
_KEEP: Final = "Keep the file as it is, compare it with the one in the last backup, and find out who changed it."


@dataclass(frozen=True, slots=True)
class Logged:
    """A line of the log. read: None where it cannot be read. entry: which one notes its day; 0 where none does yet."""

    file: str
    number: int
    read: NotedRead | None
    entry: int


@dataclass(frozen=True, slots=True)
class WantedReads:
    """What reads to find; an empty text asks nothing. since, until: YYYY-MM-DD, both days included, UTC."""

    who: str = ""
    since: str = ""
    until: str = ""
    text: str = ""


def note_read(site: Site, person: str, by: ReadBy, command: str, asked: Sequence[str]) -> Trouble | None:
    """Put a line into the log; what kept it out, where something did. The secret of a token never stands in it.

    Each text as records keep it: names of files come as they are, and a sign may join with the one before it.
    """
    at = stamp(site.clock())
    command, *given = (kept_text(_TOKEN.sub(r"\1.…", one)) for one in (command, *asked))
    cut = tuple(one if len(one) <= _LONGEST else f"{one[:_LONGEST]}…" for one in given)
    line = record_bytes(NotedRead("read/1", at, person, by, _account(), command, cut, __version__)) + b"\n"
    path = site.folder / f"reads-{at[:4]}.jsonl"
    try:
        (site.folder / SETTINGS_FILE).stat()  # the lock would make a folder that is away anew: of an unmounted site
        with FileLock(site.folder / _LOCK, timeout=_WAIT_SECONDS), path.open("a+b") as file:
            if file.tell() and (file.seek(-1, os.SEEK_END), file.read(1))[1] != b"\n":
                line = b"\n" + line  # after a line that a power cut left unfinished
            file.write(line)
    except (OSError, Timeout) as fault:
        words = getattr(fault, "strerror", "") or str(fault)
        what = f"this read is not in the log: {words}."
        return Trouble("reads.not-noted", str(path), what, "Look at the disk and at the rights on the site's folder.")
    return None


def note_reads(acting: Acting) -> None:
    """Put the digest of each day before today, that the ledger does not hold yet, on record. Part of every act."""
    today = acting.at[:10]
    for path in _files(acting.site):
        begins = max((int(row["ends"]) for row in acting.tx.rows("reads_noted", file=path.name)), default=0)
        for day, lines in _days_before(path, begins, today):
            data = b"".join(lines)
            acting.write(
                "reads.noted",
                f"reads/{day or path.stem}",
                facts={
                    "file": path.name,
                    "begins": begins,
                    "ends": begins + len(data),
                    "lines": len(lines),
                    "sha256": digest(data),
                },
                actor="program",
            )
            begins += len(data)


def read_log_findings(view: Reading, site: Site) -> list[Finding]:
    """Where the log is not what the ledger notes of it: a file gone, cut short, or a day with other lines."""
    findings: list[Finding] = []
    for name, group in groupby(view.rows("reads_noted"), key=lambda row: str(row["file"])):
        findings += _differs(site.folder / name, list(group))
    return findings


def log_lines(view: Reading, site: Site) -> Iterator[Logged]:
    """Every line, a file after the other, in the order they came. Raises Stopped where a file cannot be read."""
    for path in _files(site):
        try:
            data = path.read_bytes()
        except OSError as fault:
            what, remedy = f"it cannot be read: {fault.strerror}.", "Look at the rights on it."
            raise Stopped(Trouble("reads.unreadable", str(path), what, remedy)) from None
        noted = [(int(row["ends"]), int(row["seq"])) for row in view.rows("reads_noted", file=path.name)]
        place = 0
        for number, line in enumerate(data.splitlines(keepends=True), 1):
            place += len(line)
            day = bisect_left(noted, (place, 0))
            yield Logged(path.name, number, _read(line), noted[day][1] if day < len(noted) else 0)


def find_reads(view: Reading, site: Site, wanted: WantedReads) -> Iterator[Logged]:
    """Lines that fit everything asked, and every line that cannot be read. Raises Stopped where the log cannot be."""
    text = wanted.text.casefold()
    for one in log_lines(view, site):
        read = one.read
        if read is None or (
            wanted.who in {"", read.person or "nobody", read.person.removeprefix("p-")}
            and (not wanted.since or read.at[:10] >= wanted.since)
            and (not wanted.until or read.at[:10] <= wanted.until)
            and (not text or text in " ".join((read.command, *read.asked)).casefold())
        ):
            yield one


def _files(site: Site) -> list[Path]:
    return sorted(path for path in site.folder.glob("reads-*.jsonl") if READS_FILE.fullmatch(path.name))


def _days_before(path: Path, begins: int, today: str) -> list[tuple[str, list[bytes]]]:
    """Whole lines from ``begins`` to the first one of today, day by day; safe on the disk before they are noted.

    A log that cannot be read stops no act: ``doctor`` says so.
    """
    found: list[tuple[str, bytes]] = []
    with suppress(OSError), path.open("r+b") as file:
        file.seek(begins)
        for line in file:
            read = _read(line)
            day = read.at[:10] if read else (found[-1][0] if found else "")
            if day == today or not line.endswith(b"\n"):
                break
            found.append((day, line))
        if found:
            os.fsync(file.fileno())
    return [(day, [line for _, line in lines]) for day, lines in groupby(found, key=lambda one: one[0])]


def _read(line: bytes) -> NotedRead | None:
    try:
        return read_record(NotedRead, line.rstrip(b"\n"))
    except ValueError:
        return None


def _differs(path: Path, rows: list[Row]) -> Iterator[Finding]:
    lines = sum(int(row["lines"]) for row in rows)
    try:
        data = path.read_bytes()
    except OSError as fault:
        what = f"it cannot be read ({fault.strerror}); the ledger notes {lines} lines of it."
        yield Finding("integrity.read-log", path.name, what, _KEEP)
        return
    for row in rows:
        begins, ends = int(row["begins"]), int(row["ends"])
        if digest(data[begins:ends]) != row["sha256"]:
            short = f"; the file ends at {len(data)}" if len(data) < ends else ""
            place = f"bytes {begins} to {ends}, {row['lines']} lines of {row['day']}"
            what = f"{place}, are not those entry {row['seq']} notes{short}."
            yield Finding("integrity.read-log", path.name, what, _KEEP)


def _account() -> str:
    """The account of the machine; asked of the system, not of a variable."""
    if sys.platform == "win32":
        import getpass  # noqa: PLC0415

        return getpass.getuser()
    import pwd  # noqa: PLC0415

    try:
        return pwd.getpwuid(os.getuid()).pw_name
    except KeyError:
        return str(os.getuid())
