"""The tree against RFC 6962's own definition (``rfc_…`` below) and against published test data.

``rfc_mth``, ``rfc_path``, ``rfc_proof``: RFC 6962 section 2.1 written down word for word over lists of data; slow,
recursive, sharing no code with the room. ``CT_…``: the reference tree of Certificate Transparency as carried by
transparency-dev/merkle, testonly/constants.go and proof tests (Apache-2.0); typed from memory, then compared with
copies of that data and with the definition.
"""

from __future__ import annotations

from hashlib import sha256
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchseal.ledger.blocks import HeldTree, held_tree
from benchseal.ledger.hashes import EMPTY_ROOT, Hash, node_hash, record_hash
from benchseal.ledger.proofs import check_consistency, check_inclusion
from benchseal.ledger.tree import (
    EMPTY,
    Frontier,
    complete_nodes,
    frontier_of,
    grow,
    prove_consistency,
    prove_inclusion,
    root_of,
    tree_root,
)


def rfc_mth(data: list[bytes]) -> bytes:
    n = len(data)
    if n == 0:
        return sha256(b"").digest()
    if n == 1:
        return sha256(b"\x00" + data[0]).digest()
    k = _largest_power_of_two_below(n)
    return sha256(b"\x01" + rfc_mth(data[:k]) + rfc_mth(data[k:])).digest()


def rfc_path(m: int, data: list[bytes]) -> list[bytes]:
    n = len(data)
    if n == 1:
        return []
    k = _largest_power_of_two_below(n)
    if m < k:
        return [*rfc_path(m, data[:k]), rfc_mth(data[k:])]
    return [*rfc_path(m - k, data[k:]), rfc_mth(data[:k])]


def rfc_proof(m: int, data: list[bytes]) -> list[bytes]:
    return rfc_subproof(m, data, whole=True)


def rfc_subproof(m: int, data: list[bytes], *, whole: bool) -> list[bytes]:
    n = len(data)
    if m == n:
        return [] if whole else [rfc_mth(data)]
    k = _largest_power_of_two_below(n)
    if m <= k:
        return [*rfc_subproof(m, data[:k], whole=whole), rfc_mth(data[k:])]
    return [*rfc_subproof(m - k, data[k:], whole=False), rfc_mth(data[:k])]


def _largest_power_of_two_below(n: int) -> int:
    k = 1
    while 2 * k < n:
        k *= 2
    return k


LARGEST = 69
DATA = [f"record {number}".encode() for number in range(LARGEST)]
LEAVES = [record_hash(each) for each in DATA]
ROOTS = [rfc_mth(DATA[:size]) for size in range(LARGEST + 1)]
OTHER = record_hash(b"something else")
CT_LEAVES = [
    bytes.fromhex(text)
    for text in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
]
CT_ROOTS = (
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
)
L1 = "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"
L4 = "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"
L6 = "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f"
N1_1 = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
N1_2 = "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a"
N1_3 = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
N2_1 = "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"
CT_INCLUSION = {
    (0, 1): [],
    (0, 8): [L1, N1_1, N2_1],
    (5, 8): [L4, N1_3, CT_ROOTS[4]],
    (2, 3): [CT_ROOTS[2]],
    (1, 5): [CT_ROOTS[1], N1_1, L4],
}
CT_CONSISTENCY = {
    (1, 1): [],
    (1, 8): [L1, N1_1, N2_1],
    (2, 5): [N1_1, L4],
    (6, 7): [N1_2, L6, CT_ROOTS[4]],
    (6, 8): [N1_2, N1_3, CT_ROOTS[4]],
}


@pytest.fixture(scope="module")
def reference() -> HeldTree:
    return held_tree([record_hash(leaf) for leaf in CT_LEAVES])


@pytest.mark.parametrize("size", range(9))
def test_published_roots(reference: HeldTree, size: int) -> None:
    assert tree_root(size, reference).hex() == CT_ROOTS[size] == rfc_mth(CT_LEAVES[:size]).hex()


