"""A watched folder: which files in it are finished, and where each goes. Nothing is ever overwritten or removed.

    FOLDER/              instruments write here
    FOLDER/in-work/N/    the one file being brought in; N: entries of the ledger when it was taken
    FOLDER/done/         brought in, or here already
    FOLDER/refused/      refused, each with NAME.why.txt beside it

All that must survive a stop is in these names: whoever finds a file in work looks in the ledger for what became of it
after entry N, and goes on from there. So a file is brought in once and refused once, wherever the program was stopped.
"""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from benchseal.desk.arriving import Seen, seen_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

IN_WORK: Final = "in-work"
DONE: Final = "done"
REFUSED: Final = "refused"
WHY: Final = ".why.txt"
_UNFINISHED: Final = (".part", ".partial", ".filepart", ".tmp", ".temp", ".crdownload", ".lock", ".lck", "~")
_LOCKS: Final = (".lock", ".lck")
_MOST_NUMBERED: Final = 100_000
_LONGEST: Final = 255 - len(f"{WHY}.part")  # bytes of a name: file systems end at 255, and its report is named after it


class Steps:
    """What the watch does to the folder, one method each, so that tests can stop between any two."""

    def make_folder(self, path: Path) -> None:
        """Make a folder, and those above it."""
        path.mkdir(parents=True, exist_ok=True)

    def move(self, path: Path, to: Path) -> None:
        """Give a file another place in the same folder tree."""
        path.rename(to)

    def write(self, path: Path, text: str) -> None:
        """Write a small text whole: under another name first."""
        part = path.with_name(f"{path.name}.part")
        with part.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)

    def remove_folder(self, path: Path) -> None:
        """Remove an empty folder."""
        path.rmdir()


@dataclass(slots=True)
class Settling:
    """Files of a folder and since when each has stayed as it is. settle_seconds: how long until it counts as finished.

    Only the folder is asked, again and again, for size and time of change, which network shares tell as local disks do;
    the share's clock is never compared with this machine's.
    """

    folder: Path
    settle_seconds: float
    _since: dict[str, tuple[Seen, float]] = field(default_factory=dict)

    def finished(self, now: float) -> list[Path]:
        """Files that have stayed the same long enough, the earliest written first. Raises OSError.

        now: seconds of a clock that only rises.
        """
        with os.scandir(self.folder) as found:
            names = {entry.name for entry in found}
        seen = {name: one for name in names if _is_candidate(name, names) and (one := _seen(self.folder / name))}
        since = {name: self._begun(name, one, now) for name, one in seen.items()}
        self._since = {name: (seen[name], since[name]) for name in seen}
        ready = [name for name in seen if now - since[name] >= self.settle_seconds]
        return [self.folder / name for name in sorted(ready, key=lambda name: (seen[name].changed_ns, name))]

    def _begun(self, name: str, seen: Seen, now: float) -> float:
        before = self._since.get(name)
        return before[1] if before is not None and before[0] == seen else now

    @property
    def waiting(self) -> int:
        """How many files were there at the last look."""
        return len(self._since)


def _is_candidate(name: str, names: Iterable[str]) -> bool:
    """Whether a name may be an instrument's file: not hidden, not unfinished, not locked by a file beside it."""
    lowered = name.lower()
    return (
        not name.startswith((".", "~$"))
        and not lowered.endswith(_UNFINISHED)
        and not any(f"{name}{lock}" in names for lock in _LOCKS)
    )


def _seen(path: Path) -> Seen | None:
    """Marks of a file; None for a folder, and for what is gone meanwhile."""
    try:
        status = path.lstat()
    except OSError:
        return None
    return None if stat.S_ISDIR(status.st_mode) else seen_of(status)


def take(folder: Path, path: Path, entries: int, steps: Steps) -> Path:
    """Take a file into work; its new place. entries: how many the ledger holds now. Raises OSError."""
    place = folder / IN_WORK / f"{entries:09d}"
    steps.make_folder(place)
    steps.move(path, place / path.name)
    return place / path.name


def in_work(folder: Path, steps: Steps) -> list[tuple[Path, int]]:
    """Files taken and not put away, with the number of entries at that time; the earliest first. Raises OSError."""
    places = sorted(one for one in _listed(folder / IN_WORK) if one.name.isdigit() and one.is_dir())
    found = []
    for place in places:
        files = _listed(place)
        if not files:
            steps.remove_folder(place)  # stopped between the folder and the file
        found += [(file, int(place.name)) for file in files]
    return found


def _listed(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.is_dir() else []


def put_away(folder: Path, path: Path, into: str, steps: Steps, why: str = "") -> Path:
    """Move a file to ``done`` or ``refused``, its reason first, under a free name; its new place. Raises OSError."""
    home = folder / into
    steps.make_folder(home)
    place = _free(home, path.name, why)
    if why and not os.path.lexists(_report_of(place)):
        steps.write(_report_of(place), why)
    steps.move(path, place)
    if path.parent.parent == folder / IN_WORK:
        steps.remove_folder(path.parent)
    return place


def in_the_way(folder: Path) -> str:
    """Name of a file where the watch keeps a folder of its own; empty where there is none."""
    return next((name for name in (IN_WORK, DONE, REFUSED) if _is_no_folder(folder / name)), "")


def _is_no_folder(path: Path) -> bool:
    try:
        return os.path.lexists(path) and not path.is_dir()
    except OSError:
        return False


def put_back(folder: Path, path: Path, steps: Steps) -> None:
    """Give a file that was taken back to the folder, unless something has its name there. Raises OSError."""
    if not os.path.lexists(folder / path.name):
        steps.move(path, folder / path.name)
        steps.remove_folder(path.parent)


def _report_of(place: Path) -> Path:
    return place.with_name(f"{place.name}{WHY}")


def _is_free(place: Path, why: str) -> bool:
    """Whether nothing has this name, and nothing that of its report but the report itself, left by a stop behind it."""
    if os.path.lexists(place):
        return False
    report = _report_of(place)
    if not why or not os.path.lexists(report):
        return True
    own = why.encode()
    status = report.lstat()
    return stat.S_ISREG(status.st_mode) and status.st_size == len(own) and report.read_bytes() == own


def _free(home: Path, name: str, why: str) -> Path:
    """The name itself, with a number behind it where it or its report's is taken, and shorter where that has no place.

    An instrument may give a file the name of another one's report: both are kept.
    """
    stem, dot, ending = name.rpartition(".")
    for nth in range(1, _MOST_NUMBERED):
        number = "" if nth == 1 else f" ({nth})"
        numbered = _short(stem, f"{number}.{ending}") if dot and stem else _short(name, number)
        if _is_free(home / numbered, why):
            return home / numbered
    raise FileExistsError(f"{home / name}: {_MOST_NUMBERED} files have this name")


def _short(stem: str, behind: str) -> str:
    """A stem and what stands behind it, the stem cut so that both have a place in a file system."""
    while len(os.fsencode(stem + behind)) > _LONGEST and len(stem) > 1:
        stem = stem[:-1]
    return stem + behind if len(os.fsencode(stem + behind)) <= _LONGEST else _short(behind, "")
