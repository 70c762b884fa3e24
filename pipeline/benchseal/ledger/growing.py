"""A tree that grows leaf by leaf while a ledger is walked, compared block by block with the subtrees kept beside it.

``tree.grow`` does the same for one entry; here nothing is made anew for a leaf, and no more than one block of nodes is
ever held: a million entries are walked in the memory of a thousand.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Protocol

from benchseal.ledger.hashes import NODE, Hash
from benchseal.ledger.tree import Frontier
from benchseal.problems import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

BLOCK = 4096  # leaves between two comparisons
FINDINGS_LISTED = 20
_LEVELS = 64

_STOP = "Stop work, keep this copy as it is, and compare with the last backup and the checkpoints kept elsewhere."


class KeptNodes(Protocol):
    """Storage of complete subtrees as the walk asks it."""

    def subtrees(self, level: int, first: int, count: int) -> list[tuple[int, bytes]]:
        """Those of ``level`` with places from ``first`` on, at most ``count`` places, in order: place and hash."""
        ...

    def strange_subtrees(self, size: int, count: int) -> list[tuple[int, int]]:
        """At most ``count`` that no tree of ``size`` leaves has: level and place."""
        ...


class Listed:
    """Findings in order: the first twenty, and how many more there were."""

    def __init__(self, of: str) -> None:
        self._of = of
        self._found: list[Finding] = []
        self._more = 0

    def add(self, finding: Finding | None) -> None:
        """Take a finding, or nothing."""
        if finding is None:
            return
        if len(self._found) < FINDINGS_LISTED:
            self._found.append(finding)
        else:
            self._more += 1

    def said(self) -> Iterator[Finding]:
        """What is listed."""
        yield from self._found
        if self._more:
            what = f"{self._more} more {self._of} do not hold and are not listed."
            yield Finding("integrity.more", "ledger", what, _STOP)


class Growing:
    """The tree so far. made: nodes of each level since the last comparison; the lists stay the same objects."""

    def __init__(self, kept: KeptNodes | None) -> None:
        self.size = 0
        self.made: tuple[list[Hash], ...] = tuple([] for _ in range(_LEVELS))
        self.differing = Listed("subtrees")
        self._peaks: list[Hash] = []
        self._first = [0] * _LEVELS
        self._kept = kept

    @property
    def frontier(self) -> Frontier:
        """All it takes to go on, or to say the root."""
        return Frontier(self.size, tuple(self._peaks))

    def add(self, leaf: Hash) -> None:
        """One more leaf."""
        made, peaks = self.made, self._peaks
        node, level, size = leaf, 0, self.size
        made[0].append(node)
        while size & 1:  # a subtree of this level waits for its right half
            node = hashlib.sha256(NODE + peaks.pop() + node).digest()
            size >>= 1
            level += 1
            made[level].append(node)
        peaks.append(node)
        self.size += 1

    def compare(self) -> None:
        """Hold what was made since the last time against what is kept, and forget it."""
        for level, hashes in enumerate(self.made):
            if not hashes:
                return
            first = self._first[level]
            if self._kept is not None:
                made = list(enumerate(hashes, first))
                there = self._kept.subtrees(level, first, len(hashes))
                if there != made:
                    self._differ(level, made, there)
            self._first[level] = first + len(hashes)
            hashes.clear()

    def finish(self) -> None:
        """Compare the rest, and look for kept subtrees that belong to no tree of this size."""
        self.compare()
        for level, place in self._kept.strange_subtrees(self.size, FINDINGS_LISTED) if self._kept else ():
            self.differing.add(_not_so(level, place))

    def _differ(self, level: int, made: list[tuple[int, bytes]], there: list[tuple[int, bytes]]) -> None:
        kept = dict(there)
        for place, node in made:
            if kept.get(place) != node:
                self.differing.add(_not_so(level, place))


def _not_so(level: int, place: int) -> Finding:
    return Finding("integrity.tree-node", f"subtree {level}/{place}", "it does not follow from the entries.", _STOP)
