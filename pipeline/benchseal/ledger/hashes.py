"""The four hashes of the ledger. Their first byte keeps one from being read as another.

Leaf and node: RFC 6962 section 2.1 (unchanged in RFC 9162 section 2.1.1). The chain head (0x02) and the first
head are this ledger's own: see decision record 0002.
"""

from __future__ import annotations

import hashlib
from typing import TypeAlias

Hash: TypeAlias = bytes  # 32 bytes, SHA-256

HASH_BYTES = 32
EMPTY_ROOT: Hash = hashlib.sha256(b"").digest()  # RFC 6962 section 2.1: the hash of an empty list

LEAF = b"\x00"
NODE = b"\x01"
CHAIN = b"\x02"
_FIRST_HEAD = b"benchseal-ledger/1\n"


def record_hash(body: bytes) -> Hash:
    """Leaf of one record: SHA-256(0x00 || body)."""
    return hashlib.sha256(LEAF + body).digest()


def node_hash(left: Hash, right: Hash) -> Hash:
    """Inner node over two subtrees: SHA-256(0x01 || left || right)."""
    _require_hashes(left, right)
    return hashlib.sha256(NODE + left + right).digest()


def first_head(ledger_id: str) -> Hash:
    r"""What stands before entry 1: SHA-256("benchseal-ledger/1\n" || ledger id), so two ledgers never share a chain."""
    return hashlib.sha256(_FIRST_HEAD + ledger_id.encode("utf-8")).digest()


def next_head(head: Hash, leaf: Hash) -> Hash:
    """Chain head after one more entry: SHA-256(0x02 || previous head || leaf)."""
    _require_hashes(head, leaf)
    return hashlib.sha256(CHAIN + head + leaf).digest()


def is_hash(value: bytes) -> bool:
    """Whether ``value`` has the length of a hash; a proof from outside is asked this before it is used."""
    return len(value) == HASH_BYTES


def _require_hashes(one: Hash, other: Hash) -> None:
    # Two parts of free length would make the concatenation ambiguous; callers check what comes from outside.
    if len(one) != HASH_BYTES or len(other) != HASH_BYTES:
        raise AssertionError("a hash that is not 32 bytes reached the tree")
