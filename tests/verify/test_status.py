"""Status files: believed only as a trusted key signed them, and asked about one sealed file. Invented."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.verify.making import KEY, LEDGER, PUBLIC, trust

from benchseal.ledger.checkpoints import checkpoint_json, key_id, make_checkpoint
from benchseal.ledger.key_history import KeyPeriod, Revoked
from benchseal.problems import exit_code
from benchseal.records.evidence import CheckpointRecord
from benchseal.records.shape import record_bytes, record_of
from benchseal.records.status_file import StatusFile, StatusLine
from benchseal.verify.status import read_status, signed_bytes, standing

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchseal.verify.trust import Trust

AT = "2026-05-14T09:00:00.000Z"
OURS, OLD, GONE = "1a" * 32, "2b" * 32, "3c" * 32


def signed(status: StatusFile) -> StatusFile:
    return replace(status, signature=KEY.sign(signed_bytes(status)).hex())


def made(**changes: object) -> StatusFile:
    head = make_checkpoint(ledger=LEDGER, size=40, root=bytes(32), at=AT, public_key=PUBLIC, sign=KEY.sign)
    plain = StatusFile(
        schema="status/1",
        laboratory="Tern Quay Laboratory",
        ledger=LEDGER,
        customer="",
        checkpoint=record_of(CheckpointRecord, checkpoint_json(head)),
        certificates=(
            StatusLine(OURS, "in force", "", "", ""),
            StatusLine(OLD, "superseded", "2026-05-02T09:00:00.000Z", OURS, ""),
            StatusLine(GONE, "withdrawn", "2026-05-03T09:00:00.000Z", "", ""),
        ),
        key_id=key_id(PUBLIC),
        signature="",
    )
    return signed(replace(plain, **changes))  # type: ignore[arg-type]


def read(status: StatusFile, under: Trust | None = None) -> StatusFile | str:
    found = read_status(record_bytes(status) + b"\n", "status.json", under or trust())
    if isinstance(found, StatusFile):
        return found
    assert exit_code(found) == 3
    return found[0].what


@pytest.mark.clause("17025 7.8.8")
def test_what_a_trusted_key_signed_is_believed_and_answers() -> None:
    status = read(made())
    assert isinstance(status, StatusFile)
    said = {name: standing(status, name) for name in (OURS, OLD, GONE, "4d" * 32)}
    assert [(one.word, one.exit_code) for one in said.values()] == [
        ("in force", 0),
        ("superseded", 10),
        ("withdrawn", 10),
        ("not named", 3),
    ]
    assert OURS in said[OLD].said
    assert "since 2026-05-03" in said[GONE].said


@pytest.mark.refuses("17025 7.8.8", "P11 11.10(a)")
@pytest.mark.parametrize(
    ("lie", "says"),
    [
        pytest.param(lambda one: replace(one, certificates=()), "its signature", id="a line is taken out"),
        pytest.param(lambda one: replace(one, customer="alder"), "its signature", id="called another's"),
        pytest.param(lambda one: replace(one, signature="00" * 64), "its signature", id="no signature"),
        pytest.param(lambda one: replace(one, signature="zz"), "its signature", id="a signature that is no text"),
        pytest.param(lambda one: replace(one, key_id="00" * 8), "does not hold", id="an unknown key"),
        pytest.param(lambda one: signed(replace(one, ledger="bs-other")), "it is of ledger", id="another laboratory"),
        pytest.param(
            lambda one: signed(replace(one, checkpoint=replace(one.checkpoint, at="2027-01-01T00:00:00.000Z"))),
            "does not belong to its contents",
            id="a head of a later day, signed again by the same key",
        ),
    ],
)
def test_lies(lie: Callable[[StatusFile], StatusFile], says: str) -> None:
    found = read(lie(made()))
    assert isinstance(found, str)
    assert says in found


def test_a_revoked_key_says_nothing() -> None:
    gone = Revoked("2026-01-01", AT, "the disk was sold", frozenset())
    under = replace(trust(), ledger_keys=(KeyPeriod(key_id(PUBLIC), PUBLIC, revoked=gone),))
    assert "is revoked" in str(read(made(), under))


def test_nobody_is_trusted_without_a_trust_file() -> None:
    found = read_status(record_bytes(made()), "status.json", None)
    assert not isinstance(found, StatusFile)


WHOLE = record_bytes(made())


@pytest.mark.refuses("P11 11.10(a)")
@given(st.integers(0, len(WHOLE) - 1), st.integers(1, 255))
def test_no_changed_byte_is_believed(place: int, by: int) -> None:
    data = bytearray(WHOLE)
    data[place] ^= by
    assert not isinstance(read_status(bytes(data), "status.json", trust()), StatusFile)


@given(st.binary(max_size=300))
def test_anything_is_answered(data: bytes) -> None:
    assert not isinstance(read_status(data, "status.json", trust()), StatusFile)


def test_a_file_that_was_replaced_names_the_last_that_replaced_it() -> None:
    first = StatusLine(GONE, "withdrawn", "2026-05-01T09:00:00.000Z", OLD, "")
    second = StatusLine(OLD, "superseded", "2026-05-02T09:00:00.000Z", OURS, "")
    last = StatusLine(OURS, "withdrawn", "2026-05-03T09:00:00.000Z", "", "")
    said = standing(made(certificates=(last, second, first)), GONE).said
    assert f"replaced by the file with SHA-256 {OLD}, that replaced by the file with SHA-256 {OURS}, which is" in said
    circle = replace(last, replaced_by=GONE)  # nothing a sound laboratory signs
    assert standing(made(certificates=(circle, second, first)), GONE).said.count("replaced") == 2
