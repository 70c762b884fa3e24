"""Stopping a command at any of its writes: the points in it, and what must hold afterwards (scenes.py has commands)."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import subprocess
import sys
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from tests.attacks.wholes import require_whole_files, state
from tests.conftest import cheap_hashes

from benchseal.desk.checking import verify_site
from benchseal.desk.site import open_site

if TYPE_CHECKING:
    from collections.abc import Callable

CALLS = (
    "write", "pwrite64", "writev", "fsync", "fdatasync", "rename", "renameat", "renameat2", "link", "linkat", "unlink",
    "unlinkat", "ftruncate", "mkdir", "mkdirat", "rmdir",
)  # fmt: skip
_FOREIGN = re.compile(r"temporary/(?!benchseal)")  # files other packages keep for a moment
_CALL = re.compile(r"^(\d+) +(\w+)\((.*)$")


class Said(NamedTuple):
    """How a command ended: exit code, or minus the signal; what it printed."""

    code: int
    out: str
    err: str


class Point(NamedTuple):
    """The nth call of one kind, counted from the start of the command; file: what it touches, as strace shows it."""

    call: str
    nth: int
    file: str


@dataclass(frozen=True)
class Runner:
    """The process that forks commands (fork_server.py)."""

    process: subprocess.Popen[str]

    @classmethod
    def start(cls) -> Runner:
        """A new one; ``stop`` ends it."""
        command = [sys.executable, "-m", "tests.attacks.fork_server"]
        root = Path(__file__).parents[2]
        return cls(subprocess.Popen(command, cwd=root, stdin=-1, stdout=-1, text=True))  # noqa: S603

    def stop(self) -> None:
        """End it."""
        self.process.communicate(timeout=30)

    def __call__(self, site: Path, argv: list[str], by: tuple[str, ...], strace: list[str] | None = None) -> Said:
        """One command of these people."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        folder = site.parent
        request = {
            "argv": [*argv, "--site", str(site)],
            "secrets": [line for person in by for line in (person, password(site, person))],
            "folder": str(folder),
            "strace": strace or [],
        }
        self.process.stdin.write(json.dumps(request) + "\n")
        self.process.stdin.flush()
        answer = json.loads(self.process.stdout.readline())
        texts = ((folder / name).read_text(encoding="utf-8") for name in ("out", "err"))
        return Said(answer["ended"], *texts)


def password(site: Path, person: str) -> str:
    """As the demo wrote it down."""
    lines = (site / "private" / "demo-people.txt").read_text(encoding="utf-8").splitlines()
    return dict(line.split("\t")[:2] for line in lines)[person]


def nothing_more(site: Path) -> None:
    """No check besides those of every scene."""


@dataclass
class Scene:
    """A site on which one command waits to be done.

    again: the command that ends it after any stop, where giving it twice would do it twice. whole, ended: what else
    must hold after any stop, and at the end.
    """

    name: str
    template: Path
    by: tuple[str, ...]
    argv: Callable[[Path], list[str]]
    runner: Runner
    again: Callable[[Path], list[str]] | None = None
    whole: Callable[[Path], None] = nothing_more
    ended: Callable[[Path], None] = nothing_more
    verified: set[str] = field(default_factory=set)
    repeated: set[str] = field(default_factory=set)

    def copy(self, folder: Path) -> Path:
        """A copy to stop a command on."""
        shutil.copytree(self.template, folder / "site")
        return folder / "site"

    def do(self, site: Path, strace: list[str] | None = None) -> Said:
        """The command."""
        return self.runner(site, self.argv(site), self.by, strace)

    def repeat(self, site: Path) -> Said:
        """What a person does after the stop: the same command again."""
        return self.runner(site, (self.again or self.argv)(site), self.by)

    def is_done(self, site: Path) -> bool:
        """Whether all entries of the command are there; where it writes none, what it makes."""
        done = kinds(site) == self.observed[0]
        return done if self.observed[0] != self.before else (site.parent / "copy").is_dir()

    @cached_property
    def before(self) -> list[str]:
        """Kinds of the entries before the command."""
        return kinds(self.template)

    @cached_property
    def observed(self) -> tuple[list[str], list[Point]]:
        """Kinds of the entries after the command undisturbed, and every point at which it touched a file of ours."""
        folder = self.template.parent / "watched"
        site = self.copy(folder)
        said = self.do(site, ["-y", "-e", f"trace={','.join(CALLS)}"])
        assert said.code == 0, said
        return kinds(site), points(folder, (folder / "trace").read_text(encoding="utf-8"))

    def require_whole(self, site: Path) -> None:
        """Nothing lost, doubled or half, wherever the command stopped."""
        done = kinds(site)
        end = self.observed[0]
        assert done == end[: len(done)], (self.before, done)
        assert len(done) >= len(self.before)
        name = contents(site)
        if name not in self.verified:
            assert findings(site) == ()
            self.verified.add(name)
        require_whole_files(site)
        self.whole(site)

    def require_repeatable(self, site: Path, *, always: bool) -> None:
        """The command given again ends where it would have ended.

        Once for each way to stand. With ``always`` that is: the same rows and the same bytes in every file, as after
        each kill before the first commit; else: the same entries, files of the same kinds.
        """
        if self.again is not None and self.is_done(site):
            self.ended(site)
            return  # doing it again is doing it a second time
        alike = sorted(Counter(file.suffix for file in site.parent.rglob("*")).items())
        stands = contents(site) + state(site) if always else repr((kinds(site), alike))
        if stands in self.repeated:
            return
        said = self.repeat(site)
        assert self.is_done(site), (said, kinds(site)[len(self.before) :])
        assert said.code in {0, 5}, said
        if said.code:
            assert clear(said.err), said
        self.require_whole(site)
        self.ended(site)
        self.repeated.add(stands)


