"""Reading numbers of a new file against the files of the same instrument that the site has already."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeAlias

from benchseal.desk.reading import load
from benchseal.records.known import Counted
from benchseal.records.layout import Layout
from benchseal.records.run import RunDocument
from benchseal.validate.numbers import copied_from, gaps_around, gaps_within, is_counted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.run import NumberGap, Run
    from benchseal.store.protocol import Reading, Row

_Place: TypeAlias = tuple[str, int]  # measured at, first reading number: where a file stands among others
_File: TypeAlias = tuple[Counted, ...]  # its runs with numbers, in file order


def with_gaps(view: Reading, runs: Sequence[Run], because: str, by: str) -> tuple[Run, ...]:
    """The runs of one file, in file order, each with what its reading numbers leave open, explained where it can be.

    because: the explanation given with the file, or empty; by: the person who gives it.
    """
    gaps: list[tuple[NumberGap, ...]] = [()] * len(runs)
    for instrument in dict.fromkeys(run.instrument for run in runs):
        places = [nth for nth, run in enumerate(runs) if run.instrument == instrument]
        for nth, found in zip(places, _gaps(view, instrument, [runs[nth] for nth in places]), strict=True):
            gaps[nth] = found
    return tuple(replace(run, number_gaps=explained(own, because, by)) for run, own in zip(runs, gaps, strict=True))


def explained(gaps: Sequence[NumberGap], because: str, by: str) -> tuple[NumberGap, ...]:
    """The gaps, those without an explanation with this one, where it is one."""
    because = because.strip()
    return tuple(gap if gap.because or not because else replace(gap, because=because, by=by) for gap in gaps)


def _gaps(view: Reading, instrument: str, runs: Sequence[Run]) -> list[tuple[NumberGap, ...]]:
    documents = [run.document for run in runs]
    counts = load(view, Layout, documents[0].layout.digest).reading_numbers
    gaps = list(gaps_within(documents, counts))
    numbered = [nth for nth, document in enumerate(documents) if is_counted(document)]
    if counts != "running" or not numbered:
        return gaps
    place = min(run.measured_at for run in runs), int(documents[numbered[0]].readings.number[0])
    others = _Others(view, instrument, documents[0].source_sha256)
    before, after, beside = others.around(place)
    around = gaps_around([documents[nth] for nth in numbered], before, after, beside)
    for nth, found in zip(numbered, around, strict=True):
        gaps[nth] += found
    if any(around):
        near = {one.run for one in (*before, *after, *beside)}
        away = [one for one in others.all_numbered() if one.run not in near]
        for nth in numbered:
            gaps[nth] += copied_from(documents[nth], away)
    return gaps


class _Others:
    """Files of one instrument at the site but for one, by the time they were measured; read only when asked for."""

    def __init__(self, view: Reading, instrument: str, but: str) -> None:
        self._view = view
        self._rows: dict[str, list[Row]] = {}
        for row in view.rows("run", instrument=instrument):
            if row["source_sha256"] != but:
                self._rows.setdefault(row["source_sha256"], []).append(row)
        self._read: dict[str, _File] = {}
        self._at: dict[str, list[str]] = {}
        for name, rows in self._rows.items():
            self._at.setdefault(min(row["measured_at"] for row in rows), []).append(name)

    def around(self, place: _Place) -> tuple[_File, _File, _File]:
        """Runs of the numbered file next before a place, of the one next after it, and of all that stand at it."""
        before = (self._numbered(at) for at in sorted(self._at, reverse=True) if at <= place[0])
        after = (self._numbered(at) for at in sorted(self._at) if at >= place[0])
        lower = ([one for one in files if one[0] < place] for files in before)
        higher = ([one for one in files if one[0] > place] for files in after)
        return (
            next((files[-1][1] for files in lower if files), ()),
            next((files[0][1] for files in higher if files), ()),
            tuple(run for at, file in self._numbered(place[0]) if at == place for run in file),
        )

    def all_numbered(self) -> Iterator[Counted]:
        """Every run with numbers of a counter that runs on, oldest file first."""
        for at in sorted(self._at):
            for _, file in self._numbered(at):
                yield from file

    def _numbered(self, at: str) -> list[tuple[_Place, _File]]:
        files = [file for name in self._at.get(at, ()) if (file := self._file(name))]
        places = [((at, int(file[0].document.readings.number[0])), file) for file in files]
        return sorted(places, key=lambda one: one[0])

    def _file(self, name: str) -> _File:
        if name not in self._read:
            self._read[name] = tuple(self._counted(name))
        return self._read[name]

    def _counted(self, name: str) -> Iterator[Counted]:
        found = [(load(self._view, RunDocument, row["document"]), row) for row in self._rows[name]]
        for document, row in sorted(found, key=lambda one: one[0].facts.line):
            layout = load(self._view, Layout, document.layout.digest)
            if is_counted(document) and layout.reading_numbers == "running":
                yield Counted(row["run"], row["state"] == "cancelled", document)
