"""Checking proofs that came from outside: RFC 9162 sections 2.1.3.2 and 2.1.4.2.

A verifier answers yes or no and never raises, whatever it is given. It refuses a proof that lacks a hash and just as
much one that has a hash left over: two different proofs for one fact would both pass.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.ledger.hashes import EMPTY_ROOT, Hash, is_hash, node_hash

if TYPE_CHECKING:
    from benchseal.ledger.tree import Proof


def check_inclusion(leaf: Hash, index: int, size: int, proof: Proof, root: Hash) -> bool:
    """Whether ``leaf`` is leaf ``index`` of the tree of ``size`` with that root (RFC 9162 section 2.1.3.2)."""
    if not 0 <= index < size or not _all_hashes(leaf, root, *proof):
        return False
    position, last, found = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False  # left over
        if position & 1 or position == last:
            found = node_hash(sibling, found)
            position, last = _past_missing_siblings(position, last)
        else:
            found = node_hash(found, sibling)
        position, last = position >> 1, last >> 1
    return last == 0 and found == root


def check_consistency(old_size: int, old_root: Hash, new_size: int, new_root: Hash, proof: Proof) -> bool:
    """Whether the tree (new_size, new_root) begins with the tree (old_size, old_root) (RFC 9162 section 2.1.4.2).

    The RFC leaves the two ends open. Here: equal sizes need equal roots and an empty proof; an empty old tree is the
    beginning of every tree, again with an empty proof.
    """
    if not 0 <= old_size <= new_size or not _all_hashes(old_root, new_root, *proof):
        return False
    if old_size == new_size:
        return not proof and old_root == new_root and (old_size > 0 or old_root == EMPTY_ROOT)
    if old_size == 0:
        return not proof and old_root == EMPTY_ROOT
    return _is_extension(old_size, old_root, new_size, new_root, proof)


def _is_extension(old_size: int, old_root: Hash, new_size: int, new_root: Hash, proof: Proof) -> bool:
    if not proof:
        return False
    whole = (old_root, *proof) if old_size & (old_size - 1) == 0 else proof
    position, last = old_size - 1, new_size - 1
    while position & 1:
        position, last = position >> 1, last >> 1
    old_found = new_found = whole[0]
    for sibling in whole[1:]:
        if last == 0:
            return False  # left over
        if position & 1 or position == last:
            old_found = node_hash(sibling, old_found)
            new_found = node_hash(sibling, new_found)
            position, last = _past_missing_siblings(position, last)
        else:
            new_found = node_hash(new_found, sibling)
        position, last = position >> 1, last >> 1
    return last == 0 and old_found == old_root and new_found == new_root


def _past_missing_siblings(position: int, last: int) -> tuple[int, int]:
    """At the tree's right edge a node without a sibling rises unchanged: both RFC loops skip those levels."""
    while position & 1 == 0 and position != 0:
        position, last = position >> 1, last >> 1
    return position, last


def _all_hashes(*values: bytes) -> bool:
    return all(map(is_hash, values))
