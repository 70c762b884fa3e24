from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from benchseal.ledger.blocks import held_tree
from benchseal.ledger.checkpoints import (
    Checkpoint,
    check_checkpoint,
    checkpoint_json,
    compare_checkpoints,
    key_id,
    make_checkpoint,
    parse_checkpoint,
    read_checkpoint,
    signed_bytes,
    write_checkpoint,
)
from benchseal.ledger.hashes import Hash, record_hash
from benchseal.ledger.tree import prove_consistency, tree_root
from benchseal.problems import EXIT_INTEGRITY, Finding, exit_code

if TYPE_CHECKING:
    from benchseal.records.canonical import Json

KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
PUBLIC = KEY.public_key().public_bytes_raw()
OTHER_KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
OTHER_PUBLIC = OTHER_KEY.public_key().public_bytes_raw()
TREE = held_tree([record_hash(f"entry {seq}".encode()) for seq in range(1, 41)])
AT = "2026-03-04T14:02:11.000Z"


def head(size: int, *, root: Hash | None = None, at: str = AT, ledger: str = "tern-quay-1") -> Checkpoint:
    found = tree_root(size, TREE) if root is None else root
    return make_checkpoint(ledger=ledger, size=size, root=found, at=at, public_key=PUBLIC, sign=KEY.sign)


def test_the_signature_covers_the_bytes_written_down() -> None:
    """Decision record 0003; verified with the key alone, over bytes built without the room."""
    made = head(9)
    facts = {"ledger": "tern-quay-1", "size": 9, "root": tree_root(9, TREE).hex(), "at": AT}
    text = json.dumps(facts, sort_keys=True, separators=(",", ":"))
    assert signed_bytes(made) == b"benchseal-sth/1\n" + text.encode()
    KEY.public_key().verify(bytes.fromhex(made.signature), b"benchseal-sth/1\n" + text.encode())
    assert made.key_id == hashlib.sha256(PUBLIC).hexdigest()[:16] == key_id(PUBLIC)


@pytest.mark.parametrize("size", [0, 1, 40])
def test_a_checkpoint_is_believed_under_its_key_and_survives_its_text(size: int) -> None:
    made = head(size)
    assert check_checkpoint(made, PUBLIC) is None
    assert read_checkpoint(write_checkpoint(made)) == made
    assert parse_checkpoint(checkpoint_json(made)) == made
    assert read_checkpoint(json.dumps(checkpoint_json(made), indent=2).encode()) == made


@pytest.mark.parametrize(
    "change",
    [
        pytest.param({"ledger": "tern-quay-2"}, id="ledger"),
        pytest.param({"size": 10}, id="size"),
        pytest.param({"root": "0" * 64}, id="root"),
        pytest.param({"at": "2026-03-04T14:02:12.000Z"}, id="time"),
        pytest.param({"signature": "0" * 128}, id="signature"),
    ],
)
def test_any_changed_field_breaks_the_signature(change: dict[str, Any]) -> None:
    altered = replace(head(9), **change)
    finding = check_checkpoint(altered, PUBLIC)
    assert finding is not None
    assert finding.code == "integrity.checkpoint-signature"
    assert exit_code((finding,)) == EXIT_INTEGRITY


def test_another_key_is_named_with_both_sides() -> None:
    finding = check_checkpoint(head(9), OTHER_PUBLIC)
    assert finding is not None
    assert finding.code == "integrity.checkpoint-key"
    assert key_id(PUBLIC) in finding.what
    assert key_id(OTHER_PUBLIC) in finding.what


def test_a_rogue_key_under_the_right_name_is_refused() -> None:
    rogue = make_checkpoint(
        ledger="tern-quay-1", size=9, root=tree_root(9, TREE), at=AT, public_key=OTHER_PUBLIC, sign=OTHER_KEY.sign
    )
    finding = check_checkpoint(replace(rogue, key_id=key_id(PUBLIC)), PUBLIC)
    assert finding is not None
    assert finding.code == "integrity.checkpoint-signature"


@pytest.mark.parametrize(
    ("at", "ledger"),
    [
        pytest.param("2026-03-04 14:02:11", "tern-quay-1", id="time in another form"),
        pytest.param(AT, "", id="no ledger id"),
        pytest.param(AT, "tern\nquay", id="ledger id of two lines"),
    ],
)
def test_a_checkpoint_that_nobody_could_read_is_never_made(at: str, ledger: str) -> None:
    with pytest.raises(RuntimeError, match="valid checkpoints"):
        head(9, at=at, ledger=ledger)


def test_a_signer_that_does_not_belong_to_the_key_is_our_bug() -> None:
    with pytest.raises(RuntimeError, match="signer"):
        make_checkpoint(ledger="x", size=0, root=bytes(32), at=AT, public_key=PUBLIC, sign=OTHER_KEY.sign)


