from __future__ import annotations

import re
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from benchseal.ledger.blocks import held_tree
from benchseal.ledger.checkpoints import Checkpoint, make_checkpoint
from benchseal.ledger.growing import FINDINGS_LISTED
from benchseal.ledger.hashes import EMPTY_ROOT, Hash, first_head, next_head, record_hash
from benchseal.ledger.tree import tree_root
from benchseal.ledger.walk import Row, against_checkpoints, walk
from benchseal.problems import EXIT_INTEGRITY, exit_code

LEDGER = "tern-quay-1"
COUNT = 30
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))


def chained(bodies: list[bytes], ledger: str = LEDGER) -> list[Row]:
    rows, head = list[Row](), first_head(ledger)
    for seq, body in enumerate(bodies, start=1):
        leaf = record_hash(body)
        head = next_head(head, leaf)
        rows.append(Row(seq, body, leaf, head))
    return rows


BODIES = [f'{{"kind":"sample.received","seq":{seq}}}'.encode() for seq in range(1, COUNT + 1)]
ROWS = chained(BODIES)
TREE = held_tree([row.leaf for row in ROWS])


def anchor(size: int, root: Hash | None = None, ledger: str = LEDGER) -> Checkpoint:
    return make_checkpoint(
        ledger=ledger,
        size=size,
        root=tree_root(size, TREE) if root is None else root,
        at=f"2026-03-04T14:02:{size:02}.000Z",
        public_key=KEY.public_key().public_bytes_raw(),
        sign=KEY.sign,
    )


