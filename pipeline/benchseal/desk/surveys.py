"""Many files looked at beside a layout and what the site knows: which would be read and pass every rule, which not.

Nothing is calculated, kept or shown of a reading. Ordinary files of an ordinary layout are judged many at once
(``read_many``, ``check_block``); every other file by itself, by the reader and the rules that take files in.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Literal

from benchseal.desk.intake import nothing_in
from benchseal.desk.repeats import twice_in_file
from benchseal.ingest.reader import read_file, recognise
from benchseal.problems import Problem
from benchseal.records.run import Run, RunDocument
from benchseal.records.unit_spellings import given_units
from benchseal.validate.check import check_run

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

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
    files: Iterable[tuple[str, bytes | Unread]], layouts: Sequence[tuple[DocumentRef, Layout]], known: Known
) -> Iterator[Surveyed]:
    """Each file in order, with its problems. files: name and bytes; read as they are asked for, not all at once.

    layouts: the one the files are held against, then the others in force: a file must be known by the first alone.
    """
    each = iter(files)
    while batch := list(islice(each, AT_ONCE)):
        yield from _batch(batch, layouts, known)


def _batch(
    batch: list[tuple[str, bytes | Unread]], layouts: Sequence[tuple[DocumentRef, Layout]], known: Known
) -> Iterator[Surveyed]:
    ref, layout = layouts[0]
    runs = _sure([data for _, data in batch if isinstance(data, bytes)], layout, ref, known)
    for name, data in batch:
        if isinstance(data, Unread):
            yield Surveyed(name, 0, problems=data.problems)
            continue
        count = next(runs)
        if unknown := _unknown(name, data, layouts):
            yield Surveyed(name, 0, problems=unknown)
        elif count:
            yield Surveyed(name, count, many=True)
        else:
            yield _by_itself(name, data, layout, ref, known)


def _unknown(name: str, data: bytes, layouts: Sequence[tuple[DocumentRef, Layout]]) -> tuple[Problem, ...]:
    """Why a file that comes in without a layout named would not be read by the first of ``layouts``."""
    if not data:
        return (nothing_in(name),)
    found = recognise(data, layouts, name)
    if isinstance(found[0], Problem):
        return found  # all problems
    ref = found[0]
    if ref is layouts[0][0]:
        return ()
    what = f"Layout {ref.id} knows this file, and {layouts[0][0].id} does not."
    return (Problem("ingest.layout-other", name, what, "Hold it against that layout, or put recognised_by right."),)


def _sure(files: list[bytes], layout: Layout, ref: DocumentRef, known: Known) -> Iterator[int]:
    """Runs of each file where all are sure, else 0."""
    from benchseal.ingest.many import is_regular, read_many  # noqa: PLC0415  its libraries load slowly
    from benchseal.validate.many import check_block  # noqa: PLC0415  the same

    counts = [0] * len(files)
    unsure: set[int] = set()
    seen: set[tuple[int, str, str]] = set()
    for block in read_many(files, layout, ref).blocks if is_regular(layout) else ():
        sure_of = check_block(block, known, fold=_FOLDS[layout.doubled_hour], given_in=given_units(layout))
        for run, sure in zip(block.runs, sure_of, strict=True):
            counts[run.file] += 1
            begun = (run.file, run.facts.element, run.started_at)
            if not sure or begun in seen:  # perhaps one run twice in its file
                unsure.add(run.file)
            seen.add(begun)
    return iter([0 if index in unsure else count for index, count in enumerate(counts)])


def _by_itself(name: str, data: bytes, layout: Layout, ref: DocumentRef, known: Known) -> Surveyed:
    problems: list[Notice] = []
    runs: list[Run] = []
    for document in read_file(data, name, layout, ref):
        if isinstance(document, RunDocument):
            found = check_run(document, known, fold=_FOLDS[layout.doubled_hour], given_in=given_units(layout))
            if isinstance(found, Run):
                runs.append(found)
            else:
                problems += found
        else:
            problems.append(document)
    problems += twice_in_file(runs)
    return Surveyed(name, 0 if problems else len(runs), problems=tuple(problems))
