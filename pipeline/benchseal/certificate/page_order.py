"""Whether the words of a page stand in the order in which they are read.

The words are compared in the order of drawing. That is the order in which a person reads them only where each run of
letters stands below every run before it, or to the right of it: so does this program's renderer set a page, in rows,
cells and columns. Two values that changed their rows break it, since something read between them stands beside or
above. Common practice, no source.

Limit: a run may still be moved to where this order holds (the last words of a line and the first of the next one
changed; a row set lower than it was).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Run: TypeAlias = "tuple[float, float, float]"  # from, to, level, in points

_SAME_LINE_PT: Final = 4.0  # lines lie further apart than that; letters set higher or lower in a line do not
_SLACK_PT: Final = 1.0
_MOST: Final = 20_000  # a page of 4 point letters holds fewer runs of one letter each


def order_faults(runs: Sequence[Run]) -> Iterator[str]:
    """One sentence where some run stands neither below nor to the right of one that is read before it.

    runs: in the order of drawing, without those of figures.
    """
    if len(runs) > _MOST:
        yield "it holds more words than a page has room for."
        return
    begins, ends, levels = np.array(runs, dtype=float).reshape(-1, 3).T
    for at in range(1, len(runs)):
        beside_or_above = levels[:at] < levels[at] + _SAME_LINE_PT
        if np.any(beside_or_above & (ends[:at] > begins[at] + _SLACK_PT)):
            yield "words stand in another order than they are read in, or over each other."
            return
