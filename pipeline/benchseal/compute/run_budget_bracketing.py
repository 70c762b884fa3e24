"""What the readings of samples and of the standards around them put into a mean of portions."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.results import Bracket


def u_between(parts: Sequence[tuple[float, Bracket]]) -> float:
    """Standard uncertainty of a sum of portions; parts: what one unit in the solution is in the sum, and the bracket.

    Readings of samples are each portion's own and add in squares. Portions that share a reading of a standard have the
    whole of what their standards put in taken as common, which never understates (JCGM 100, 5.2).
    """
    total = 0.0
    for lever, bracket in parts:
        own = lever * float(bracket.u_from_sample)
        total = total + own * own
    for together in sharing([bracket for _, bracket in parts]):
        common = 0.0
        for place in together:
            lever, bracket = parts[place]
            common = common + abs(lever) * float(bracket.u_from_standards)
        total = total + common * common
    return sqrt(total)


def sharing(brackets: Sequence[Bracket]) -> list[list[int]]:
    """Places of ``brackets`` in groups that share positions of standards, also through others; each place once."""
    found: list[tuple[set[int], list[int]]] = []
    for place, bracket in enumerate(brackets):
        positions, places = {*bracket.low.positions, *bracket.high.positions}, [place]
        apart = []
        for other in found:
            if other[0] & positions:
                positions |= other[0]
                places += other[1]
            else:
                apart.append(other)
        found = [*apart, (positions, sorted(places))]
    return sorted(places for _, places in found)
