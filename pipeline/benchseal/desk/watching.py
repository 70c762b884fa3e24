"""Bringing in what a watched folder holds: each finished file once, refused ones put aside with their reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeAlias, cast

from benchseal.desk.arriving import read_arriving, unfit_kind, unfit_name
from benchseal.desk.perform import perform
from benchseal.desk.texts import kept_text
from benchseal.desk.watch_folder import DONE, REFUSED, Settling, Steps, in_work, put_away, put_back, take
from benchseal.problems import Notice, Problem, Refusal, Stopped, Trouble
from benchseal.records.canonical import digest, parse_canonical
from benchseal.records.entries import read_entry

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchseal.desk.acts_runs import IngestFile
    from benchseal.desk.admission import Credentials
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry
    from benchseal.store.protocol import Reading

AsAct: TypeAlias = Callable[[bytes, str], "IngestFile"]
_FATE = {"run.ingested", "run.repeated", "file.refused"}


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of one file. place: where it lies now; empty state: it was left for a later look.

    already: its bytes were on record before, and nothing was brought in.
    """

    name: str
    state: str
    place: Path
    said: tuple[str, ...] = ()
    notices: tuple[Notice, ...] = ()
    already: bool = False


@dataclass(slots=True)
class Watch:
    """One folder, one site, one person or service. as_act: what is asked of each file."""

    site: Site
    settling: Settling
    credentials: tuple[Credentials, ...]
    as_act: AsAct
    steps: Steps = field(default_factory=Steps)

    @property
    def folder(self) -> Path:
        """The watched folder."""
        return self.settling.folder

    def look(self, now: float) -> Iterator[Taken]:
        """Go through what was left in work, then what is finished.

        Raises Stopped where nothing more can be done now: a Trouble for a later look, a Refusal for good; OSError where
        the folder is away.
        """
        for path, entries in in_work(self.folder, self.steps):
            yield self._go_on(path, entries)
        for path in self.settling.finished(now):
            if (problem := _unfit(path)) is not None:
                yield self._put_aside(path, (problem,))
                continue
            try:
                read_arriving(path)
            except Stopped as stop:
                if any(isinstance(each, Trouble) for each in stop.notices):
                    continue  # still written or held: the next look sees it
                yield self._put_aside(path, stop.notices)
                continue
            with self.site.store.reading() as view:
                entries = view.size()
            yield self._bring_in(take(self.folder, path, entries, self.steps))

    def _go_on(self, path: Path, entries: int) -> Taken:
        """Finish a file that was in work when the program was stopped: what the ledger says became of it, or now."""
        if (problem := _unfit(path)) is not None:
            return self._put_aside(path, (problem,))
        try:
            raw = digest(read_arriving(path))
        except Stopped as stop:
            return self._stopped(path, stop)
        with self.site.store.reading() as view:
            found = _fate(view, raw, entries)
            report = _report(view, found) if found is not None and found.kind == "file.refused" else ()
        if found is None:
            return self._bring_in(path)
        if report:
            return self._put_aside(path, report)
        return self._done(path, ("It came in before the watch was stopped.",))

    def _bring_in(self, path: Path) -> Taken:
        try:
            done = perform(self.site, self.as_act(read_arriving(path), path.name), *self.credentials)
        except Stopped as stop:
            return self._stopped(path, stop)
        if done.data.get("problems"):
            return self._put_aside(path, done.notices)
        return self._done(path, done.said, done.notices)

    def _stopped(self, path: Path, stop: Stopped) -> Taken:
        first = stop.notices[0]
        if first.code == "ingest.already":
            return replace(self._done(path, (str(first),)), already=True)
        if all(isinstance(each, Problem) for each in stop.notices):
            return self._put_aside(path, stop.notices)
        if isinstance(first, Refusal):  # of whoever acts, not of the file
            put_back(self.folder, path, self.steps)
        raise stop

    def _done(self, path: Path, said: tuple[str, ...], notices: tuple[Notice, ...] = ()) -> Taken:
        return Taken(path.name, DONE, put_away(self.folder, path, DONE, self.steps), said, notices)

    def _put_aside(self, path: Path, problems: tuple[Notice, ...]) -> Taken:
        why = _why(path.name, problems)
        return Taken(path.name, REFUSED, put_away(self.folder, path, REFUSED, self.steps, why), (), problems)


def _unfit(path: Path) -> Problem | None:
    """Why a file is not opened at all; its bytes are not kept either."""
    return unfit_name(path) or unfit_kind(path, path.lstat())


def _fate(view: Reading, raw: str, entries: int) -> Entry | None:
    """The last entry after ``entries`` about a file's bytes that says what became of it."""
    found = None
    for _, body, _, _ in view.entries(entries + 1):
        entry = read_entry(body)
        if entry.kind in _FATE and entry.digests.get("raw") == raw:
            found = entry
    return found


def _report(view: Reading, entry: Entry) -> tuple[Notice, ...]:
    """The problems a refusal put on record."""
    report = parse_canonical(view.bytes_of(entry.digests["report"]))
    problems = cast("list[dict[str, str]]", cast("dict[str, Json]", report)["problems"])
    return tuple(Problem(each["code"], each["where"], each["what"], each["remedy"]) for each in problems)


def _why(name: str, problems: tuple[Notice, ...]) -> str:
    head = (
        f"{kept_text(name)} was refused. Nothing of it is used.",
        "Put it right at the instrument and export it again into the watched folder.",
        "Move this file back there only if what was wrong was not in the file.",
        "",
    )
    lines = (line for each in problems for line in (f"{each.code}: {each.where}", f"  {each.what}", f"  {each.remedy}"))
    return "\n".join((*head, *(kept_text(line) for line in lines), ""))