@given(bit=st.integers(0, 64 * 8 - 1))
def test_every_bit_of_the_signature_counts(bit: int) -> None:
    made = head(9)
    raw = bytearray.fromhex(made.signature)
    raw[bit // 8] ^= 1 << bit % 8
    assert check_checkpoint(replace(made, signature=raw.hex()), PUBLIC) is not None


def test_growth_is_accepted_with_its_proof() -> None:
    for older in range(41):
        for newer in range(older, 41):
            assert compare_checkpoints(head(older), head(newer), prove_consistency(older, newer, TREE)) is None


@pytest.mark.parametrize(
    ("older", "newer", "code", "words"),
    [
        pytest.param(head(9), head(9, root=bytes(32)), "integrity.fork", "two roots", id="same size, two roots"),
        pytest.param(head(9), head(7), "integrity.checkpoint-smaller", "at least 2 entries are gone", id="rollback"),
        pytest.param(head(9), head(20), "integrity.checkpoint-inconsistent", "does not show", id="no proof"),
        pytest.param(
            head(9), head(20, root=bytes(32)), "integrity.checkpoint-inconsistent", "9 entries", id="rewritten history"
        ),
        pytest.param(
            head(9), head(9, ledger="other"), "integrity.checkpoint-other-ledger", "ledger other", id="other ledger"
        ),
    ],
)
def test_two_checkpoints_that_cannot_both_be_true(older: Checkpoint, newer: Checkpoint, code: str, words: str) -> None:
    finding = compare_checkpoints(older, newer)
    assert isinstance(finding, Finding)
    assert finding.code == code
    assert words in finding.what


def test_a_proof_for_other_sizes_does_not_serve() -> None:
    assert compare_checkpoints(head(9), head(20), prove_consistency(9, 21, TREE)) is not None
    assert compare_checkpoints(head(9), head(20), prove_consistency(8, 20, TREE)) is not None


def test_the_same_checkpoint_later_is_no_finding() -> None:
    assert compare_checkpoints(head(9), head(9, at="2026-03-05T00:00:00.000Z")) is None


GOOD = checkpoint_json(head(9))


@pytest.mark.parametrize(
    ("change", "where"),
    [
        pytest.param({"size": "9"}, "member size", id="size is text"),
        pytest.param({"size": True}, "member size", id="size is a boolean"),
        pytest.param({"size": -1}, "member size", id="size below nothing"),
        pytest.param({"size": 2**53}, "member size", id="size beyond exact integers"),
        pytest.param({"root": "0" * 63}, "member root", id="root too short"),
        pytest.param({"root": "A" * 64}, "member root", id="root in capitals"),
        pytest.param({"root": None}, "member root", id="root missing"),
        pytest.param({"at": "2026-03-04 14:02"}, "member at", id="time in another form"),
        pytest.param({"at": AT + "\n"}, "member at", id="time with a line end"),
        pytest.param({"ledger": "\ud800"}, "member ledger", id="half a surrogate pair"),
        pytest.param({"key_id": "0123"}, "member key_id", id="key id too short"),
        pytest.param({"signature": "00"}, "member signature", id="signature too short"),
        pytest.param({"note": "hello"}, "member note", id="a member too many"),
        pytest.param({"schema": "checkpoint/2"}, "checkpoint", id="another schema"),
    ],
)
def test_a_checkpoint_that_is_not_one_is_refused(change: dict[str, Json], where: str) -> None:
    found = parse_checkpoint({**GOOD, **change})
    assert isinstance(found, tuple)
    assert len(found) == 1
    assert found[0].code == "checkpoint.unreadable"
    assert where in found[0].where


def test_everything_wrong_is_said_at_once() -> None:
    found = parse_checkpoint({"schema": "checkpoint/1", "extra": 1})
    assert isinstance(found, tuple)
    assert len(found) == 7


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b"\xff\xfe", id="not text"),
        pytest.param(b"[]", id="a list"),
        pytest.param(b'{"size": 1e999}', id="infinite size"),
        pytest.param(b'{"size": 1, "size": 2}', id="key given twice"),
        pytest.param(b"[" * 100_000, id="nested too deeply"),
        pytest.param(b"1" * 5000, id="five thousand figures"),
        pytest.param(b'{"schema": "checkpoint/1", "size": ' + b"9" * 400 + b"}", id="endless size"),
    ],
)
def test_hostile_files_are_problems_never_faults(data: bytes) -> None:
    found = read_checkpoint(data, "anchor.json")
    assert isinstance(found, tuple)
    assert all(problem.where.startswith("anchor.json") for problem in found)


@given(st.binary(max_size=200))
def test_any_bytes_are_read_without_a_fault(data: bytes) -> None:
    assert isinstance(read_checkpoint(data), tuple)
