"""The block tree of a run: the ledger's tree over salted leaves, so that one leaf can be shown without the others.

Evidence for one customer shows that customer's solutions in clear and every other solution as its leaf alone. A bare
hash of a reading could be guessed by trying; the salt, which only the site can make, prevents that.
"""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.ledger.hashes import Hash, is_hash, record_hash
from benchseal.ledger.tree import EMPTY, Frontier, Node, grow, root_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.canonical import Digest

SECRET_BYTES = 32

_SALT = b"benchseal-salt/1\n"
_BLIND = b"benchseal-blind/1\n"


@dataclass(frozen=True, slots=True)
class HeldTree:
    """A whole tree in memory; it is its own ``NodeReader``. For runs, of some hundred leaves."""

    frontier: Frontier
    nodes: dict[tuple[int, int], Hash]

    @property
    def size(self) -> int:
        """Number of leaves."""
        return self.frontier.size

    @property
    def root(self) -> Hash:
        """Merkle tree hash."""
        return root_of(self.frontier)

    def node(self, level: int, index: int) -> Hash:
        """Hash of a complete subtree."""
        return self.nodes[level, index]


def held_tree(leaves: Sequence[Hash]) -> HeldTree:
    """The tree over leaves already hashed (``salted_leaf`` or ``record_hash``)."""
    frontier, nodes = EMPTY, list[Node]()
    for leaf in leaves:
        if not is_hash(leaf):
            raise AssertionError("a leaf is 32 bytes; hash the data first")
        frontier, done = grow(frontier, leaf)
        nodes.extend(done)
    return HeldTree(frontier, {(node.level, node.index): node.hash for node in nodes})


def position_salt(run_secret: bytes, position: str) -> bytes:
    r"""Salt of one place in a run: HMAC-SHA256(run secret, "benchseal-salt/1\n" || position); 32 bytes.

    Shown to whoever may see that place, it says nothing about the salts of other places (RFC 2104; the secret has
    the length of the hash).
    """
    return _keyed(run_secret, _SALT, position)


def salted_leaf(salt: bytes, data: bytes) -> Hash:
    """Leaf over salt and data: SHA-256(0x00 || salt || data). The salt has 32 bytes, so the two cannot mix."""
    if not is_hash(salt):
        raise AssertionError("a salt is 32 bytes")
    return record_hash(salt + data)


def blind(secret: bytes, text: str) -> Digest:
    r"""A name that stands for ``text`` without showing it: HMAC-SHA256(secret, "benchseal-blind/1\n" || text), hex.

    The same text under the same secret has the same name; whoever lacks the secret can neither read nor guess it.
    """
    return _keyed(secret, _BLIND, text).hex()


def _keyed(secret: bytes, purpose: bytes, text: str) -> bytes:
    if len(secret) != SECRET_BYTES:
        raise AssertionError(f"a secret is {SECRET_BYTES} bytes, not {len(secret)}")
    return hmac.new(secret, purpose + text.encode("utf-8"), hashlib.sha256).digest()
