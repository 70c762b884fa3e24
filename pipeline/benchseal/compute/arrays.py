"""Arrays of the result path: shaped (points, runs), summed over points in one fixed order.

Elementary operations of numpy on float64 (+, -, *, /, sqrt) round correctly one element at a time, so a
column does not depend on its neighbours. Sums, dot products and LAPACK do not promise that; they are not used.
"""

from __future__ import annotations

from math import frexp, isfinite, ldexp, sqrt
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

Array: TypeAlias = NDArray[np.float64]
Mask: TypeAlias = NDArray[np.bool_]
Whole: TypeAlias = NDArray[np.int64]

_FEW = 4096  # numbers: every step of a sum is kept for as many


def column(values: Sequence[float]) -> Array:
    """One run as an array shaped (points, 1)."""
    return np.array(values, dtype=np.float64).reshape(len(values), 1)


def square(value: float) -> float:
    """``value`` times itself: infinite where it is too large for a float. ``value ** 2`` raises OverflowError there."""
    return value * value


def root_of_squares(values: Iterable[float]) -> float:
    """Root of the sum of squares, first to last, of values whose squares may be too large or too small for a float.

    Scaled by a power of two, which rounds nothing.
    """
    known = list(values)
    largest = max(map(abs, known), default=0.0)
    if largest == 0 or not isfinite(largest):
        return largest
    exponent = frexp(largest)[1]
    half, rest = exponent // 2, exponent - exponent // 2  # in two steps: two to the whole may be no float
    total = 0.0
    for value in known:
        total += square(ldexp(value, -exponent))
    return sqrt(total) * 2.0**half * 2.0**rest


def sum_points(values: Array) -> Array:
    """Sum over the first axis, first point to last, one addition at a time. Shape (points, ...) to (...)."""
    if 0 < values.size <= _FEW:  # in one call; zero is added, as below, so that no sum is a zero with a minus
        last: Array = np.add.accumulate(values, axis=0)[-1] + 0.0
        return last
    total: Array = np.zeros(values.shape[1:])
    for row in values:
        total += row
    return total


def binary_exponent(values: Array) -> Whole:
    """Exponent e of each column with max |value| / 2**e in [0.5, 1); 0 for a column of zeros. Shape (runs,)."""
    exponent: Whole = np.frexp(np.max(np.abs(values), axis=0))[1].astype(np.int64)
    return exponent


def scaled(values: Array, exponent: Whole) -> Array:
    """``values`` times 2**exponent: exact, short of the ends of the range."""
    return np.ldexp(values, exponent)
