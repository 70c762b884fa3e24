"""Rules of standard additions in preparation sheets."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from benchseal.documents.row_fault import RowFault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.preparation import Addition, Portion

# EPA 7000B, 9.10.2: three additions, near 50, 100 and 150 % of what the sample holds; with the tube without addition
# a line through means keeps two degrees of freedom.
LEAST_TUBES = 4
# A blank holds nothing to multiply; a solution spiked after preparation already is one addition to another portion.
_NEVER = {"method_blank", "post_spiked_sample"}


def addition_faults(rows: tuple[Portion, ...]) -> Iterator[RowFault]:
    """Every rule the additions of a sheet break: kind of portion, tubes and their order, labels."""
    for nth, row in enumerate(rows):
        if row.additions and row.kind in _NEVER:
            what = f"A {row.kind} is not evaluated by standard additions."
            yield RowFault(nth, "additions", "portion-additions-kind", what, "Empty the cell, or correct the kind.")
        for element, tubes in row.additions.items():
            yield from _tubes(nth, element, tubes)
            yield from _own_labels(nth, row, element, tubes)
    yield from _labels_of_others(rows)


def _tubes(nth: int, element: str, tubes: tuple[Addition, ...]) -> Iterator[RowFault]:
    added = [decimal_of(tube.added) for tube in tubes]
    if len(tubes) < LEAST_TUBES:
        what = f"{element} has {len(tubes)} tubes; a line through additions needs {LEAST_TUBES}, one without addition."
        remedy = "Prepare at least three additions (EPA 7000B, 9.10.2)."
        yield RowFault(nth, "additions", "portion-additions-few", what, remedy)
    if added and added[0] != 0:
        what = f"{element} begins with an addition of {tubes[0].added}; the first tube must have none."
        yield RowFault(nth, "additions", "portion-additions-order", what, "Begin with the tube without addition: =0.")
    elif any(later <= earlier for earlier, later in pairwise(added)):
        what = f"The additions of {element} do not rise: {', '.join(tube.added for tube in tubes)}."
        remedy = "List each addition once, from the smallest to the greatest."
        yield RowFault(nth, "additions", "portion-additions-order", what, remedy)


def _own_labels(nth: int, row: Portion, element: str, tubes: tuple[Addition, ...]) -> Iterator[RowFault]:
    labels = [tube.label for tube in tubes]
    twice = sorted({label for label in labels if labels.count(label) > 1})
    if twice:
        what = f"{element} has more than one tube {', '.join(twice)}."
        yield RowFault(nth, "additions", "portion-additions-label", what, "Give each tube its own label.")
    elif labels and labels[0] != row.portion:
        what = f"The tube of {element} without addition is '{labels[0]}', the portion is '{row.portion}'."
        yield RowFault(nth, "additions", "portion-additions-label", what, "Give both the same label.")


def _labels_of_others(rows: tuple[Portion, ...]) -> Iterator[RowFault]:
    """A tube's label belongs to one portion of its batch, so that a file cannot mean two."""
    owners: dict[tuple[str, str], set[str]] = {}
    for row in rows:
        for label in row.labels:
            owners.setdefault((row.batch, label), set()).add(row.portion)
    for nth, row in enumerate(rows):
        foreign = [label for label in row.labels if label != row.portion and len(owners[row.batch, label]) > 1]
        if foreign:
            what = f"Tube {', '.join(foreign)} also belongs to another portion of batch {row.batch}."
            yield RowFault(nth, "additions", "portion-additions-label", what, "Give each tube its own label.")
