"""Words on a picture: how much paper they take, and places where they cover nothing.

Widths are those of the shipped face (``report_templates/fonts/SourceSans3-Regular.ttf``), in em; a test reads them from
the file. A sign without one here counts as wide as the widest of them, so that a box is never too small.
"""

# ruff: noqa: RUF001  true dashes and signs are what is printed

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

Anchor: TypeAlias = Literal["start", "middle", "end"]
Spot: TypeAlias = tuple[float, float]  # x, y on paper

SIZE: Final = 7.2  # points; the small size of a page
GAP: Final = 1.5  # points of paper between two labels on one line
_ASCENT, _DESCENT = 0.72, 0.22  # em above and below the base line; figures and most letters have nothing below it
_WIDEST: Final = 0.95
_DESCENDING: Final = frozenset("gjpqy()[]{},;/|_@Qµ")
_ALIKE: Final = {
    " ": 0.200, "!": 0.289, "%": 0.824, "&": 0.609, "()[]{}": 0.303, "*": 0.418, "-": 0.311, ",.:;'’·": 0.249,
    "/": 0.350, "0123456789#$+<=>~^±×−≤≥": 0.497, "?": 0.425, "²³⁴⁵⁶⁷⁸⁹⁰¹⁻": 0.367, "–": 0.480, "µ": 0.562, "°": 0.331,
    "A": 0.543, "B": 0.588, "C": 0.571, "D": 0.615, "E": 0.527, "F": 0.494, "G": 0.617, "H": 0.652, "I": 0.263,
    "J": 0.479, "K": 0.579, "L": 0.486, "M": 0.727, "N": 0.647, "O": 0.664, "P": 0.566, "Q": 0.664, "R": 0.569,
    "S": 0.534, "T": 0.536, "U": 0.645, "V": 0.515, "W": 0.786, "X": 0.513, "Y": 0.476, "Z": 0.539,
    "a": 0.504, "b": 0.553, "c": 0.456, "d": 0.555, "e": 0.496, "f": 0.292, "g": 0.504, "h": 0.544, "i": 0.246,
    "j": 0.247, "k": 0.495, "l": 0.255, "m": 0.829, "n": 0.547, "o": 0.542, "pq": 0.555, "r": 0.347, "s": 0.419,
    "t": 0.338, "u": 0.544, "v": 0.467, "w": 0.719, "x": 0.446, "y": 0.467, "z": 0.425,
}  # fmt: skip
_EM: Final = {sign: wide for signs, wide in _ALIKE.items() for sign in signs}


def width_of(text: str, size: float = SIZE) -> float:
    """Points that ``text`` takes on its line; a little more where a sign is not known."""
    return size * sum(_EM.get(sign, _WIDEST) for sign in text)


@dataclass(frozen=True, slots=True)
class Box:
    """A part of the paper in points; y grows downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box) -> bool:
        """Whether the two share any paper; boxes that only touch do not."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )

    def within(self, other: Box) -> bool:
        """Whether it lies inside ``other``, edges included."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.top >= other.top
            and self.bottom <= other.bottom
        )


@dataclass(frozen=True, slots=True)
class Label:
    """Words at a place. x, y: start, middle or end of the base line. quiet: set lighter, as titles of axes are."""

    x: float
    y: float
    text: str
    anchor: Anchor = "start"
    quiet: bool = False

    @property
    def box(self) -> Box:
        """The paper it takes."""
        wide = width_of(self.text)
        left = self.x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[self.anchor]
        below = _DESCENT * SIZE if _DESCENDING & set(self.text) else 0.0
        return Box(left, self.y - _ASCENT * SIZE, left + wide, self.y + below)


def around(x: float, y: float, reach: float) -> Box:
    """The square about a point on paper."""
    return Box(x - reach, y - reach, x + reach, y + reach)


def beside(text: str, at: Spot, room: Box, taken: Sequence[Box], others: Sequence[Spot] = ()) -> Label | None:
    """``text`` near a point, inside ``room`` and clear of ``taken``; None where there is no such place.

    Nearest first: to the right, to the left, above, below, then a little farther off. others: points which the words
    must not be nearer to than to their own.
    """
    for label in _candidates(text, *at):
        box = label.box
        free = box.within(room) and not any(box.overlaps(other) for other in taken)
        if free and all(_off(box, at) < _off(box, other) for other in others if other != at):
            return label
    return None


def _off(box: Box, at: Spot) -> float:
    """How far a point lies from a box, squared."""
    x, y = at
    across = max(box.left - x, 0.0, x - box.right)
    return across * across + max(box.top - y, 0.0, y - box.bottom) ** 2


def _candidates(text: str, x: float, y: float) -> Iterator[Label]:
    middle = y + 0.33 * SIZE
    for away in (4.0, 8.0, 13.0):
        for lift in (0.0, -away, away):
            yield Label(round(x + 4.0, 2), round(middle + lift, 2), text, "start")
            yield Label(round(x - 4.0, 2), round(middle + lift, 2), text, "end")
        yield Label(round(x, 2), round(y - away, 2), text, "middle")
        yield Label(round(x, 2), round(y + away + _ASCENT * SIZE, 2), text, "middle")


def spread(labels: Iterable[Label], top: float, bottom: float) -> tuple[Label, ...]:
    """Labels of one column moved up and down just so far that none covers another, from top to bottom.

    Where ``top … bottom`` is too short for all of them they go on below it.
    """
    ordered = sorted(labels, key=lambda one: one.y)
    pitch = (_ASCENT + _DESCENT) * SIZE + 0.2
    least = top + _ASCENT * SIZE
    places: list[float] = []
    for one in ordered:
        places.append(max(one.y, places[-1] + pitch if places else least))
    most = bottom
    for at in range(len(places) - 1, -1, -1):
        places[at] = max(min(places[at], most), least + at * pitch)
        most = places[at] - pitch
    return tuple(replace(one, y=round(place, 2)) for one, place in zip(ordered, places, strict=True))


def clear(labels: Sequence[Label]) -> bool:
    """Whether no two labels share paper."""
    boxes = [one.box for one in labels]
    return not any(one.overlaps(other) for at, one in enumerate(boxes) for other in boxes[:at])
