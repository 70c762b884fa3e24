"""A tree that grows leaf by leaf while a ledger is walked, compared block by block with the subtrees kept beside it.

``tree.grow`` does the same for one entry; here nothing is made anew for a leaf, and no more than one block of nodes is
ever held: a million entries are walked in the memory of a thousand.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Protocol

from benchseal.ledger.hashes import NODE, Hash
from benchseal.ledger.tree import EMPTY, Frontier
from benchseal.problems import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

BLOCK = 512  # leaves taken on at a time: few enough to stay in the cache of a processor, with their bodies
FINDINGS_LISTED = 20
_LEVELS = 64

_STOP = "Stop work, keep this copy as it is, and compare with the last backup and the checkpoints kept elsewhere."


class KeptNodes(Protocol):
    """Storage of complete subtrees above the leaves, as the walk asks it."""

    def subtree_hashes(self, level: int, first: int, count: int) -> list[bytes]:
        """Hashes of those of ``level`` with places from ``first`` on, at most ``count`` places, in order of place."""
        ...

    def node(self, level: int, index: int) -> Hash:
        """Hash of one. Raises KeyError where it is not there."""
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
    """The tree so far, taken on by blocks of leaves. ``so_far``: where it goes on from."""

    def __init__(self, kept: KeptNodes | None, so_far: Frontier = EMPTY) -> None:
        self.size = so_far.size
        self.differing = Listed("subtrees")
        self._waiting: list[Hash | None] = [None] * _LEVELS  # a left half of each level whose right half is to come
        for level, peak in zip(_levels(so_far.size), so_far.peaks, strict=True):
            self._waiting[level] = peak
        self._kept = kept

    @property
    def frontier(self) -> Frontier:
        """All it takes to go on, or to say the root."""
        peaks = (self._waiting[level] for level in _levels(self.size))
        return Frontier(self.size, tuple(peak for peak in peaks if peak is not None))

    def add(self, leaves: list[Hash]) -> None:
        """More leaves, level by level: each pair of nodes is one of the level above."""
        sha256, nodes, level, place = hashlib.sha256, leaves, 0, self.size
        self.size += len(leaves)
        while nodes:
            if level and self._kept is not None:  # the leaf itself stands in the entry's row
                self._compare(self._kept, level, place, nodes)
            if place & 1:
                nodes = [self._left_half(level), *nodes]
            pairs = iter(nodes)
            above = [sha256(NODE + left + right).digest() for left, right in zip(pairs, pairs, strict=False)]
            if len(nodes) & 1:
                self._waiting[level] = nodes[-1]
            nodes, level, place = above, level + 1, place >> 1

    def _left_half(self, level: int) -> Hash:
        node = self._waiting[level]
        if node is None:
            raise AssertionError(f"no left half of level {level} at {self.size}")
        return node

    def _compare(self, kept: KeptNodes, level: int, first: int, nodes: list[Hash]) -> None:
        """Hold what was made against what is kept, one by one only where the whole differs."""
        if kept.subtree_hashes(level, first, len(nodes)) == nodes:
            return
        for place, made in enumerate(nodes, first):
            try:
                same = kept.node(level, place) == made
            except KeyError:
                same = False
            if not same:
                self.differing.add(_not_so(level, place))

    def finish(self) -> None:
        """Look for kept subtrees that belong to no tree of this size."""
        for level, place in self._kept.strange_subtrees(self.size, FINDINGS_LISTED) if self._kept else ():
            self.differing.add(_not_so(level, place))


def _levels(size: int) -> Iterator[int]:
    """Levels of the peaks of a tree, largest first."""
    return (level for level in reversed(range(_LEVELS)) if size >> level & 1)


def _not_so(level: int, place: int) -> Finding:
    return Finding("integrity.tree-node", f"subtree {level}/{place}", "it does not follow from the entries.", _STOP)
