"""Reading a trust file: sound, and every way in which it is not."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Any

import pytest
from tests.stamping import Stamper

from benchseal.ledger.checkpoints import key_id
from benchseal.verify.trust import Trust, read_trust

if TYPE_CHECKING:
    from collections.abc import Callable

DER = b"a certificate"
KEY = bytes(range(32))


def sound() -> dict[str, Any]:
    return {
        "schema": "trust/1",
        "laboratory": "Tern Quay Laboratory",
        "ledger": "bs-1",
        "seals": [{"fingerprint_sha256": hashlib.sha256(DER).hexdigest(), "certificate_der_hex": DER.hex()}],
        "ledger_keys": [{"key_id": key_id(KEY), "public_key_hex": KEY.hex()}],
    }


def test_a_sound_file() -> None:
    trust = read_trust(sound())
    assert isinstance(trust, Trust)
    assert trust.fingerprints == {hashlib.sha256(DER).hexdigest()}
    assert trust.ledger_key(key_id(KEY)) == KEY
    assert trust.ledger_key("0" * 16) is None


def _set(*path: str | int, to: object) -> Callable[[dict[str, Any]], None]:
    def change(value: dict[str, Any]) -> None:
        inner: Any = value
        for name in path[:-1]:
            inner = inner[name]
        inner[path[-1]] = to

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param(_set("schema", to="trust/9"), "trust/1", id="another schema"),
        pytest.param(_set("more", to=1), "does not belong", id="a member too many"),
        pytest.param(_set("ledger", to=""), "not text, or empty", id="no ledger"),
        pytest.param(_set("laboratory", to=3), "not text, or empty", id="laboratory is no text"),
        pytest.param(_set("seals", to=[]), "one or more", id="no seal"),
        pytest.param(_set("ledger_keys", to="x"), "one or more", id="no list of keys"),
        pytest.param(_set("seals", 0, to="x"), "not an object", id="a seal that is text"),
        pytest.param(_set("seals", 0, "certificate_der_hex", to=7), "not text", id="a certificate that is a number"),
        pytest.param(_set("seals", 0, "certificate_der_hex", to="AB"), "hexadecimal", id="capital figures"),
        pytest.param(_set("seals", 0, "fingerprint_sha256", to="0" * 64), "fingerprint", id="another fingerprint"),
        pytest.param(_set("ledger_keys", 0, "public_key_hex", to="00"), "32 bytes", id="a short key"),
        pytest.param(_set("ledger_keys", 0, "key_id", to="0" * 16), "short name", id="another key's name"),
    ],
)
def test_an_unsound_file_is_refused(change: Callable[[dict[str, Any]], None], words: str) -> None:
    value = sound()
    change(value)
    problems = read_trust(value)
    assert isinstance(problems, tuple)
    assert words in " ".join(map(str, problems))
    assert all(problem.code == "settings.trust-unusable" for problem in problems)


def test_every_fault_is_said_at_once() -> None:
    value = sound() | {"ledger": "", "seals": [], "extra": 1}
    problems = read_trust(value)
    assert isinstance(problems, tuple)
    assert len(problems) == 3


@pytest.mark.parametrize("value", [None, [], "trust/1", {}])
def test_what_is_no_trust_file(value: Any) -> None:  # noqa: ANN401  anything JSON may hold
    assert isinstance(read_trust(value), tuple)


def with_stamps() -> dict[str, Any]:
    """Form trust/3: whose time-stamps are trusted."""
    authority = {"certificate_der_hex": Stamper().trusted.hex(), "policy": "2.999.4.1"}
    return {**sound(), "schema": "trust/3", "handovers": [], "revoked": [], "time_stamp_authorities": [authority]}


def test_whose_time_stamps_are_trusted() -> None:
    trust = read_trust(with_stamps())
    assert isinstance(trust, Trust), trust
    assert [one.policy for one in trust.authorities] == ["2.999.4.1"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param(_set("schema", to="trust/2"), "does not belong", id="in an older form"),
        pytest.param(_set("time_stamp_authorities", to="x"), "not a list", id="no list"),
        pytest.param(_set("time_stamp_authorities", 0, "policy", to=7), "not text", id="a policy that is a number"),
        pytest.param(_set("time_stamp_authorities", 0, to={"policy": ""}), "hexadecimal", id="no certificate"),
        pytest.param(_set("time_stamp_authorities", 0, "certificate_der_hex", to="00"), "pars", id="no certificate"),
        pytest.param(lambda value: value["time_stamp_authorities"][0].pop("policy"), "policy", id="no policy"),
    ],
)
def test_an_unsound_authority(change: Callable[[dict[str, Any]], None], words: str) -> None:
    value = with_stamps()
    change(value)
    problems = read_trust(value)
    assert isinstance(problems, tuple)
    assert words in " ".join(f"{one.where} {one.what}" for one in problems)
