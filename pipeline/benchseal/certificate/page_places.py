"""Places on a page: matrices, boxes, which of them touch, and what is dark under a run of letters.

Source: ISO 32000-1, 8.3 (coordinates), 8.5.3.3 (what a path fills).
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

Box: TypeAlias = "tuple[float, float, float, float]"  # left, lower, right, upper
Matrix: TypeAlias = "tuple[float, float, float, float, float, float]"


def touches(boxes: Sequence[Box] | NDArray[np.float64], others: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Of each box and each of the others, whether they share a place."""
    x0, y0, x1, y1 = np.array(boxes, dtype=float).reshape(-1, 4).T[:, :, None]
    a0, b0, a1, b1 = others.reshape(-1, 4).T
    touched: NDArray[np.bool_] = (a0 < x1) & (a1 > x0) & (b0 < y1) & (b1 > y0)
    return touched


def stands_on_dark(shapes: Sequence[Box], touched: NDArray[np.bool_], body: NDArray[np.float64], *, odd: bool) -> bool:
    """Whether any place of a run is dark. odd: a place in an even number of boxes is bare."""
    near = [box for box, one in zip(shapes, touched, strict=True) if one]
    if not odd:
        return bool(near)
    x0, y0, x1, y1 = map(float, body)
    across = sorted({x0, x1, *(x for box in near for x in box[::2] if x0 < x < x1)})
    up = sorted({y0, y1, *(y for box in near for y in box[1::2] if y0 < y < y1)})
    places = [((left + right) / 2, (low + high) / 2) for left, right in pairwise(across) for low, high in pairwise(up)]
    return any(sum(a <= x <= c and b <= y <= d for a, b, c, d in near) % 2 for x, y in places)


def matrix(told: bytes) -> Matrix:
    """Operands as numbers."""
    a, b, c, d, e, f = map(float, told.split())
    return a, b, c, d, e, f


def times(first: Matrix, then: Matrix) -> Matrix:
    """One after the other."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u


def turned(under: Matrix) -> bool:
    """Whether an upright box is another shape under it."""
    return under[1] != 0 or under[2] != 0


def point(under: Matrix, x: float, y: float) -> tuple[float, float]:
    """Where a place comes to lie."""
    a, b, c, d, e, f = under
    return a * x + c * y + e, b * x + d * y + f


def corners(under: Matrix, box: Box) -> list[tuple[float, float]]:
    """Of a box."""
    return [point(under, x, y) for x in (box[0], box[2]) for y in (box[1], box[3])]


def bounds(points: Sequence[tuple[float, float]]) -> Box:
    """The least upright box around them."""
    across, up = zip(*points, strict=True)
    return min(across), min(up), max(across), max(up)


def around(under: Matrix, steps: bytes, boxes: Sequence[Box]) -> Box:
    """The least upright box around a path. steps: points of its lines and curves, not moved yet; boxes: moved."""
    if steps:
        numbers = [*map(float, steps.split())]
        across, up = numbers[::2], numbers[1::2]
        if turned(under):
            points = [point(under, x, y) for x, y in zip(across, up, strict=True)]
        else:
            points = corners(under, (min(across), min(up), max(across), max(up)))
        boxes = [*boxes, bounds(points)]
    lefts, lows, rights, highs = zip(*boxes, strict=True)
    return min(lefts), min(lows), max(rights), max(highs)


def shared(one: Box, other: Box) -> Box:
    """What lies in both."""
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])
