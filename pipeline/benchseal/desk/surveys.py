"""Many files looked at beside a layout and what the site knows: which would be read and pass every rule, which not.

Nothing is calculated, kept or shown of a reading. Ordinary files of an ordinary layout are judged many at once
(``read_many``, ``check_block``); every other file by itself, by the reader and the rules that take files in.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Literal

from benchseal.ingest.reader import read_file
from benchseal.records.run import RunDocument
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from benchseal.problems import Notice
    from benchseal.records.known import Known
    from benchseal.records.layout import Layout
    from benchseal.records.run import DocumentRef

AT_ONCE = 500  # files; enough that what each batch costs once is small, little enough to hold
_FOLDS: dict[str, Literal[0, 1] | None] = {"refuse": None, "first": 0, "second": 1}


@dataclass(frozen=True, slots=True)
class Surveyed:
    """One file. runs: how many it holds; 0 where it has problems. many: judged with others at once."""

    name: str
    runs: int
    many: bool = False
    problems: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True)
class Unread:
    """A file whose bytes could not be had, and why."""

    problems: tuple[Notice, ...]


def survey(
    files: Iterable[tuple[str, bytes | Unread]], layout: Layout, ref: DocumentRef, known: Known
) -> Iterator[Surveyed]:
    """Each file in order, with its problems. files: name and bytes; read as they are asked for, not all at once."""
    each = iter(files)
    while batch := list(islice(each, AT_ONCE)):
        yield from _batch(batch, layout, ref, known)


def _batch(
    batch: list[tuple[str, bytes | Unread]], layout: Layout, ref: DocumentRef, known: Known
) -> Iterator[Surveyed]:
    runs = _sure([data for _, data in batch if isinstance(data, bytes)], layout, ref, known)
    for name, data in batch:
        if isinstance(data, Unread):
            yield Surveyed(name, 0, problems=data.problems)
        elif count := next(runs):
            yield Surveyed(name, count, many=True)
        else:
            yield _by_itself(name, data, layout, ref, known)


def _sure(files: list[bytes], layout: Layout, ref: DocumentRef, known: Known) -> Iterator[int]:
    """Runs of each file where all are sure, else 0."""
    from benchseal.ingest.many import is_regular, read_many  # noqa: PLC0415  its libraries load slowly
    from benchseal.validate.many import check_block  # noqa: PLC0415  the same

    counts = [0] * len(files)
    unsure: set[int] = set()
    for block in read_many(files, layout, ref).blocks if is_regular(layout) else ():
        for run, sure in zip(block.runs, check_block(block, known, fold=_FOLDS[layout.doubled_hour]), strict=True):
            counts[run.file] += 1
            if not sure:
                unsure.add(run.file)
    return iter([0 if index in unsure else count for index, count in enumerate(counts)])


def _by_itself(name: str, data: bytes, layout: Layout, ref: DocumentRef, known: Known) -> Surveyed:
    problems: list[Notice] = []
    runs = 0
    for document in read_file(data, name, layout, ref):
        if isinstance(document, RunDocument):
            found = check_run(document, known, fold=_FOLDS[layout.doubled_hour])
            problems += found if isinstance(found, tuple) else ()
            runs += 1
        else:
            problems.append(document)
    return Surveyed(name, 0 if problems else runs, problems=tuple(problems))
