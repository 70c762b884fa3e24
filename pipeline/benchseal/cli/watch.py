"""``ingest --watch``: a folder looked at again and again, or once; every file said as it goes."""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.event_log import logged, require_log
from benchseal.cli.opened import site_of
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acting import Receipt
from benchseal.desk.acts_runs import IngestFile
from benchseal.desk.perform import require_able
from benchseal.desk.watch_folder import DONE, Settling, in_the_way
from benchseal.desk.watch_lock import only_watch
from benchseal.desk.watching import Watch
from benchseal.problems import Notice, Problem, Stopped, Trouble

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.cli.event_log import EventLog
    from benchseal.desk.watching import Taken
    from benchseal.records.canonical import Json

_OF_ONE_FILE = ("one_run", "preparation", "curve_of", "gap_because", "late_because", "stands", "stands_because")


def watch(args: Namespace) -> int:
    """Bring in what lies in a folder and what comes into it; with --once what lies there now."""
    _require_alone(args)
    _require_log(args.log)
    with logged(args.log, "watch", folder=args.watch) as log:
        log.exit = _watch(args, log)
    return log.exit


def _watch(args: Namespace, log: EventLog) -> int:
    folder = Path(args.watch)
    if not folder.is_dir():
        what = "it is no folder that can be reached."
        raise Stopped(Problem("watch.no-folder", args.watch, what, "Make it, or connect the share, then begin again."))
    with site_of(args) as site:
        given = credentials(args, site)
        require_able(site, IngestFile, *given)
        with only_watch(site, folder):
            watched = Watch(site, Settling(folder, args.settle_seconds), given, _as_act(args.layout))
            return _once(args, watched, log) if args.once else _for_ever(args, watched, log)


def _require_alone(args: Namespace) -> None:
    beside = [name for name in ("files", *_OF_ONE_FILE) if getattr(args, name)]
    if args.json and not args.once:
        beside.append("json (one object is printed at the end, and there is none without --once)")
    if beside:
        what = f"it does not go with {', '.join(name.replace('_', '-') for name in beside)}."
        raise Stopped(Problem("watch.beside", "--watch", what, "What is said of one file is said with `ingest FILE`."))


def _require_log(name: str) -> None:
    """As for any log, under a code of its own: to a unit a file that is wrong (4) is a refused one, and no failure."""
    try:
        require_log(name)
    except Stopped as stop:
        raise Stopped(*(replace(one, code="watch.log") for one in stop.notices)) from None


def _as_act(layout: str) -> type[IngestFile]:
    def asked(data: bytes, name: str) -> IngestFile:
        return IngestFile(data, name, layout, ())

    return asked  # type: ignore[return-value]  # called like the class itself


def _once(args: Namespace, watched: Watch, log: EventLog) -> int:
    said: list[str] = []
    notices: list[Notice] = []
    files: list[Json] = []
    try:
        watched.settling.finished(time.monotonic())
        time.sleep(args.settle_seconds)
        for taken in watched.look(time.monotonic()):
            _note(log, taken)
            said += [*taken.said, _moved(taken)]
            notices += taken.notices
            files.append(
                {"name": taken.name, "state": taken.state, "already": taken.already, "place": str(taken.place)}
            )
    except Stopped as stop:
        log.problems(stop.notices)
        notices += stop.notices
    except OSError as fault:
        log.problems((_away(watched.folder, fault),))
        notices.append(_away(watched.folder, fault))
    return show.receipt(args, Receipt(tuple(said), {"files": files}, tuple(notices)))


def _for_ever(args: Namespace, watched: Watch, log: EventLog) -> int:
    """Look until it is ended from outside, or the act is refused to whoever does it. A trouble is said once."""
    trouble = ""
    while True:
        now: Notice | None = None
        try:
            for taken in watched.look(time.monotonic()):
                _note(log, taken)
                _say(args, taken)
        except Stopped as stop:
            if not all(isinstance(each, Trouble) for each in stop.notices):
                raise
            now = stop.notices[0]
        except OSError as fault:
            now = _away(watched.folder, fault)
        text = str(now) if now is not None else ""
        if text != trouble:
            log.problems((now,)) if now is not None else log.write("well")
            print(show.one_line(text or f"{watched.folder}: can be worked on again."), file=sys.stderr, flush=True)
        trouble = text
        time.sleep(args.every_seconds)


def _note(log: EventLog, taken: Taken) -> None:
    codes = [each.code for each in taken.notices]
    log.write("taken" if taken.state == DONE else "refused", file=taken.name, place=taken.place.name, codes=codes)


def _say(args: Namespace, taken: Taken) -> None:
    if not args.quiet:
        for line in (*taken.said, _moved(taken)):
            print(show.one_line(line), flush=True)
    show.spoken(args, taken.notices)


def _moved(taken: Taken) -> str:
    became = (
        "was in before, nothing brought in" if taken.already else "brought in" if taken.state == DONE else "refused"
    )
    return f"{taken.name}: {became}, now {taken.place}"


def _away(folder: Path, fault: OSError) -> Trouble:
    if name := in_the_way(folder):
        what = (
            f"a file is named '{name}', and the watch keeps a folder of that name; nothing comes in until it is moved."
        )
        return Trouble("watch.away", str(folder / name), what, "Give the file another name, or move it away.")
    what = f"the folder cannot be worked on: {fault.strerror}."
    return Trouble("watch.away", str(folder), what, "Nothing is lost; it is tried again. Look at share, rights, space.")
