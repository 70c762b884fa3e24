"""The Merkle tree of RFC 6962 (RFC 9162 section 2.1): growing it and making proofs. Storage is lent to it.

A *complete subtree* (level, index) covers the 2**level leaves from index * 2**level. Its hash never changes once
its last leaf is there, so it can be kept for good. A tree of any size is a row of complete subtrees of falling
size, its *peaks*, one for each set bit of the size; root and proofs are folds over such rows. With the complete
subtrees kept, no proof needs to hash a leaf again.

Indexes count leaves from 0; ledger entry ``seq`` is leaf ``seq - 1``. The verifiers are in ``proofs.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, TypeAlias

from benchseal.ledger.hashes import EMPTY_ROOT, Hash, is_hash, node_hash

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

Proof: TypeAlias = tuple[Hash, ...]


class NodeReader(Protocol):
    """Storage as the tree sees it: any complete subtree of the tree so far."""

    def node(self, level: int, index: int) -> Hash:
        """Hash of complete subtree (level, index); level 0 is the leaf itself."""
        ...


@dataclass(frozen=True, slots=True)
class Node:
    """One complete subtree: level 0 is a leaf; index counts subtrees of that level from the left."""

    level: int
    index: int
    hash: Hash


@dataclass(frozen=True, slots=True)
class Frontier:
    """All that growing a tree needs: its size and its peaks, largest first (at most log2(size) + 1 hashes)."""

    size: int
    peaks: tuple[Hash, ...]

    def __post_init__(self) -> None:
        if self.size < 0 or len(self.peaks) != self.size.bit_count() or not all(map(is_hash, self.peaks)):
            raise AssertionError(f"{len(self.peaks)} peaks cannot stand for a tree of {self.size}")


EMPTY = Frontier(0, ())


def grow(frontier: Frontier, leaf: Hash) -> tuple[Frontier, tuple[Node, ...]]:
    """The tree with one more leaf, and the complete subtrees this leaf completes, leaf first.

    The store keeps those above the leaf, which stands in the ledger row itself.
    """
    node = Node(0, frontier.size, leaf)
    done, peaks = [node], list(frontier.peaks)
    while frontier.size >> node.level & 1:  # a subtree of this level waits for its right half
        node = Node(node.level + 1, node.index >> 1, node_hash(peaks.pop(), node.hash))
        done.append(node)
    return Frontier(frontier.size + 1, (*peaks, node.hash)), tuple(done)


def complete_nodes(leaves: Iterable[Hash]) -> Iterator[Node]:
    """Every complete subtree of a tree, leaves too, in the order its leaves complete them."""
    frontier = EMPTY
    for leaf in leaves:
        frontier, done = grow(frontier, leaf)
        yield from done


def frontier_of(size: int, reader: NodeReader) -> Frontier:
    """The frontier at ``size``, from kept nodes: how a store resumes, or looks back to a smaller tree."""
    return Frontier(size, tuple(reader.node(level, index) for level, index in _cover(0, size)))


def root_of(frontier: Frontier) -> Hash:
    """Merkle tree hash of the whole tree, MTH(D[n])."""
    return _fold(frontier.peaks) if frontier.peaks else EMPTY_ROOT


def tree_root(size: int, reader: NodeReader) -> Hash:
    """Merkle tree hash of the first ``size`` leaves."""
    return root_of(frontier_of(size, reader))


def prove_inclusion(index: int, size: int, reader: NodeReader) -> Proof:
    """Proof that leaf ``index`` is in the tree of ``size``: PATH(m, D[n]) of RFC 9162 section 2.1.3.1.

    Checked by ``proofs.check_inclusion``. Needs 0 <= index < size.
    """
    if not 0 <= index < size:
        raise AssertionError(f"leaf {index} is not in a tree of {size}")
    proof: list[Hash] = []
    low, high = 0, size
    while high - low > 1:
        middle = low + _split(high - low)
        if index < middle:
            proof.append(_range_root(middle, high, reader))
            high = middle
        else:
            proof.append(_range_root(low, middle, reader))
            low = middle
    return tuple(reversed(proof))


def prove_consistency(old_size: int, new_size: int, reader: NodeReader) -> Proof:
    """Proof that the tree of ``new_size`` begins with that of ``old_size``: PROOF(m, D[n]), RFC 9162 section 2.1.4.1.

    Checked by ``proofs.check_consistency``. Needs 0 <= old_size <= new_size; empty where nothing is to prove
    (old_size 0 or equal sizes).
    """
    if not 0 <= old_size <= new_size:
        raise AssertionError(f"a tree of {new_size} does not extend one of {old_size}")
    if old_size in (0, new_size):
        return ()
    proof: list[Hash] = []
    low, high = 0, new_size
    while high != old_size:
        middle = low + _split(high - low)
        if old_size <= middle:
            proof.append(_range_root(middle, high, reader))
            high = middle
        else:
            proof.append(_range_root(low, middle, reader))
            low = middle
    if low > 0:  # else the old root is itself a node of the new tree, and whoever checks has it
        proof.append(_range_root(low, high, reader))
    return tuple(reversed(proof))


def _split(size: int) -> int:
    """The largest power of two smaller than ``size`` (size >= 2): where RFC 6962 section 2.1 divides a list."""
    return 1 << (size - 1).bit_length() - 1


def _cover(low: int, high: int) -> Iterator[tuple[int, int]]:
    """Complete subtrees that make up leaves low to high - 1, largest first.

    ``low`` is a multiple of the first subtree's size, as it is for every range the RFC's recursion meets.
    """
    while low < high:
        level = (high - low).bit_length() - 1
        yield level, low >> level
        low += 1 << level


def _range_root(low: int, high: int, reader: NodeReader) -> Hash:
    return _fold(tuple(reader.node(level, index) for level, index in _cover(low, high)))


def _fold(peaks: tuple[Hash, ...]) -> Hash:
    root = peaks[-1]
    for peak in reversed(peaks[:-1]):
        root = node_hash(peak, root)
    return root
