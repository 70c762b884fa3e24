"""The note of where a seal key's token is: read strictly, never of another key; no PIN given for a name is repeated."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.certifying import rsa_key

from benchseal.identity.seal_signer import HeldSealKey, signature_holds
from benchseal.identity.token_reference import (
    TokenPlace,
    TokenReference,
    place_problems,
    public_key_id,
    read_reference,
    reference_bytes,
)
from benchseal.problems import Refusal

PLACE = TokenPlace("/usr/lib/token.so", "Weir Lane", "seal", "seal-pin")


def reference() -> TokenReference:
    return TokenReference(PLACE, HeldSealKey(rsa_key("leaf")).public)


def test_what_is_kept_comes_back() -> None:
    kept = reference()
    assert read_reference(reference_bytes(kept), public_key_id(kept.public)) == kept


def test_a_path_of_windows_is_absolute() -> None:
    assert place_problems(replace(PLACE, module="C:\\Maker\\maker.dll")) == ()
    assert place_problems(replace(PLACE, module="maker.dll")) != ()


@pytest.mark.parametrize(
    "data",
    [b"", b"[]", b"{}", b"\xff", reference_bytes(reference())[:-9], reference_bytes(replace(reference(), public=b"x"))],
    ids=["empty", "no object", "no members", "no text", "cut off", "another key"],
)
def test_anything_else_is_refused(data: bytes) -> None:
    found = read_reference(data, public_key_id(reference().public))
    assert isinstance(found, Refusal)
    assert found.code == "keys.token-note"


def test_everything_wrong_with_a_place_is_said_at_once_and_no_pin_repeated() -> None:
    found = place_problems(TokenPlace("token.so", "", "x" * 256, "271828"))
    assert [one.where for one in found] == ["--module", "--token", "--key", "--pin"]
    assert "271828" not in repr(found)


def test_a_signature_holds_for_its_key_and_data_alone() -> None:
    held, other = HeldSealKey(rsa_key("leaf")), HeldSealKey(rsa_key("next"))
    signature = held.sign(b"page")
    assert signature_holds(held.public, signature, b"page")
    assert not signature_holds(held.public, signature, b"pages")
    assert not signature_holds(other.public, signature, b"page")
    assert not signature_holds(held.public, signature[:-1], b"page")
    assert "private" not in repr(held)
