"""Runs of equal sign among residuals in rising concentration: whether a curve leaves a pattern behind.

Wald and Wolfowitz, Ann. Math. Statist. 11 (1940) 147 (from memory). The distribution is exact, by counting.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, groupby
from math import comb
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_TAILS = 40  # of 2.5 % each: 5 %, half of it on either side


@dataclass(frozen=True, slots=True)
class SignRuns:
    """above, below: residuals of each sign; runs: stretches of equal sign.

    few: so many or fewer are beyond chance; many: so many or more. None where no number of runs is, on that side.
    probability: exact and two-sided, twice the smaller tail, at most 1.
    """

    above: int
    below: int
    runs: int
    few: int | None
    many: int | None
    probability: Fraction

    @property
    def exceeded(self) -> bool:
        """Whether chance alone leaves so few or so many runs in less than 5 of 100 cases."""
        return (self.few is not None and self.runs <= self.few) or (self.many is not None and self.runs >= self.many)


def sign_runs(residuals: Sequence[float]) -> SignRuns:
    """Runs of the signs of ``residuals`` in their order; zeros have no sign and are left out."""
    signs = [residual > 0 for residual in residuals if residual != 0]
    above, below = sum(signs), len(signs) - sum(signs)
    runs = sum(1 for _ in groupby(signs))
    ways = [_ways(above, below, number) for number in range(len(signs) + 1)]
    every = comb(len(signs), above)
    at_most, at_least = list(accumulate(ways)), list(accumulate(reversed(ways)))[::-1]
    few = [number for number, count in enumerate(at_most) if ways[number] and count * _TAILS <= every]
    many = [number for number, count in enumerate(at_least) if ways[number] and count * _TAILS <= every]
    return SignRuns(
        above=above,
        below=below,
        runs=runs,
        few=max(few, default=None),
        many=min(many, default=None),
        probability=min(Fraction(1), Fraction(2 * min(at_most[runs], at_least[runs]), every)),
    )


def _ways(above: int, below: int, runs: int) -> int:
    """How many orders of ``above`` and ``below`` signs have ``runs`` runs."""
    if not above or not below:
        return int(runs == min(1, above + below))
    half, odd = divmod(runs, 2)
    if not half:
        return 0
    if odd:
        return comb(above - 1, half) * comb(below - 1, half - 1) + comb(above - 1, half - 1) * comb(below - 1, half)
    return 2 * comb(above - 1, half - 1) * comb(below - 1, half - 1)
