from __future__ import annotations

import hashlib
import hmac

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.ledger.blocks import blind, held_tree, position_salt, salted_leaf
from benchseal.ledger.hashes import EMPTY_ROOT, record_hash
from benchseal.ledger.proofs import check_inclusion
from benchseal.ledger.tree import prove_inclusion

SECRET = bytes(range(32))
OTHER_SECRET = bytes(range(1, 33))


def test_salt_and_blind_are_hmac_sha256_under_their_own_prefix() -> None:
    """RFC 2104 with SHA-256, by the standard library, over bytes written out here."""
    assert position_salt(SECRET, "17") == hmac.digest(SECRET, b"benchseal-salt/1\n17", "sha256")
    assert blind(SECRET, "17") == hmac.digest(SECRET, b"benchseal-blind/1\n17", "sha256").hex()


def test_a_salted_leaf_is_an_ordinary_leaf_over_salt_and_data() -> None:
    salt = position_salt(SECRET, "1")
    assert salted_leaf(salt, b"data") == hashlib.sha256(b"\x00" + salt + b"data").digest()


def test_equal_data_at_two_places_or_in_two_runs_has_different_leaves() -> None:
    leaves = {
        salted_leaf(position_salt(secret, place), b"0.000") for secret in (SECRET, OTHER_SECRET) for place in ("1", "2")
    }
    assert len(leaves) == 4
    assert record_hash(b"0.000") not in leaves


def test_a_blind_is_the_same_for_the_same_text_and_secret_only() -> None:
    assert blind(SECRET, "B-2") == blind(SECRET, "B-2")
    assert len({blind(SECRET, "B-2"), blind(SECRET, "B-3"), blind(OTHER_SECRET, "B-2")}) == 3


@pytest.mark.parametrize("length", [0, 16, 31, 33])
def test_a_secret_or_salt_of_another_length_is_our_bug(length: int) -> None:
    with pytest.raises(AssertionError):
        position_salt(b"s" * length, "1")
    with pytest.raises(AssertionError):
        blind(b"s" * length, "1")
    with pytest.raises(AssertionError):
        salted_leaf(b"s" * length, b"data")
    with pytest.raises(AssertionError):
        held_tree([b"s" * length])


def test_a_run_without_solutions_has_the_empty_root() -> None:
    assert held_tree([]).root == EMPTY_ROOT


@given(count=st.integers(1, 90), pick=st.data())
def test_one_solution_is_shown_and_the_others_stay_leaves(count: int, pick: st.DataObject) -> None:
    data = {f"position {number}": f"reading {number % 3}".encode() for number in range(count)}
    tree = held_tree([salted_leaf(position_salt(SECRET, place), value) for place, value in data.items()])
    index = pick.draw(st.integers(0, count - 1))
    place = f"position {index}"
    shown_salt, proof = position_salt(SECRET, place), prove_inclusion(index, tree.size, tree)
    assert check_inclusion(salted_leaf(shown_salt, data[place]), index, tree.size, proof, tree.root)
    assert not check_inclusion(salted_leaf(shown_salt, b"reading 9"), index, tree.size, proof, tree.root)
