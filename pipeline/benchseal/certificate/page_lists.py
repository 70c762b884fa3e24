"""Numbers of the items of a list: the renderer draws them after everything else of a page, each beside its item.

So they are taken out of the order in which a page is read, and are held to their places here. Only notices have lists.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.certificate.page_drawing import Drawing
    from benchseal.certificate.page_structure import Structure

_SAME_LINE_PT: Final = 4.0
_FURTHEST_PT: Final = 40.0  # from a number to its item


def number_runs(drawn: Drawing, told: Structure, page: int) -> frozenset[int]:
    """Which runs of a page, counted in the order of drawing, are numbers of items. page: counted from 0."""
    starts = sorted({*drawn.marks.values(), len(drawn.runs)})
    ends = dict(pairwise(starts))
    begins = [drawn.marks[one.mark] for one in told.marks if one.page == page and not one.in_turn]
    return frozenset(at for begin in begins for at in range(begin, ends[begin]))


def number_faults(drawn: Drawing, told: Structure, page: int) -> Iterator[str]:
    """One sentence where a number is not drawn last, or does not stand beside the item it is read aloud before."""
    here = [one for one in told.marks if one.page == page]
    last = max((drawn.marks[one.mark] for one in here if one.in_turn), default=-1)
    for number, item in zip(here, [*here[1:], None], strict=True):
        if number.in_turn:
            continue
        begin = drawn.marks[number.mark]
        if item is None or not item.in_turn or begin < last:
            yield "the number of an item stands apart from it."
            return
        (_, end, level, _), (start, _, other, _) = drawn.runs[begin], drawn.runs[drawn.marks[item.mark]]
        if abs(level - other) > _SAME_LINE_PT or not 0 <= start - end <= _FURTHEST_PT:
            yield "the number of an item stands apart from it."
            return
