from __future__ import annotations

import hashlib

import pytest

from benchseal.ledger.hashes import EMPTY_ROOT, first_head, is_hash, next_head, node_hash, record_hash

ONE, TWO = bytes([1]) * 32, bytes([2]) * 32


def test_each_hash_is_the_one_written_down() -> None:
    """RFC 6962 section 2.1 for leaf, node and the empty list; decision record 0002 for the chain."""
    assert hashlib.sha256().digest() == EMPTY_ROOT
    assert record_hash(b"body") == hashlib.sha256(b"\x00body").digest()
    assert node_hash(ONE, TWO) == hashlib.sha256(b"\x01" + ONE + TWO).digest()
    assert next_head(ONE, TWO) == hashlib.sha256(b"\x02" + ONE + TWO).digest()
    assert first_head("tern-quay") == hashlib.sha256(b"benchseal-ledger/1\ntern-quay").digest()


def test_the_first_byte_keeps_the_kinds_apart() -> None:
    assert len({record_hash(ONE + TWO), node_hash(ONE, TWO), next_head(ONE, TWO)}) == 3


@pytest.mark.parametrize(
    ("left", "right"),
    [
        pytest.param(ONE[:31], TWO + b"\x02", id="border moved by one byte"),
        pytest.param(b"", TWO, id="left is empty"),
        pytest.param(ONE, TWO + TWO, id="right is two hashes"),
    ],
)
def test_a_hash_of_another_length_is_our_bug(left: bytes, right: bytes) -> None:
    assert not (is_hash(left) and is_hash(right))
    with pytest.raises(AssertionError, match="not 32 bytes"):
        node_hash(left, right)
    with pytest.raises(AssertionError, match="not 32 bytes"):
        next_head(left, right)
