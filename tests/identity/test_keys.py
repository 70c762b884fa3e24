from __future__ import annotations

import json
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.serialization import load_der_public_key
from hypothesis import given
from hypothesis import strategies as st

from benchseal.identity.keys import (
    PRODUCTION_HARDNESS,
    Hardness,
    close_envelope,
    key_id_of,
    load_private,
    new_ed25519,
    open_envelope,
    private_der,
    public_bytes,
)
from benchseal.ledger.checkpoints import key_id
from benchseal.problems import Refusal

KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
KEY_ID = key_id_of(KEY)
DER = private_der(KEY)
PASSPHRASE = "copper lantern drifts north"
ACCENTED, ANOTHER = "caf\u00e9 au lait", "some other words here"
SALT, NONCE = bytes(range(16)), bytes(range(12))
CHEAP = Hardness(time=1, memory_kib=8, lanes=1)
ENVELOPE = close_envelope(DER, key_id=KEY_ID, passphrase=PASSPHRASE, salt=SALT, nonce=NONCE, hardness=CHEAP)
OTHER_ID = "0" * 16


def opened(data: bytes, passphrase: str = PASSPHRASE, name: str = KEY_ID) -> bytes | str:
    found = open_envelope(data, key_id=name, passphrase=passphrase)
    return found.code if isinstance(found, Refusal) else found


def altered(**change: object) -> bytes:
    return json.dumps({**json.loads(ENVELOPE), **change}).encode()


def test_what_is_closed_opens_with_its_passphrase() -> None:
    assert opened(ENVELOPE) == DER
    again = load_private(DER)
    assert isinstance(again, Ed25519PrivateKey)
    assert again.private_bytes_raw() == KEY.private_bytes_raw()


def test_the_envelope_is_the_one_written_down() -> None:
    """argon2id by OpenSSL and AES-256-GCM by hand, over the published parts of an envelope of production strength."""
    data = close_envelope(DER, key_id=KEY_ID, passphrase=PASSPHRASE, salt=SALT, nonce=NONCE)
    members = json.loads(data)
    assert (members["time"], members["memory_kib"], members["lanes"]) == (3, 65536, 1)
    stretched = Argon2id(salt=SALT, length=32, iterations=3, lanes=1, memory_cost=65536).derive(PASSPHRASE.encode())
    associated = f"benchseal-key/1|{KEY_ID}".encode()
    assert AESGCM(stretched).decrypt(NONCE, bytes.fromhex(members["sealed"]), associated) == DER
    assert opened(data) == DER
    assert Hardness(3, 65536, 1) == PRODUCTION_HARDNESS


def test_the_key_does_not_stand_in_the_envelope() -> None:
    assert KEY.private_bytes_raw().hex().encode() not in ENVELOPE
    assert PASSPHRASE.encode() not in ENVELOPE


@pytest.mark.refuses("17025 7.11.3")
@pytest.mark.parametrize("wrong", ["", "copper lantern drifts north ", "Copper lantern drifts north", "\ud800"])
def test_a_wrong_passphrase_is_refused(wrong: str) -> None:
    assert opened(ENVELOPE, wrong) == "keys.not-opened"


def test_a_passphrase_typed_in_another_unicode_form_is_the_same() -> None:
    data = close_envelope(DER, key_id=KEY_ID, passphrase=ACCENTED, salt=SALT, nonce=NONCE, hardness=CHEAP)
    assert opened(data, "cafe\u0301 au lait") == DER


def test_an_envelope_is_not_passed_off_as_that_of_another_key() -> None:
    assert opened(ENVELOPE, name=OTHER_ID) == "keys.envelope-other"
    assert opened(altered(key_id=OTHER_ID), name=OTHER_ID) == "keys.not-opened"  # relabelled