def flipped(value: bytes, bit: int) -> bytes:
    raw = bytearray(value)
    raw[bit // 8] ^= 1 << bit % 8
    return bytes(raw)


def first_finding(rows: list[Row]) -> tuple[str, str, str]:
    finding = walk(LEDGER, rows).findings[0]
    return finding.code, finding.where, finding.what


@pytest.mark.clause("P11 11.10(a)")
def test_a_sound_ledger_has_no_findings_and_its_root() -> None:
    walked = walk(LEDGER, ROWS, sizes=[0, 7, COUNT, COUNT + 5])
    assert walked.findings == ()
    assert (walked.size, walked.head) == (COUNT, ROWS[-1].head)
    assert walked.root == TREE.root
    assert walked.roots == {0: EMPTY_ROOT, 7: tree_root(7, TREE), COUNT: TREE.root}


def test_an_empty_ledger_is_sound() -> None:
    walked = walk(LEDGER, [])
    assert (walked.findings, walked.size, walked.root) == ((), 0, EMPTY_ROOT)
    assert walked.head == first_head(LEDGER)


def test_plain_tuples_will_do() -> None:
    assert walk(LEDGER, ((row.seq, row.body, row.leaf, row.head) for row in ROWS)).findings == ()


@pytest.mark.refuses("P11 11.10(a)", "P11 11.10(e)")
def test_every_bit_of_every_column_is_found_and_located() -> None:
    """One field damaged: exactly one finding, at that entry, and the message names the column."""
    words = {"body": "its contents were changed", "leaf": "its stored leaf hash was changed", "head": "does not follow"}
    codes = {"body": "integrity.leaf", "leaf": "integrity.leaf", "head": "integrity.chain"}
    flips = 0
    for at in (0, 1, COUNT // 2, COUNT - 1):
        for column, said in words.items():
            value = getattr(ROWS[at], column)
            for bit in range(len(value) * 8):
                change: dict[str, Any] = {column: flipped(value, bit)}
                row = ROWS[at]._replace(**change)
                findings = walk(LEDGER, [*ROWS[:at], row, *ROWS[at + 1 :]]).findings
                assert [(each.code, each.where) for each in findings] == [(codes[column], f"entry {at + 1}")]
                assert said in findings[0].what
                flips += 1
    assert flips == 4 * (len(BODIES[0]) * 8 + 512) + 2 * 8  # two of the four bodies have a two-figure seq


def test_every_bit_of_the_number_is_found_where_the_order_is_kept() -> None:
    for at in range(COUNT):
        for bit in range(8):
            row = ROWS[at]._replace(seq=ROWS[at].seq ^ 1 << bit)
            findings = walk(LEDGER, [*ROWS[:at], row, *ROWS[at + 1 :]]).findings
            assert [(each.code, each.where) for each in findings] == [("integrity.sequence", f"entry {at + 1}")]
            assert f"it is numbered {row.seq}" in findings[0].what


def test_a_changed_number_is_found_when_rows_come_sorted() -> None:
    moved = sorted([*ROWS[:4], ROWS[4]._replace(seq=69), *ROWS[5:]])
    found = walk(LEDGER, moved).findings
    assert [(each.code, each.where) for each in found] == [
        ("integrity.sequence-gap", "entry 5"),
        ("integrity.sequence-gap", "entry 31"),
    ]
    assert "entries 31 to 68 are missing" in found[1].what


def renumbered(rows: list[Row]) -> list[Row]:
    return [row._replace(seq=seq) for seq, row in enumerate(rows, start=1)]


@pytest.mark.parametrize(
    ("rows", "code", "where", "words"),
    [
        pytest.param(
            ROWS[:9] + ROWS[10:], "integrity.sequence-gap", "entry 10", "entry 10 is missing", id="one deleted"
        ),
        pytest.param(
            ROWS[:9] + ROWS[14:],
            "integrity.sequence-gap",
            "entry 10",
            "entries 10 to 14 are missing",
            id="five deleted",
        ),
        pytest.param(ROWS[1:], "integrity.sequence-gap", "entry 1", "entry 1 is missing", id="first deleted"),
        pytest.param(
            renumbered(ROWS[:9] + ROWS[10:]), "integrity.chain", "entry 10", "entry 9", id="deleted and renumbered"
        ),
        pytest.param(
            renumbered([*ROWS[:9], ROWS[10], ROWS[9], *ROWS[11:]]),
            "integrity.chain",
            "entry 10",
            "does not follow entry 9",
            id="two swapped",
        ),
        pytest.param(
            [*ROWS[:9], ROWS[10], ROWS[9], *ROWS[11:]],
            "integrity.sequence-gap",
            "entry 10",
            "the next one found is 11",
            id="two swapped with their numbers",
        ),
        pytest.param(
            renumbered([*ROWS[:10], ROWS[9], *ROWS[10:]]), "integrity.chain", "entry 11", "entry 10", id="duplicated"
        ),
        pytest.param(
            [*ROWS[:10], ROWS[9], *ROWS[10:]], "integrity.sequence", "entry 11", "entry 10 stands", id="read twice"
        ),
        pytest.param(
            renumbered([*ROWS[:9], chained([b"added"])[0], *ROWS[9:]]),
            "integrity.chain",
            "entry 10",
            "does not follow entry 9",
            id="inserted",
        ),
        pytest.param(chained(BODIES, "other"), "integrity.chain", "entry 1", "first head", id="another ledger's rows"),
        pytest.param(
            [*ROWS[:9], ROWS[9]._replace(leaf=b""), *ROWS[10:]], "integrity.leaf", "entry 10", "nothing", id="no leaf"
        ),
        pytest.param(
            [*ROWS[:9], ROWS[9]._replace(head=b"\x00" * 33), *ROWS[10:]],
            "integrity.chain",
            "entry 10",
            "stored head 0000",
            id="head too long",
        ),
        pytest.param(
            [*ROWS[:9], ROWS[9]._replace(body=b"x", head=bytes(32)), *ROWS[10:]],
            "integrity.leaf",
            "entry 10",
            "all disagree",
            id="contents and head",
        ),
        pytest.param(
            [*ROWS[:9], ROWS[9]._replace(body=b"x", leaf=record_hash(b"x")), *ROWS[10:]],
            "integrity.chain",
            "entry 10",
            "does not follow entry 9",
            id="contents with their leaf",
        ),
    ],
)
def test_tampering_is_named(rows: list[Row], code: str, where: str, words: str) -> None:
    found_code, found_where, found_what = first_finding(rows)
    assert (found_code, found_where) == (code, where)
    assert words in found_what
    assert exit_code(walk(LEDGER, rows).findings) == EXIT_INTEGRITY


def test_two_damages_make_two_findings() -> None:
    rows = [*ROWS]
    rows[4], rows[20] = rows[4]._replace(body=b"x"), rows[20]._replace(head=bytes(32))
    assert [each.where for each in walk(LEDGER, rows).findings] == ["entry 5", "entry 21"]


def test_a_flood_of_findings_is_cut_and_counted() -> None:
    rows = [row._replace(leaf=bytes(32)) for row in ROWS]
    found = walk(LEDGER, rows).findings
    assert len(found) == FINDINGS_LISTED + 1
    assert f"{COUNT - FINDINGS_LISTED} more entries" in found[-1].what


def test_checkpoints_that_agree_say_nothing() -> None:
    walked = walk(LEDGER, ROWS, sizes=[0, 3, COUNT])
    assert against_checkpoints(walked, [anchor(3), anchor(COUNT), anchor(0), anchor(3)]) == ()


@pytest.mark.parametrize("cut", range(COUNT))
def test_a_cut_tail_or_an_old_copy_is_beyond_the_end(cut: int) -> None:
    walked = walk(LEDGER, ROWS[:cut], sizes=[COUNT])
    assert walked.findings == ()  # the rows alone cannot tell
    (finding,) = against_checkpoints(walked, [anchor(COUNT)])
    assert finding.code == "integrity.tail-missing"
    assert f"checkpoint {COUNT}" in finding.where
    assert f"has {cut} entries" in finding.what
    assert f"at least {COUNT - cut} are missing" in finding.what


@given(changed=st.integers(1, COUNT), sizes=st.sets(st.integers(1, COUNT), min_size=1, max_size=6))
def test_a_rewritten_history_is_bounded_by_the_checkpoints_around_it(changed: int, sizes: set[int]) -> None:
    rewritten = chained([*BODIES[: changed - 1], b"rewritten", *BODIES[changed:]])
    walked = walk(LEDGER, rewritten, sizes)
    assert walked.findings == ()  # with all hashes made again, the rows hold together
    found = against_checkpoints(walked, [anchor(size) for size in sizes])
    assert len(found) == sum(size >= changed for size in sizes)
    for finding in found:
        assert finding.code == "integrity.root"
        bounds = re.search(r"lies in (\d+) to (\d+)\.$", finding.what)
        assert bounds is not None
        assert int(bounds[1]) <= changed <= int(bounds[2])
        assert int(bounds[1]) == max((size for size in sizes if size < changed), default=0) + 1


def test_two_anchors_of_one_size_with_two_roots_are_a_fork() -> None:
    walked = walk(LEDGER, ROWS, sizes=[9])
    found = against_checkpoints(walked, [anchor(9), anchor(9, root=bytes(32))])
    assert [each.code for each in found] == ["integrity.fork", "integrity.root"]


def test_an_anchor_of_another_ledger_proves_nothing_here() -> None:
    (finding,) = against_checkpoints(walk(LEDGER, ROWS, sizes=[9]), [anchor(9, ledger="other")])
    assert finding.code == "integrity.checkpoint-other-ledger"


def test_a_size_the_walk_was_not_asked_for_is_our_bug() -> None:
    with pytest.raises(AssertionError, match="not asked"):
        against_checkpoints(walk(LEDGER, ROWS), [anchor(9)])
