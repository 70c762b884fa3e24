"""Runs on record that hold the readings of another run, whatever day, start, element or instrument either file names.

All runs of the site are compared, cancelled ones too: one short text for each, and no file is opened.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.records.same_readings import figures_of, pairs_of, shared_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.run import Run
    from benchseal.records.same_readings import Pairs, Shared
    from benchseal.store.protocol import Reading, Row


@dataclass(frozen=True, slots=True)
class Sharing:
    """A run on record, by its row, and how much of another one it holds: most of it, or all."""

    row: Row
    shared: Shared

    @property
    def words(self) -> str:
        """Both sides in words."""
        row, shared = self.row, self.shared
        run = f"{row['run']} ({row['state']}, {row['element']} on {row['instrument']}, begun {row['measured_at']})"
        return f"{shared.pairs} of {shared.of} pairs of neighbouring readings are those of {run}"


def pairs_of_run(run: Run) -> Pairs:
    """The pairs of neighbouring readings of a run as its file gives them."""
    return pairs_of(figures_of(run.document.readings.signal))


def sharing(view: Reading, runs: Sequence[Run]) -> list[list[Sharing]]:
    """For each of several runs the runs on record that hold most of it."""
    return _sharing(view, [pairs_of_run(run) for run in runs])


def _sharing(view: Reading, pairs: Sequence[Pairs]) -> list[list[Sharing]]:
    found: list[list[Sharing]] = [[] for _ in pairs]
    for each in view.rows("run_figures"):
        there = pairs_of(each["figures"].split())
        for own, into in zip(pairs, found, strict=True):
            shared = shared_of(own, there)
            if shared.is_most and (row := view.row("run", run=each["run"])):
                into.append(Sharing(row, shared))
    return found


def same_readings_lines(view: Reading, run: str) -> list[str]:
    """What a reviewer is told of a run: others with most of its readings, and what a person said of it."""
    own = view.row("run_figures", run=run)
    (found,) = _sharing(view, [pairs_of(own["figures"].split())]) if own else ([],)
    said = [f"  {one.words}" for one in found if one.row["run"] != run]
    return said + [f"  {_decision(each)}" for each in _decisions(view, run)]


def _decisions(view: Reading, run: str) -> Iterator[Row]:
    """Each decision in which the run is one of those that stand, oldest first."""
    return (each for each in view.rows("run_repeat") if run == each["run"] or run in each["beside"].split())


def _decision(row: Row) -> str:
    stands = f"both stand, {row['run']} and {row['beside']}" if row["beside"] else f"{row['run']} stands alone"
    turned = f", instead of what stands in entry {row['instead_of']}" if row["instead_of"] else ""
    return f"{row['person']} said at {row['at']} of {row['name']}: {stands}{turned}: {row['reason']}"
