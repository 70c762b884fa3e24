"""Files that come without any of the rows of means their layout knows: whatever was lost with them nobody compares."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from benchseal.desk.reading import load
from benchseal.problems import Problem
from benchseal.records.canonical import parse_canonical
from benchseal.records.layout import Layout
from benchseal.validate.places import at_run

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.run import RunDocument
    from benchseal.store.protocol import Reading


def means_gone(view: Reading, document: RunDocument) -> Iterator[Problem]:
    """A run without a printed mean, of a layout with rows of means none of whose kept files honestly has none."""
    layout = load(view, Layout, document.layout.digest)
    solutions, signals = document.solutions, document.readings.signal
    if not layout.table.mean_rows or not _lacks(
        solutions.first_reading, solutions.reading_count, signals, document.means.solution
    ):
        return
    for row in view.rows("layout_sample", id=layout.id):
        kept = cast("dict[str, Any]", parse_canonical(view.bytes_of(row["expected"])))
        for run in kept["runs"]:
            own = run["solutions"]
            shape = own["first_reading"], own["reading_count"], run["readings"]["signal"], run["means"]["solution"]
            if _lacks(*shape):
                return
    words = ", ".join(f"'{one.text}'" for one in layout.table.mean_rows)
    what = f"It has no row of means ({words}), which layout {layout.id} knows."
    remedy = (
        "Lines may be missing, readings among them: export the file again. Where the instrument prints none at times, "
        "keep such a file with the layout (benchseal layout sample)."
    )
    yield Problem("ingest.means-gone", at_run(document), what, remedy)


def _lacks(first: Sequence[int], count: Sequence[int], signals: Sequence[str], means: Sequence[int]) -> bool:
    """Whether no mean is printed though a solution has two readings or more, all numbers: of others none may be."""
    several = (signals[begin : begin + many] for begin, many in zip(first, count, strict=True) if many > 1)
    return not means and any(all(own) for own in several)
