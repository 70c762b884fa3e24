"""A witness accepts only a ledger that begins with the one it saw, and what it says cannot be said by anybody else."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.ledger.test_checkpoints import AT, OTHER_KEY, OTHER_PUBLIC, PUBLIC, TREE, head

from benchseal.ledger.blocks import held_tree
from benchseal.ledger.checkpoints import Checkpoint, key_id, write_checkpoint
from benchseal.ledger.hashes import record_hash
from benchseal.ledger.key_history import KeyPeriod
from benchseal.ledger.tree import prove_consistency, tree_root
from benchseal.ledger.witness import (
    Growth,
    Seen,
    accept,
    check_seen,
    countersign,
    read_growth,
    read_seen,
    write_growth,
    write_seen,
)

FORKED = held_tree([record_hash(f"entry {seq if seq != 7 else 'seven'}".encode()) for seq in range(1, 41)])


def grown(since: int, size: int) -> Growth:
    return Growth(head(size), since, prove_consistency(since, size, TREE))


def code(last: Checkpoint | None, growth: Growth, key: bytes = PUBLIC) -> str:
    finding = accept(last, growth, (KeyPeriod(key_id(key), key),))
    return "" if finding is None else finding.code


@given(st.integers(0, 40), st.integers(0, 40))
def test_every_growth_of_one_ledger_is_accepted(one: int, other: int) -> None:
    since, size = sorted((one, other))
    assert code(head(since), grown(since, size)) == ""


def test_the_first_head_is_taken_as_it_is_and_needs_no_proof() -> None:
    assert code(None, Growth(head(9), 0, ())) == ""


REFUSED = [
    pytest.param(head(9), Growth(head(8), 0, ()), "integrity.checkpoint-smaller", id="fewer entries than before"),
    pytest.param(
        head(9), Growth(head(9, root=tree_root(9, FORKED)), 9, ()), "integrity.fork", id="another root of one size"
    ),
    pytest.param(
        head(9),
        Growth(head(20, root=tree_root(20, FORKED)), 9, prove_consistency(9, 20, FORKED)),
        "integrity.checkpoint-inconsistent",
        id="a history with entry 7 rewritten, with its own proof",
    ),
    pytest.param(head(9), Growth(head(20), 9, ()), "integrity.checkpoint-inconsistent", id="no proof"),
    pytest.param(head(9), grown(8, 20), "witness.since", id="a proof from another size"),
    pytest.param(
        head(9),
        replace(grown(9, 20), checkpoint=head(20, ledger="tern-quay-2")),
        "integrity.checkpoint-other-ledger",
        id="another ledger",
    ),
    pytest.param(
        head(9),
        replace(grown(9, 20), checkpoint=replace(head(20), size=21)),
        "integrity.checkpoint-signature",
        id="a head altered after it was signed",
    ),
]


@pytest.mark.parametrize(("last", "growth", "wanted"), REFUSED)
def test_anything_else_is_refused(last: Checkpoint, growth: Growth, wanted: str) -> None:
    assert code(last, growth) == wanted


def test_a_head_under_another_key_is_refused_even_as_the_first() -> None:
    assert code(None, Growth(head(9), 0, ()), OTHER_PUBLIC) == "integrity.checkpoint-key"


def test_a_countersignature_is_of_its_witness_head_and_time_only() -> None:
    seen = countersign(head(9), AT, OTHER_PUBLIC, OTHER_KEY.sign)
    assert seen.witness == key_id(OTHER_PUBLIC)
    assert check_seen(seen, OTHER_PUBLIC) is None
    for altered in (
        replace(seen, seen_at="2026-03-04T14:02:12.000Z"),
        replace(seen, checkpoint=head(10)),
        replace(seen, checkpoint=replace(head(9), ledger="tern-quay-2")),
        replace(seen, signature="00" * 64),
        replace(seen, signature="no figures"),
    ):
        finding = check_seen(altered, OTHER_PUBLIC)
        assert finding is not None
        assert finding.code == "witness.signature"
    assert check_seen(seen, PUBLIC) is not None


def test_files_read_back_to_what_was_written() -> None:
    growth, seen = grown(9, 20), countersign(head(9), AT, OTHER_PUBLIC, OTHER_KEY.sign)
    assert read_growth(write_growth(growth), "g") == growth
    assert read_seen(write_seen(seen), "s") == seen
    assert read_growth(write_checkpoint(head(9)), "c") == Growth(head(9), 0, ())


GROWTH = json.loads(write_growth(grown(9, 20)))
SEEN = json.loads(write_seen(Seen(head(9), AT, "ab" * 8, "cd" * 64)))
CHANGES: list[tuple[dict[str, Any], str, Any]] = [
    *((GROWTH, name, value) for name, value in (("since", "9"), ("since", True), ("checkpoint", {}), ("more", 1))),
    *((GROWTH, "proof", value) for value in (1, ["ab"], ["AB" * 32], ["ab" * 32] * 200, [3])),
    *((SEEN, name, value) for name, value in (("seen_at", 1), ("witness", None), ("signature", []), ("more", 1))),
    (SEEN, "checkpoint", 3),
]
DAMAGED = [
    pytest.param(b"{", id="no JSON"),
    pytest.param(b"[]", id="no object"),
    pytest.param(b'{"schema":"other/1"}', id="another form"),
    *(
        pytest.param(json.dumps({**whole, name: value}).encode(), id=f"{whole['schema']}, {name}: {value!r}"[:60])
        for whole, name, value in CHANGES
    ),
]


@pytest.mark.parametrize("data", DAMAGED)
def test_damaged_files_are_problems(data: bytes) -> None:
    for found in (read_growth(data, "here"), read_seen(data, "here")):
        assert isinstance(found, tuple)
        assert {one.code for one in found} == {"checkpoint.unreadable"}
