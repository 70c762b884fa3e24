"""Printed tables cut at blanks: a row whose cells stand under other columns than they are counted for.

Where cells are told by blanks alone, a blank inside a name makes one cell more and an empty place one less. Both in one
row cancel out: the count is right and every cell between them is another column's. In a table printed in columns the
places show it. Rows that are not printed in columns show nothing.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.ingest.cells import Cell

Spans: TypeAlias = "tuple[tuple[int, int], ...]"  # first and last place of each cell
_FEWEST = 4  # rows that show where columns stand
_MOST_FORMS = 256  # ways in which rows of one table stand; with more it is not printed in columns


def strays(rows: Sequence[tuple[int, list[Cell]]]) -> list[tuple[int, int, int]]:
    """Rows of which a cell stands under another column while a column has nothing below it: line, cell, that column.

    rows: line and cells, all of one count. At least three in four must stand in columns that nowhere overlap.
    """
    forms = {line: tuple((begins, begins + len(text) - 1) for text, begins in cells) for line, cells in rows}
    counts = Counter(forms.values())
    columns = _columns(counts) if len(counts) <= _MOST_FORMS else None
    if columns is None:
        return []
    wrong = {form: found for form in counts if (found := _stray(form, columns)) is not None}
    return [(line, *wrong[form]) for line, form in forms.items() if form in wrong]


def _columns(counts: Counter[Spans]) -> Spans | None:
    """Where columns stand: what the commonest rows take up while no two columns overlap. None in ragged tables."""
    known: list[tuple[int, int]] = []
    inside = 0
    for form, count in sorted(counts.items(), key=lambda item: (-_alike(item[0], counts), -item[1], item[0])):
        if not all(_meet(cell, column) for cell, column in zip(form, known or form, strict=True)):
            continue  # in a column cells share an edge, or their points
        wider = [(min(one[0], two[0]), max(one[1], two[1])) for one, two in zip(known or form, form, strict=True)]
        if all(one[1] < two[0] for one, two in pairwise(wider)):
            known, inside = wider, inside + count
    return tuple(known) if inside >= _FEWEST and 4 * inside >= 3 * counts.total() else None


def _alike(form: Spans, counts: Counter[Spans]) -> int:
    """How many rows have each cell below its own of ``form`` and clear of every other."""
    return sum(
        count
        for other, count in counts.items()
        if _clear(form, other) and _clear(other, form) and all(map(_meet, form, other))
    )


def _clear(form: Spans, other: Spans) -> bool:
    return all(one[1] < two[0] for one, two in zip(form, other[1:], strict=False))


def _stray(form: Spans, columns: Spans) -> tuple[int, int] | None:
    """Index of the first cell that stands under another column than its own alone, and of that column."""
    under = [[nth for nth, column in enumerate(columns) if _meet(cell, column)] for cell in form]
    if len({nth for each in under for nth in each}) == len(columns):
        return None  # every column has its cell
    for nth, each in enumerate(under):
        if len(each) == 1 and each[0] != nth:
            return nth, each[0]
        if not each and nth and _goes_on(form[nth - 1 : nth + 1], columns[nth]):
            return nth, nth - 1
    return None


def _goes_on(cells: Spans, column: tuple[int, int]) -> bool:
    """Whether the second cell ends before its column begins, one blank behind the first: a word of the same name."""
    (_, before), (begins, ends) = cells
    return ends < column[0] and begins == before + 2


def _meet(one: tuple[int, int], two: tuple[int, int]) -> bool:
    return one[0] <= two[1] and two[0] <= one[1]