@pytest.mark.parametrize(("index", "size"), CT_INCLUSION)
def test_published_inclusion(reference: HeldTree, index: int, size: int) -> None:
    proof = prove_inclusion(index, size, reference)
    published = CT_INCLUSION[index, size]
    assert [each.hex() for each in proof] == published
    assert [each.hex() for each in rfc_path(index, CT_LEAVES[:size])] == published
    assert check_inclusion(record_hash(CT_LEAVES[index]), index, size, proof, bytes.fromhex(CT_ROOTS[size]))


@pytest.mark.parametrize(("old", "new"), CT_CONSISTENCY)
def test_published_consistency(reference: HeldTree, old: int, new: int) -> None:
    proof = prove_consistency(old, new, reference)
    published = CT_CONSISTENCY[old, new]
    assert [each.hex() for each in proof] == published
    assert [each.hex() for each in rfc_proof(old, CT_LEAVES[:new])] == published
    assert check_consistency(old, bytes.fromhex(CT_ROOTS[old]), new, bytes.fromhex(CT_ROOTS[new]), proof)


class AskingStore:
    """A store that asks more than the Protocol promises: only complete subtrees of the size it was made for."""

    def __init__(self, size: int) -> None:
        self.size = size
        self.asked = 0

    def node(self, level: int, index: int) -> Hash:
        first, after = index << level, (index + 1) << level
        assert level >= 0
        assert 0 <= first < after <= self.size
        self.asked += 1
        return rfc_mth(DATA[first:after])


@pytest.fixture(scope="module")
def tree() -> HeldTree:
    return held_tree(LEAVES)


def test_growing_gives_the_root_at_every_size() -> None:
    frontier = EMPTY
    for size, leaf in enumerate(LEAVES):
        assert root_of(frontier) == ROOTS[size]
        frontier, _ = grow(frontier, leaf)
    assert root_of(frontier) == ROOTS[LARGEST]


def test_growing_completes_each_subtree_once_and_rightly() -> None:
    nodes = list(complete_nodes(LEAVES))
    assert len({(node.level, node.index) for node in nodes}) == len(nodes)
    assert len(nodes) == sum(LARGEST >> level for level in range(LARGEST.bit_length()))
    for node in nodes:
        assert node.hash == rfc_mth(DATA[node.index << node.level : (node.index + 1) << node.level])


def test_a_leaf_completes_the_subtrees_that_end_with_it() -> None:
    frontier = frontier_of(7, AskingStore(7))
    _, done = grow(frontier, LEAVES[7])
    assert [(node.level, node.index) for node in done] == [(0, 7), (1, 3), (2, 1), (3, 0)]
    _, done = grow(frontier_of(8, AskingStore(8)), LEAVES[8])
    assert [(node.level, node.index) for node in done] == [(0, 8)]


@pytest.mark.parametrize("size", range(LARGEST + 1))
def test_a_frontier_is_resumed_from_kept_nodes(size: int) -> None:
    grown = EMPTY
    for leaf in LEAVES[:size]:
        grown, _ = grow(grown, leaf)
    assert frontier_of(size, AskingStore(size)) == grown
    assert tree_root(size, AskingStore(size)) == ROOTS[size]


def test_every_inclusion_proof_of_every_size(tree: HeldTree) -> None:
    for size in range(1, LARGEST + 1):
        for index in range(size):
            proof = prove_inclusion(index, size, tree)
            assert list(proof) == rfc_path(index, DATA[:size])
            assert check_inclusion(LEAVES[index], index, size, proof, ROOTS[size])


def test_every_consistency_proof_of_every_pair(tree: HeldTree) -> None:
    for new in range(LARGEST + 1):
        for old in range(new + 1):
            proof = prove_consistency(old, new, tree)
            if old > 0:
                assert list(proof) == rfc_proof(old, DATA[:new])
            assert check_consistency(old, ROOTS[old], new, ROOTS[new], proof)


