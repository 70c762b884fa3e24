from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, Literal

import pytest
from argon2 import PasswordHasher
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from benchseal.identity.password_hashes import (
    PasswordCheck,
    PasswordHashes,
    check_kept_hash,
    kept_hash_digest,
    production_hasher,
)
from benchseal.identity.passwords import LONGEST
from benchseal.problems import EXIT_INTEGRITY, exit_code

if TYPE_CHECKING:
    from collections.abc import Callable

PASSWORD = "copper lantern drifts north"
SALT = bytes(range(16))
CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
HASHES = PasswordHashes(CHEAP)


class CountingHasher(PasswordHasher):
    """Counts how often the argon2id function runs (it is what an answer costs)."""

    def __init__(self) -> None:
        super().__init__(time_cost=1, memory_cost=8, parallelism=1)
        self.runs = 0
        self.longest = 0

    def hash(self, password: str | bytes, *, salt: bytes | None = None) -> str:
        self.runs += 1
        self.longest = max(self.longest, len(password))
        return super().hash(password, salt=salt)

    def verify(self, hash: str | bytes, password: str | bytes) -> Literal[True]:  # noqa: A002  the library's own word
        self.runs += 1
        self.longest = max(self.longest, len(password))
        return super().verify(hash, password)


def test_production_parameters_are_the_second_option_of_rfc_9106() -> None:
    """RFC 9106 section 4: t = 3, m = 2**16 KiB, p = 4, 128-bit salt, 256-bit tag."""
    hasher = production_hasher()
    assert (hasher.time_cost, hasher.memory_cost, hasher.parallelism) == (3, 65536, 4)
    kept = PasswordHashes(hasher).make(PASSWORD, SALT)
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")


def test_the_hash_is_argon2id_of_the_normalized_password() -> None:
    """Against the argon2id of OpenSSL (through ``cryptography``), which shares no code with argon2-cffi."""
    kept = HASHES.make("cafe\u0301 au lait noir", SALT)
    Argon2id.verify_phc_encoded("caf\u00e9 au lait noir".encode(), kept)


def test_right_and_wrong() -> None:
    kept = HASHES.make(PASSWORD, SALT)
    assert HASHES.check(kept, PASSWORD) == PasswordCheck(is_right=True, needs_rehash=False)
    for wrong in (PASSWORD + " ", PASSWORD.upper(), "", PASSWORD[:-1], PASSWORD + "\x00", "\ud800" * 15):
        assert HASHES.check(kept, wrong) == PasswordCheck(is_right=False, needs_rehash=False)


def test_two_salts_two_hashes() -> None:
    assert HASHES.make(PASSWORD, SALT) != HASHES.make(PASSWORD, bytes(16))


def test_a_hash_with_yesterdays_parameters_is_right_and_due() -> None:
    kept = HASHES.make(PASSWORD, SALT)
    today = PasswordHashes(PasswordHasher(time_cost=2, memory_cost=16, parallelism=1))
    assert today.check(kept, PASSWORD) == PasswordCheck(is_right=True, needs_rehash=True)
    assert today.check(kept, "another password") == PasswordCheck(is_right=False, needs_rehash=False)


@pytest.mark.parametrize(
    ("kept_of", "password"),
    [
        pytest.param(lambda kept: kept, PASSWORD, id="right"),
        pytest.param(lambda kept: kept, "wrong password here", id="wrong"),
        pytest.param(lambda kept: kept, "w" * 100_000, id="overlong"),
        pytest.param(lambda _: None, PASSWORD, id="nobody"),
        pytest.param(lambda _: None, "\ud800", id="nobody, half a surrogate pair"),
    ],
)
def test_every_answer_costs_one_hash(kept_of: Callable[[str], str | None], password: str) -> None:
    kept = HASHES.make(PASSWORD, SALT)
    hasher = CountingHasher()
    PasswordHashes(hasher).check(kept_of(kept), password)
    assert hasher.runs == 1
    assert hasher.longest <= 4 * LONGEST  # bytes of the longest password there can be


@pytest.mark.parametrize("damaged", ["", "$argon2id$", "plain text", "$2b$12$abcdefghijklmnopqrstuv"])
def test_a_damaged_hash_lets_nobody_in_and_does_not_fault(damaged: str) -> None:
    hasher = CountingHasher()
    assert not PasswordHashes(hasher).check(damaged, PASSWORD).is_right
    assert hasher.runs == 2  # the library looked and gave up at once; then the same work as for anybody


@pytest.mark.parametrize("at", range(5, 95, 3))
def test_a_hash_changed_anywhere_lets_nobody_in(at: int) -> None:
    kept = HASHES.make(PASSWORD, SALT)
    place = at % len(kept)
    letter = "A" if kept[place] != "A" else "B"
    assert not HASHES.check(kept[:place] + letter + kept[place + 1 :], PASSWORD).is_right


def test_a_salt_of_another_length_is_our_bug() -> None:
    with pytest.raises(AssertionError, match="16 bytes"):
        HASHES.make(PASSWORD, b"short")


@pytest.mark.refuses("P11 11.200(a)(3)")
def test_a_swapped_hash_shows_against_the_ledger() -> None:
    kept, other = HASHES.make(PASSWORD, SALT), HASHES.make("attackers own password", SALT)
    recorded = kept_hash_digest(kept)
    assert recorded == hashlib.sha256(kept.encode()).hexdigest()
    assert check_kept_hash("p-ines.brandt", kept, recorded) is None
    finding = check_kept_hash("p-ines.brandt", other, recorded)
    assert finding is not None
    assert (finding.code, finding.where) == ("integrity.password-hash", "p-ines.brandt")
    assert recorded[:16] in finding.what
    assert kept_hash_digest(other)[:16] in finding.what
    assert exit_code((finding,)) == EXIT_INTEGRITY
