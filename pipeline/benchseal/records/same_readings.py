"""Whether two runs hold the same readings: what never happens by chance, whatever day and start a file says.

A reading counts with three figures or more, zeros at either end left out: 0.243 and 0.2430 count, and are the same;
0.024 and 0.000 do not. Compared are pairs of neighbouring readings that count, in the order of the file. A solution
read again breaks two pairs and those between its readings; solutions in another order keep the pairs within them.
Single pairs agree in good runs, most easily in standards read twice on one day; nine pairs and more than half of all do
not. Our own rule, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from benchseal.records.quantities import PlainDecimal

Pairs: TypeAlias = frozenset[tuple[str, str]]

LEAST_FIGURES: Final = 3
LEAST_PAIRS: Final = 9  # of ten readings


@dataclass(frozen=True, slots=True)
class Shared:
    """Pairs of neighbouring readings that stand in two runs, and all such pairs of the shorter one."""

    pairs: int
    of: int

    @property
    def is_most(self) -> bool:
        """More than half, and enough of them: worth a remark."""
        return self.pairs >= LEAST_PAIRS and 2 * self.pairs > self.of

    @property
    def is_same(self) -> bool:
        """Nine in ten or more, and enough of them: the same readings."""
        return self.pairs >= LEAST_PAIRS and 10 * self.pairs >= 9 * self.of


def figures_of(signals: Iterable[PlainDecimal]) -> tuple[str, ...]:
    """The figures of each reading that counts, without point, sign and zeros at the ends, in order."""
    figures = (signal.lstrip("-").replace(".", "", 1).strip("0") for signal in signals)
    return tuple(each for each in figures if len(each) >= LEAST_FIGURES)


def pairs_of(figures: Sequence[str]) -> Pairs:
    """The pairs of neighbouring readings of a run, given by its figures; a pair that comes twice counts once."""
    return frozenset(pairwise(figures))


def shared_of(one: Pairs, other: Pairs) -> Shared:
    """How much of two runs is the same."""
    return Shared(len(one & other), min(len(one), len(other)))