@pytest.mark.parametrize("size", [1, 2, 3, 17, 64, 69])
def test_proofs_ask_only_for_nodes_the_tree_has(size: int) -> None:
    for index in range(size):
        store = AskingStore(size)
        prove_inclusion(index, size, store)
        prove_consistency(index, size, store)
        assert store.asked <= 4 * size.bit_length() ** 2


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 9, 21])
def test_forged_inclusion_is_refused(tree: HeldTree, size: int) -> None:
    for index in range(size):
        proof, root = prove_inclusion(index, size, tree), ROOTS[size]
        assert not check_inclusion(OTHER, index, size, proof, root)
        assert not check_inclusion(LEAVES[index], index, size, proof, OTHER)
        assert not check_inclusion(LEAVES[index], index, size, (*proof, OTHER), root)
        assert not check_inclusion(LEAVES[index], index, size, (OTHER, *proof), root)
        assert not check_inclusion(LEAVES[index], size, size, proof, root)
        assert not check_inclusion(LEAVES[index], -1, size, proof, root)
        for place in range(len(proof)):
            assert not check_inclusion(LEAVES[index], index, size, proof[:place] + proof[place + 1 :], root)
            assert not check_inclusion(LEAVES[index], index, size, _swapped(proof, place), root)
        for elsewhere in set(range(size)) - {index}:
            assert not check_inclusion(LEAVES[index], elsewhere, size, proof, root)


def test_a_proof_for_one_size_does_not_serve_the_tree_of_another_size(tree: HeldTree) -> None:
    for size in range(1, 30):
        for index in range(size):
            proof = prove_inclusion(index, size, tree)
            for other in set(range(1, 30)) - {size}:
                assert not check_inclusion(LEAVES[index], index, other, proof, ROOTS[other])


@pytest.mark.parametrize(("old", "new"), [(1, 2), (2, 3), (3, 7), (4, 8), (6, 8), (7, 20), (16, 21), (20, 21)])
def test_forged_consistency_is_refused(tree: HeldTree, old: int, new: int) -> None:
    proof = prove_consistency(old, new, tree)
    assert check_consistency(old, ROOTS[old], new, ROOTS[new], proof)
    assert not check_consistency(old, OTHER, new, ROOTS[new], proof)
    assert not check_consistency(old, ROOTS[old], new, OTHER, proof)
    assert not check_consistency(old, ROOTS[old], new, ROOTS[new], ())
    assert not check_consistency(old, ROOTS[old], new, ROOTS[new], (*proof, OTHER))
    assert not check_consistency(old, ROOTS[old], new, ROOTS[new], (OTHER, *proof))
    assert not check_consistency(new, ROOTS[new], old, ROOTS[old], proof)
    for place in range(len(proof)):
        assert not check_consistency(old, ROOTS[old], new, ROOTS[new], proof[:place] + proof[place + 1 :])
        assert not check_consistency(old, ROOTS[old], new, ROOTS[new], _swapped(proof, place))


@pytest.mark.parametrize("size", [0, 1, 8, 13])
def test_consistency_of_equal_sizes_needs_equal_roots_and_nothing_more(size: int) -> None:
    assert check_consistency(size, ROOTS[size], size, ROOTS[size], ())
    assert not check_consistency(size, ROOTS[size], size, OTHER, ())
    assert not check_consistency(size, OTHER, size, ROOTS[size], ())
    assert not check_consistency(size, ROOTS[size], size, ROOTS[size], (OTHER,))


def test_consistency_with_an_empty_beginning() -> None:
    assert check_consistency(0, EMPTY_ROOT, 5, ROOTS[5], ())
    assert not check_consistency(0, OTHER, 5, ROOTS[5], ())
    assert not check_consistency(0, EMPTY_ROOT, 5, ROOTS[5], (OTHER,))
    assert not check_consistency(0, OTHER, 0, OTHER, ())
    assert not check_consistency(-1, EMPTY_ROOT, 5, ROOTS[5], ())


def test_no_root_made_to_fit_saves_an_inclusion_proof_of_another_length(tree: HeldTree) -> None:
    """Whoever makes the proof may make the root too; only the number of hashes then tells."""
    for index, size in combinations(range(22), 2):
        proof, root = prove_inclusion(index, size, tree), ROOTS[size]
        for made in (node_hash(root, OTHER), node_hash(OTHER, root)):
            assert not check_inclusion(LEAVES[index], index, size, (*proof, OTHER), made)
        for other in range(index + 1, 22):
            if len(prove_inclusion(index, other, tree)) != len(proof):
                assert not check_inclusion(LEAVES[index], index, other, proof, root)


