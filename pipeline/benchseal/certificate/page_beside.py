"""What stands beside the words of a page: letters of the same word, of figures, and dark marks.

A word is read as one where its letters stand on one line, are equally high and of one ink. A decimal point set lower,
smaller or paler than its figures is overlooked; a dark mark beside a figure is read as a point, a sign or a bar; a
letter of a figure beside a result is read with it. So runs that stand close to each other agree, and the band of a
line of words is kept free. Common practice, no source; the distances are those of pages this program draws.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from benchseal.certificate.page_places import touches

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from benchseal.certificate.page_places import Box

# Of the letters' height. Words with a blank between them stand 0.2 apart, those of two cells 0.5 and more.
_NEXT: Final = 0.5  # closer: equally high, on one line
_SAME_WORD: Final = 0.15  # closer: of one ink too
_OVER: Final = 0.05  # runs of one line cover less of each other
_ALIKE: Final = 0.7  # words beside each other are at least so high, of the higher ones
_ALIKE_WITHIN: Final = 1.5
_LINES_APART: Final = 0.95  # base lines closer than that are of one line
_LINES_APART_SMALL: Final = 0.6  # the same, of the higher letters
_SAME_PT, _SAME_SHARE = 0.1, 0.01
# The band of a line of words: from the tails of letters to what is set above capitals; rules of tables lie outside.
_BELOW, _ABOVE, _ASIDE = 0.3, 0.95, 0.5
_TALL_BELOW, _TALL_ABOVE = 0.15, 0.8  # a bar that reaches further both ways is the border of a cell
_FIGURE_ASIDE: Final = 1.0


class Word(NamedTuple):
    """A run without the blanks around it, in points: from, to, base line, height of its letters; number of its ink."""

    begin: float
    end: float
    base: float
    height: float
    ink: float


def _table(words: Sequence[Word]) -> NDArray[np.float64]:
    return np.array(words, dtype=float).reshape(-1, 5)


def word_faults(words: Sequence[Word]) -> Iterator[str]:
    """Runs outside figures that stand beside each other and are not set alike."""
    table = _table(words)
    begins, ends, bases, heights, inks = table[np.argsort(table[:, 2], kind="stable")].T
    furthest = _LINES_APART * heights.max(initial=0.0)
    uneven = paled = over = False
    for step in range(1, len(words)):  # each with the next one up, with the one after it, until those are other lines
        apart = bases[step:] - bases[:-step]
        if apart.min() > furthest:
            break
        gap = np.maximum(begins[step:], begins[:-step]) - np.minimum(ends[step:], ends[:-step])
        near = np.flatnonzero((apart <= furthest) & (gap < _ALIKE_WITHIN / _LINES_APART * furthest))
        if not near.size:
            continue
        one, other, apart, gap = heights[near], heights[near + step], apart[near], gap[near]
        higher, lower = np.maximum(one, other), np.minimum(one, other)
        line = apart < np.maximum(_LINES_APART * lower, _LINES_APART_SMALL * higher)
        line &= gap < _ALIKE_WITHIN * higher
        close = line & (gap < _NEXT * higher)
        uneven = uneven or bool(np.any(close & ((apart > _SAME_PT) | (higher - lower > _SAME_SHARE * higher))))
        uneven = uneven or bool(np.any(line & (lower < _ALIKE * higher)))
        paled = paled or bool(np.any(line & (gap < _SAME_WORD * higher) & (inks[near] != inks[near + step])))
        over = over or bool(np.any(line & (gap < -_OVER * higher)))
    if uneven:
        yield "letters stand higher, lower or smaller than those beside them."
    if paled:
        yield "letters of one word are of two inks."
    if over:
        yield "letters of one line stand over each other."


def mark_faults(words: Sequence[Word], marks: Sequence[Box]) -> Iterator[str]:
    """Dark marks in the band of a line of words outside figures."""
    marks = [(x0, y0, x1, y1) for x0, y0, x1, y1 in marks if x0 <= x1 and y0 <= y1]  # not those clipped away
    if not marks or not words:
        return
    begins, ends, bases, heights, _ = _table(words).T
    bands = np.column_stack(
        (begins - _ASIDE * heights, bases - _BELOW * heights, ends + _ASIDE * heights, bases + _ABOVE * heights)
    )
    touched = touches(marks, bands)
    if not touched.any():
        return
    _, lows, _, highs = np.array(marks, dtype=float).reshape(-1, 4).T[:, :, None]
    tall = (lows <= bases - _TALL_BELOW * heights) & (highs >= bases + _TALL_ABOVE * heights)
    if np.any(touched & ~tall):
        yield "a dark mark stands beside text, where it is read with it."


def ring(boxes: Sequence[Box]) -> list[Box]:
    """The four sides of a field with a bare middle; of anything else, its boxes."""
    if len(boxes) != 2:
        return list(boxes)
    (a, b, c, d), (e, f, g, h) = boxes
    if not (a < c and b < d):
        return [boxes[1]]
    if not (e < g and f < h):
        return [boxes[0]]
    if not (a <= e and b <= f and g <= c and h <= d):
        return list(boxes)
    return [(a, b, e, d), (g, b, c, d), (e, b, g, f), (e, h, g, d)]


def figure_faults(words: Sequence[Word], pictured: Sequence[tuple[int, Word]]) -> Iterator[str]:
    """Letters of figures among words outside them. pictured: each with the number of its figure."""
    if not pictured or not words:
        return
    begins, ends, bases, heights, _ = _table(words).T
    bands = np.column_stack((begins, bases - _BELOW * heights, ends, bases + _ABOVE * heights))
    numbers = np.array([number for number, _ in pictured])
    lefts, rights, levels, high, _ = _table([word for _, word in pictured]).T
    tops, aside = levels + _TALL_ABOVE * high, _FIGURE_ASIDE * high
    beside = np.column_stack((lefts - aside, levels, rights + aside, tops))
    first = np.flatnonzero(np.diff(numbers, prepend=0))  # a figure is drawn in one go
    least, most = (
        [at.reduceat(one, first) for one in pair]
        for at, pair in ((np.minimum, (lefts, levels)), (np.maximum, (rights, tops)))
    )
    whole = np.column_stack((*least, *most))
    if np.any(touches(beside, bands)) or np.any(touches(whole, bands)):
        yield "letters of a figure stand among words outside it."