@given(bit=st.integers(0, 8 * len(json.loads(ENVELOPE)["sealed"]) // 2 - 1))
def test_every_bit_of_the_sealed_key_counts(bit: int) -> None:
    raw = bytearray.fromhex(json.loads(ENVELOPE)["sealed"])
    raw[bit // 8] ^= 1 << bit % 8
    assert opened(altered(sealed=raw.hex())) == "keys.not-opened"


@pytest.mark.parametrize(
    "change",
    [
        pytest.param({"salt": "0" * 32}, id="salt"),
        pytest.param({"nonce": "0" * 24}, id="nonce"),
        pytest.param({"time": 2}, id="passes"),
        pytest.param({"memory_kib": 16}, id="memory"),
        pytest.param({"sealed": "00" * 4}, id="cut short"),
    ],
)
def test_an_altered_envelope_is_refused(change: dict[str, Any]) -> None:
    assert opened(altered(**change)) == "keys.not-opened"


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b"\xff", id="not text"),
        pytest.param(b"[" * 100_000, id="nested too deeply"),
        pytest.param(b"[]", id="a list"),
        pytest.param(altered(schema="key-envelope/2"), id="another schema"),
        pytest.param(altered(note="hello"), id="a member too many"),
        pytest.param(altered(sealed="xyz"), id="not hexadecimal"),
        pytest.param(altered(sealed=""), id="nothing sealed"),
        pytest.param(altered(sealed=None), id="null sealed"),
        pytest.param(altered(salt="00"), id="salt too short"),
        pytest.param(altered(nonce="0" * 26), id="nonce too long"),
        pytest.param(altered(key_id="../../etc"), id="key id is a path"),
        pytest.param(altered(time="3"), id="cost is text"),
        pytest.param(altered(time=True), id="cost is a boolean"),
        pytest.param(altered(time=0), id="no pass"),
        pytest.param(altered(time=10**9), id="would run for years"),
        pytest.param(altered(memory_kib=2**31), id="would take all memory"),
        pytest.param(altered(lanes=2**20), id="a million lanes"),
        pytest.param(altered(memory_kib=7), id="too little memory for argon2"),
    ],
)
def test_what_is_no_envelope_is_refused_unopened(data: bytes) -> None:
    assert opened(data) == "keys.envelope-unreadable"


@given(st.binary(max_size=300))
def test_any_bytes_are_refused_without_a_fault(data: bytes) -> None:
    assert opened(data) == "keys.envelope-unreadable"


def test_a_refusal_says_what_to_do_and_never_the_passphrase() -> None:
    found = open_envelope(ENVELOPE, key_id=KEY_ID, passphrase=ANOTHER)
    assert isinstance(found, Refusal)
    assert KEY_ID in found.where
    assert found.remedy
    assert ANOTHER not in str(found)


@pytest.mark.parametrize(
    "change",
    [
        pytest.param({"salt": b"short"}, id="salt"),
        pytest.param({"nonce": b"short"}, id="nonce"),
        pytest.param({"passphrase": ""}, id="no passphrase"),
        pytest.param({"key_id": "seal|other"}, id="key id with a separator"),
    ],
)
def test_an_envelope_that_would_be_weak_is_our_bug(change: dict[str, Any]) -> None:
    whole = {"key_id": KEY_ID, "passphrase": PASSPHRASE, "salt": SALT, "nonce": NONCE, "hardness": CHEAP}
    with pytest.raises(AssertionError, match="an envelope needs"):
        close_envelope(DER, **{**whole, **change})


def test_key_ids_agree_with_the_checkpoints() -> None:
    """Two rooms that may not know each other name one key: this test holds them equal."""
    assert key_id_of(KEY) == key_id(KEY.public_key().public_bytes_raw())


def test_new_keys_differ() -> None:
    assert new_ed25519().private_bytes_raw() != new_ed25519().private_bytes_raw()


def test_a_seal_key_is_rsa_3072_and_survives_its_envelope(seal_key: RSAPrivateKey) -> None:
    assert seal_key.key_size == 3072
    assert seal_key.public_key().public_numbers().e == 65537
    name = key_id_of(seal_key)
    data = close_envelope(
        private_der(seal_key), key_id=name, passphrase=PASSPHRASE, salt=SALT, nonce=NONCE, hardness=CHEAP
    )
    der = open_envelope(data, key_id=name, passphrase=PASSPHRASE)
    assert isinstance(der, bytes)
    again = load_private(der)
    assert isinstance(again, RSAPrivateKey)
    assert again.private_numbers() == seal_key.private_numbers()
    assert load_der_public_key(public_bytes(again)) == seal_key.public_key()
