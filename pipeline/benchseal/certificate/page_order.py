"""Whether the words of a page stand in the order in which they are read, and none over another.

The words are compared in the order of drawing. That is the order in which a person reads them only where each run of
letters stands below every run before it, or to the right of it: so does this program's renderer set a page, in rows,
cells and columns. Two values that changed their rows break it, since something read between them stands beside or
above. Common practice, no source.

Limit: a run may still be moved to where this order holds (the last words of a line or block exchanged with the first
after it; a row set lower than it was).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

# From, to, a level a fifth of the letters' height above their base, and that height, in points.
Run: TypeAlias = "tuple[float, float, float, float]"

_SAME_LINE_PT: Final = 4.0  # lines lie further apart than that; letters set higher or lower in a line do not
_SLACK_PT: Final = 1.0
_BODY: Final = (0.1, 0.35)  # of the height, below and above the level: what even the lowest letters fill
_AT_ONCE: Final = 256  # compared in one step; the room it takes grows with it
_MOST: Final = 20_000  # a page of 4 point letters holds fewer runs of one letter each


def order_faults(runs: Sequence[Run]) -> Iterator[str]:
    """One sentence where some run stands neither below nor to the right of one that is read before it.

    runs: in the order of drawing, without those of figures.
    """
    if len(runs) > _MOST:
        yield "it holds more words than a page has room for."
        return
    begins, ends, levels = np.array(runs, dtype=float).reshape(-1, 4)[:, :3].T
    for start in range(0, len(runs), _AT_ONCE):
        part = slice(start, start + _AT_ONCE)
        beside_or_above = levels < levels[part, None] + _SAME_LINE_PT
        further = beside_or_above & (ends > begins[part, None] + _SLACK_PT)
        if np.any(np.tril(further, start - 1)):  # of what is read before
            yield "words stand in another order than they are read in, or over each other."
            return


def overlap_faults(read: Sequence[Run], pictured: Sequence[Run]) -> Iterator[str]:
    """One sentence where letters stand over others. pictured: those of figures, which may do so among themselves."""
    if len(read) > _MOST or len(pictured) > _MOST:
        yield "it holds more words than a page has room for."
        return
    own, others = _bodies(read), _bodies([*read, *pictured])
    a0, b0, a1, b1 = others.T
    for start in range(0, len(own), _AT_ONCE):
        x0, y0, x1, y1 = own[start : start + _AT_ONCE].T[:, :, None]
        over = (a0 < x1) & (a1 > x0) & (b0 < y1) & (b1 > y0)
        if np.any(np.triu(over, start + 1)):  # each pair once, and none with itself
            yield "words stand over each other."
            return


def _bodies(runs: Sequence[Run]) -> NDArray[np.float64]:
    """Of each run the box that its letters mostly fill: left, lower, right, upper."""
    begins, ends, levels, heights = np.array(runs, dtype=float).reshape(-1, 4).T
    below, above = _BODY
    return np.column_stack(
        (begins + _SLACK_PT / 2, levels - below * heights, ends - _SLACK_PT / 2, levels + above * heights)
    )
