"""Scatter by seed, the same on every machine: uniform draws, sums and products only, no logarithm or sine."""

from __future__ import annotations

from math import fsum
from random import Random

_FURTHEST = 1.8  # standard deviations: the demo needs no outlier, and none is drawn


class Draws:
    """A stream of draws named by seed and purpose, so that a change in one run leaves every other as it was."""

    def __init__(self, seed: int, purpose: str) -> None:
        """Seed by text: Python keeps that rule (SHA-512 of the text) for every version since 3.2."""
        self._random = Random(f"{seed}/{purpose}")  # noqa: S311  scatter for show, no secret

    def scatter(self) -> float:
        """About normal, mean 0, cut at 1.8 standard deviations: twelve uniform draws less six, else drawn again."""
        while True:
            value = fsum(self._random.random() for _ in range(12)) - 6.0  # sum() differs between versions
            if abs(value) <= _FURTHEST:
                return value

    def between(self, low: float, high: float) -> float:
        """Uniform from ``low`` to ``high``."""
        return low + (high - low) * self._random.random()