def test_no_root_made_to_fit_saves_a_consistency_proof_of_another_length(tree: HeldTree) -> None:
    for old, new in combinations(range(1, 22), 2):
        proof = prove_consistency(old, new, tree)
        for made in (node_hash(ROOTS[new], OTHER), node_hash(OTHER, ROOTS[new])):
            for old_root in (ROOTS[old], node_hash(OTHER, ROOTS[old])):
                assert not check_consistency(old, old_root, new, made, (*proof, OTHER))
        for other in range(old + 1, 22):
            if len(prove_consistency(old, other, tree)) != len(proof):
                assert not check_consistency(old, ROOTS[old], other, ROOTS[new], proof)


@pytest.mark.parametrize("length", [0, 31, 33, 64])
def test_a_proof_of_hashes_of_another_length_is_refused_without_a_fault(tree: HeldTree, length: int) -> None:
    wrong = b"\x00" * length
    proof = prove_inclusion(2, 5, tree)
    assert not check_inclusion(LEAVES[2], 2, 5, (wrong, *proof[1:]), ROOTS[5])
    assert not check_inclusion(wrong, 2, 5, proof, ROOTS[5])
    assert not check_inclusion(LEAVES[2], 2, 5, proof, wrong)
    assert not check_consistency(3, ROOTS[3], 5, ROOTS[5], (wrong,))
    assert not check_consistency(3, wrong, 5, ROOTS[5], prove_consistency(3, 5, tree))


@pytest.mark.parametrize(
    ("size", "peaks"),
    [
        pytest.param(3, (OTHER,), id="a peak is missing"),
        pytest.param(0, (OTHER,), id="a peak of an empty tree"),
        pytest.param(1, (OTHER[:31],), id="a peak is cut short"),
        pytest.param(-1, (OTHER,), id="size below nothing"),
    ],
)
def test_a_frontier_that_exists_is_whole(size: int, peaks: tuple[Hash, ...]) -> None:
    with pytest.raises(AssertionError, match="cannot stand for"):
        Frontier(size, peaks)


@pytest.mark.parametrize(("index", "size"), [(5, 5), (-1, 5), (0, 0)])
def test_a_proof_of_what_is_not_there_is_our_bug(tree: HeldTree, index: int, size: int) -> None:
    with pytest.raises(AssertionError, match="is not in a tree"):
        prove_inclusion(index, size, tree)


def test_a_smaller_tree_does_not_extend_a_larger_one(tree: HeldTree) -> None:
    with pytest.raises(AssertionError, match="does not extend"):
        prove_consistency(6, 5, tree)


@given(data=st.lists(st.binary(max_size=40), min_size=1, max_size=200), pick=st.data())
def test_any_tree_agrees_with_the_definition(data: list[bytes], pick: st.DataObject) -> None:
    tree = held_tree([record_hash(each) for each in data])
    index = pick.draw(st.integers(0, len(data) - 1))
    old = pick.draw(st.integers(1, len(data)))
    assert tree.root == rfc_mth(data)
    assert list(prove_inclusion(index, tree.size, tree)) == rfc_path(index, data)
    assert list(prove_consistency(old, tree.size, tree)) == rfc_proof(old, data)


@given(
    index=st.integers(-2, 40),
    size=st.integers(-2, 40),
    proof=st.lists(st.one_of(st.binary(max_size=40), st.sampled_from(LEAVES)), max_size=8).map(tuple),
)
def test_a_verifier_never_raises_and_never_believes_a_made_up_proof(
    index: int, size: int, proof: tuple[bytes, ...]
) -> None:
    assert not check_inclusion(OTHER, index, size, proof, ROOTS[8])
    assert not check_consistency(index, OTHER, size, ROOTS[8], proof)


def _swapped(proof: tuple[Hash, ...], place: int) -> tuple[Hash, ...]:
    flipped = bytes([proof[place][0] ^ 1]) + proof[place][1:]
    return (*proof[:place], flipped, *proof[place + 1 :])
