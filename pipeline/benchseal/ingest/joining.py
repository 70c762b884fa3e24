"""Several files of one run as one: their bytes one after another, each with the line it begins at.

A run that an instrument writes rack by rack is read as one print of several pages: what opens each file is the heading
of a page. Nothing is changed between the files but the byte order mark, which stays at the beginning alone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from benchseal.ingest.pages import remedy_of_files
from benchseal.problems import Problem
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.problems import Notice

MOST_PARTS: Final = 99
_MARKS: Final = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")
_PLACE: Final = re.compile(r", (run beginning at )?line (\d+)")
_ALSO: Final = re.compile(r"((?:at|;) line )(\d+)(?=\.$| above has | is cut off)")  # lines problems of reading name
_AGAIN: Final = "Export it again, or name the files of one run only."


@dataclass(frozen=True, slots=True)
class Part:
    """One of the files: its bytes as they came, and the line of the whole it begins at, from 1."""

    name: str
    data: bytes
    first_line: int


@dataclass(frozen=True, slots=True)
class Joined:
    """The whole. name: those of the parts, and from which line on each of them stands."""

    name: str
    data: bytes
    parts: tuple[Part, ...]


def joined(files: Sequence[tuple[str, bytes]]) -> Joined | tuple[Problem, ...]:
    """Files in the order of the run as one; or every reason why they are not to be joined."""
    if problems := tuple(_unfit(files)):
        return problems
    whole, parts, line = b"", [], 1
    mark = next((mark for mark in _MARKS if files[0][1].startswith(mark)), b"")
    for name, data in files:
        bare = data.removeprefix(mark)
        parts.append(Part(name, data, line))
        whole += bare
        line += _breaks(bare, mark)
    names = [part.name if part.first_line == 1 else f"{part.name} from line {part.first_line}" for part in parts]
    return Joined(" + ".join(names), mark + whole, tuple(parts))


def placed(problem: Notice, whole: str, parts: Sequence[Part]) -> Notice:
    """``problem`` of the file ``whole`` with its place in the part it stands in; without parts as it is."""
    found = _PLACE.match(problem.where.removeprefix(whole)) if parts and problem.where.startswith(whole) else None
    if found is None:
        return problem
    name, line = _part_of(int(found[2]), parts)
    rest = problem.where.removeprefix(whole)[found.end() :]
    what = _ALSO.sub(lambda also: also[1] + "{1} of {0}".format(*_part_of(int(also[2]), parts)), problem.what)
    remedy = remedy_of_files(what) if problem.code == "ingest.page-missing" else problem.remedy
    return replace(problem, where=f"{name}, {found[1] or ''}line {line}{rest}", what=what, remedy=remedy)


def _part_of(line: int, parts: Sequence[Part]) -> tuple[str, int]:
    """Name of the part a line of the whole stands in, and the line counted there."""
    part = [each for each in parts if each.first_line <= line][-1]
    return part.name, line - part.first_line + 1


def _unfit(files: Sequence[tuple[str, bytes]]) -> list[Problem]:
    if not 2 <= len(files) <= MOST_PARTS:
        what = f"{len(files)} files are named; one run has 2 to {MOST_PARTS} of them."
        return [Problem("ingest.parts-count", "one run", what, "Name the files of the run, in its order.")]
    problems = []
    seen: dict[str, int] = {}
    marks = [next((mark for mark in _MARKS if data.startswith(mark)), b"") for _, data in files]
    for place, ((name, data), mark) in enumerate(zip(files, marks, strict=True)):
        before = seen.setdefault(digest(data), place)
        if not data.removeprefix(mark):
            problems.append(Problem("ingest.file-empty", name, "The file holds nothing.", _AGAIN))
        elif before != place:
            what = f"its bytes are those of {files[before][0]}."
            problems.append(Problem("ingest.part-twice", name, what, "Name each file once, in the order of the run."))
        elif not _is_whole(data, mark):
            what = "it ends in the middle of a line."
            problems.append(Problem("ingest.part-cut", name, what, _AGAIN))
        if mark != marks[0]:
            what = f"it begins otherwise than {files[0][0]}: the two are written in other encodings."
            problems.append(Problem("ingest.part-encoding", name, what, _AGAIN))
    return problems


def _is_whole(data: bytes, mark: bytes) -> bool:
    """Whether the last line is ended. Without a mark a zero byte may belong to UTF-16 of either order."""
    ends: tuple[bytes, ...] = (b"\n", b"\r", b"\n\0", b"\r\0")
    if mark:
        ends = {b"\xff\xfe": (b"\n\0", b"\r\0"), b"\xfe\xff": (b"\0\n", b"\0\r")}.get(mark, (b"\n", b"\r"))
    return data.endswith(ends)


def _breaks(data: bytes, mark: bytes) -> int:
    """Line ends (CRLF, LF, CR) as the reader counts them."""
    codec = {b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}.get(mark, "latin-1")
    if codec == "latin-1" and len(data) > 1 and max(data[::2].count(0), data[1::2].count(0)) > len(data) // 4:
        codec = "utf-16-le" if data[1::2].count(0) > data[::2].count(0) else "utf-16-be"
    text = data.decode(codec, errors="replace")
    return text.replace("\r\n", "\n").replace("\r", "\n").count("\n")