def contents(site: Path) -> str:
    """Digest of every row of every table. Opening the store puts right what a kill left in its journal."""
    seen = sha256()
    with closing(sqlite3.connect(site / "store.sqlite")) as store:
        store.text_factory = bytes
        assert store.execute("PRAGMA integrity_check").fetchall() == [(b"ok",)]
        tables = [name.decode() for (name,) in store.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        for table in sorted(tables):
            for row in store.execute(f"SELECT * FROM {table} ORDER BY rowid"):  # noqa: S608  names of our tables
                seen.update(repr((table, row)).encode())
    return seen.hexdigest()


def kinds(site: Path) -> list[str]:
    """Kinds of all entries in order."""
    with closing(sqlite3.connect(site / "store.sqlite")) as store:
        return [kind for (kind,) in store.execute("SELECT json_extract(body, '$.kind') FROM ledger ORDER BY seq")]


def findings(site: Path) -> tuple[object, ...]:
    """Of ``verify --all``."""
    opened = open_site(site, hashes=cheap_hashes)
    try:
        return verify_site(opened).findings
    finally:
        opened.store.close()


def clear(err: str) -> bool:
    """One line for each thing, each with a code, and no trace of the program's inside."""
    lines = err.splitlines()
    return (
        bool(lines)
        and all(re.match(r"[a-z][a-z-]*\.[a-z-]+: ", line) for line in lines)
        and not {"Traceback", "fault of this"} & set(re.findall("Traceback|fault of this", err))
    )


def points(folder: Path, trace: str) -> list[Point]:
    """Calls that did something to files under ``folder``, in order, from a log with the path of each descriptor."""
    counted: Counter[tuple[str, str]] = Counter()
    found = []
    for line in trace.splitlines():
        call = _CALL.match(line)
        if call is None:
            continue
        thread, name, rest = call.groups()
        counted[thread, name] += 1
        if " = -1 " in rest:
            continue  # it changed nothing: a folder that is there
        place = re.search(re.escape(str(folder)) + r'/?([^>"]*)[>"]', rest)
        if place is not None and place[1] not in {"out", "err"} and not _FOREIGN.search(place[1]):
            found.append(Point(name, counted[thread, name], place[1]))
    return found


def spread(every: list[Point], count: int) -> list[Point]:
    """``count`` of them: the first and last of each kind and file, then evenly over all."""
    if count >= len(every):
        return every
    edges: dict[tuple[str, str], list[Point]] = {}
    for point in every:
        edges.setdefault((point.call, point.file), []).append(point)
    chosen = dict.fromkeys(edge for group in edges.values() for edge in (group[0], group[-1]))
    step = max(1, len(every) // count)
    chosen |= dict.fromkeys(every[::step])
    kept = list(chosen)
    if len(kept) > count:  # edges first, in turn over the whole act
        kept = [kept[number * len(kept) // count] for number in range(count)]
    return sorted(kept, key=every.index)
