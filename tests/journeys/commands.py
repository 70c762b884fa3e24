"""A copy of the played demo and its command line, called in this process or started as IT and laboratory people do."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from benchseal.cli import main

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

ANALYST, TRACE_ANALYST = "p-maren.holt", "p-tobias.quill"
REVIEWER, APPROVER, SECOND_APPROVER = "p-edda.farrow", "p-ruth.calloway", "p-jonas.wick"
ADMINISTRATOR = "p-sil.penhallow"


class Answer(NamedTuple):
    """Exit code, standard output, standard error."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.out)
        return found


class Kept(NamedTuple):
    """How much a site holds."""

    entries: int
    objects: int


@dataclass(frozen=True)
class Line:
    """The command line of one site."""

    site: Path
    capsys: pytest.CaptureFixture[str]

    def __call__(self, *words: str, by: tuple[str, ...] = (), more: tuple[str, ...] = ()) -> Answer:
        """One command in this process. by: people whose user id and password go through a pipe; more: further lines."""
        self.capsys.readouterr()
        given = [*words, *self._site(words)]
        if by or more:
            given += ["--secret-fd", str(pipe_of("".join(f"{line}\n" for line in (*self.secrets(*by), *more))))]
        try:
            code = main(given)
        except SystemExit as end:
            code = int(end.code or 0)
        return Answer(code, *self.capsys.readouterr())

    def start(self, *words: str, by: tuple[str, ...] = ()) -> subprocess.Popen[bytes]:
        """The same as a process of its own; without people its standard input is empty."""
        command = [sys.executable, "-m", "benchseal", *words, *self._site(words)]
        if not by:
            return subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=-1, stderr=-1)  # noqa: S603
        text = "".join(f"{line}\n" for line in self.secrets(*by))
        source = pipe_of(text)
        try:
            return subprocess.Popen([*command, "--secret-fd", "0"], stdin=source, stdout=-1, stderr=-1)  # noqa: S603
        finally:
            os.close(source)

    def secrets(self, *people: str) -> list[str]:
        """User id and password of each, as ``SITE/private/demo-people.txt`` has them."""
        lines = (self.site / "private" / "demo-people.txt").read_text(encoding="utf-8").splitlines()
        found = dict(line.split("\t")[:2] for line in lines)
        return [word for person in people for word in (person, found[person])]

    def inbox(self, name: str) -> Path:
        return self.site / "inbox" / name

    def kept(self) -> Kept:
        return kept(self.site)

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        return rows(self.site, query)

    def _site(self, words: tuple[str, ...]) -> list[str]:
        alone = {("calc",), ("demo",), ("init",), ("restore",)}
        if "--site" in words or words[:1] in alone or words[:2] in {("ledger", "witness"), ("key", "follow")}:
            return []
        return ["--site", str(self.site)]


def finished(process: subprocess.Popen[bytes]) -> Answer:
    out, err = process.communicate(timeout=120)
    return Answer(process.returncode, out.decode(), err.decode())


def pipe_of(text: str) -> int:
    """The reading end of a pipe that holds ``text``."""
    reading, writing = os.pipe()
    os.write(writing, text.encode())
    os.close(writing)
    return reading


def kept(site: Path) -> Kept:
    return Kept(*(int(rows(site, f"SELECT count(*) FROM {table}")[0][0]) for table in ("ledger", "objects")))  # noqa: S608


def rows(site: Path, query: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(site / "store.sqlite")) as connection:
        return connection.execute(query).fetchall()


PAGE_NAMED = "What to do about each code stands in docs/manual/problems-input.md.\n"


def one_line(text: str) -> bool:
    """Exactly one line but for that of the manual, and no trace of the program's inside."""
    said = text.removesuffix(PAGE_NAMED)
    return (
        len(said.splitlines()) == 1 and said.endswith("\n") and "Traceback" not in said and "fault of this" not in said
    )
