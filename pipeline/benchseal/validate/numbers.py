"""Reading numbers within a file and between files of one instrument: what is missing, set back, or there twice.

An instrument that counts its readings shows by its numbers whether every reading it took reached the laboratory's
records. Nothing here refuses a file: each gap is bound into its run, told as a finding, and explained by a person.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from benchseal.records.quantities import decimal_of
from benchseal.records.run import NumberGap

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from decimal import Decimal

    from benchseal.records.known import Counted
    from benchseal.records.layout import ReadingNumbers
    from benchseal.records.run import GapAt, RunDocument

LEAST_OF_A_COPY = 5  # readings with equal numbers and signals, elsewhere than beside the file (our rule, no source)


class _One(NamedTuple):
    """One reading. content: its signal, or the word that stood there."""

    number: int
    line: int
    content: Decimal | str
    label: str


def is_counted(document: RunDocument) -> bool:
    """Whether a document has reading numbers."""
    return bool(document.readings.number)


def gaps_within(documents: Sequence[RunDocument], runs: ReadingNumbers) -> tuple[tuple[NumberGap, ...], ...]:
    """Numbers missing inside one file: for each document those of its run. documents: in file order.

    runs: how far the counter runs; where it begins again at 1, the numbers before the first are missing too.
    """
    found: list[tuple[NumberGap, ...]] = []
    last = None if runs == "running" else _before_the_first()
    for document in documents:
        own = _readings(document)
        if runs == "each_section":
            last = _before_the_first()
        row = own if last is None else [last, *own]
        found.append(tuple(_between(row)))
        last = own[-1] if own else last
    return tuple(found)


def gaps_around(
    documents: Sequence[RunDocument], before: Sequence[Counted], after: Sequence[Counted], beside: Sequence[Counted]
) -> tuple[tuple[NumberGap, ...], ...]:
    """What the numbers of a file leave open against the files next to it in time: for each document those of its run.

    documents: numbered ones of a file of one instrument, in file order, at least one. before, after: the runs of the
    nearest numbered file of the instrument measured before and after, in file order, or none. beside: runs of files
    that take the same place in time.
    """
    shared = [_shared(document, (*before, *after, *beside)) for document in documents]
    own = [_readings(document) for document in documents]
    if before and not _shares(documents, before):
        first, theirs = own[0][0], _readings(before[-1].document)[-1]
        shared[0] += _step(theirs.number, first.number, "before", (first.line,), before[-1].run)
    if after and not _shares(documents, after):
        last, theirs = own[-1][-1], _readings(after[0].document)[0]
        shared[-1] += _step(last.number, theirs.number, "after", (last.line,), after[0].run)
    return tuple(map(tuple, shared))


def copied_from(document: RunDocument, others: Sequence[Counted]) -> tuple[NumberGap, ...]:
    """Runs further away that hold readings of this document: equal numbers, and no signal that differs.

    Numbers of a counter that was set back come again by right; at least ``LEAST_OF_A_COPY`` equal readings do not.
    """
    return tuple(gap for gap in _shared(document, others) if not gap.other_signals and gap.shared >= LEAST_OF_A_COPY)


def _before_the_first() -> _One:
    return _One(0, 0, "", "")


def _readings(document: RunDocument) -> list[_One]:
    solutions, readings = document.solutions, document.readings
    if not is_counted(document):
        return []
    labels = [
        label for label, count in zip(solutions.label, solutions.reading_count, strict=True) for _ in range(count)
    ]
    return [
        _One(int(number), line, decimal_of(signal) if signal else flag, label)
        for number, line, signal, flag, label in zip(
            readings.number, readings.line, readings.signal, readings.flag, labels, strict=True
        )
    ]


def _between(row: Sequence[_One]) -> Iterator[NumberGap]:
    for one, other in pairwise(row):
        if other.number > one.number + 1:
            first, last = str(one.number + 1), str(other.number - 1)
            if one.line:
                yield NumberGap("missing", "inside", first, last, (one.line, other.line))
            else:
                yield NumberGap("missing", "before", first, last, (other.line,))


def _step(one: int, other: int, at: GapAt, lines: tuple[int, ...], run: str) -> list[NumberGap]:
    """From the last number of what was measured first to the first number of what followed."""
    if other == one + 1:
        return []
    if other > one:
        return [NumberGap("missing", at, str(one + 1), str(other - 1), lines, run)]
    return [NumberGap("set_back", at, str(one), str(other), lines, run)]


def _shares(documents: Sequence[RunDocument], others: Sequence[Counted]) -> bool:
    theirs = {number for other in others for number in other.document.readings.number}
    return any(not theirs.isdisjoint(document.readings.number) for document in documents)


def _shared(document: RunDocument, others: Sequence[Counted]) -> list[NumberGap]:
    """Readings whose numbers stand in other runs too.

    A run that was cancelled and holds the same signals is no gap: its file was exported again, as it should be.
    """
    own = _readings(document)
    found = []
    for other in others:
        theirs = {one.number: one for one in _readings(other.document)}
        pairs = [(one, theirs[one.number]) for one in own if one.number in theirs]
        signals = sum(one.content != also.content for one, also in pairs)
        if not pairs or (other.cancelled and not signals):
            continue
        (first, _), (last, _) = pairs[0], pairs[-1]
        names = sum(one.label != also.label for one, also in pairs)
        found.append(
            NumberGap(
                kind="shared",
                at="inside",
                first=str(first.number),
                last=str(last.number),
                lines=(first.line, last.line),
                run=other.run,
                shared=len(pairs),
                other_signals=signals,
                other_names=names,
            )
        )
    return found
