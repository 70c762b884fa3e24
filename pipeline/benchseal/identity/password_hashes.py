"""Keeping passwords as argon2id hashes and checking them, with the same work whoever asks.

Parameters: RFC 9106 section 4, second recommended option (t = 3, 64 MiB, p = 4). The hasher is given by whoever
builds ``PasswordHashes``, so tests use a cheap one; nothing reads the environment. One check takes the whole 64 MiB:
the caller bounds how many run at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError, VerifyMismatchError
from argon2.profiles import RFC_9106_LOW_MEMORY

from benchseal.identity.passwords import LONGEST, normalized
from benchseal.problems import Finding
from benchseal.records.canonical import digest

if TYPE_CHECKING:
    from benchseal.records.canonical import Digest

SALT_BYTES = 16

_NOBODY = bytes(SALT_BYTES)


@dataclass(frozen=True, slots=True)
class PasswordCheck:
    """Whether the password was right, and whether its hash should be made again with today's parameters."""

    is_right: bool
    needs_rehash: bool


WRONG = PasswordCheck(is_right=False, needs_rehash=False)


def production_hasher() -> PasswordHasher:
    """The hasher of a real site (RFC 9106 section 4, second recommended option)."""
    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


class PasswordHashes:
    """Makes and checks password hashes with the hasher it was given."""

    def __init__(self, hasher: PasswordHasher) -> None:
        self._hasher = hasher

    def make(self, password: str, salt: bytes) -> str:
        """Hash string to keep, parameters and salt inside. ``salt``: 16 fresh random bytes. Check the policy first."""
        if len(salt) != SALT_BYTES:
            raise AssertionError(f"a password salt is {SALT_BYTES} bytes")
        return self._hasher.hash(_bytes(password), salt=salt)

    def check(self, kept: str | None, password: str) -> PasswordCheck:
        """Check a password against the kept hash; ``None`` for an unknown or disabled person.

        An unknown person, a damaged hash and an overlong password cost one hash like a wrong password does, so the
        time of the answer does not say which it was.
        """
        data = _bytes(password)
        if kept is None or len(normalized(password)) > LONGEST:
            return self._same_work(data)
        try:
            self._hasher.verify(kept, data)
        except VerifyMismatchError:
            return WRONG
        except (InvalidHashError, VerificationError):  # the library gives up on a damaged hash before any work
            return self._same_work(data)
        return PasswordCheck(is_right=True, needs_rehash=self._hasher.check_needs_rehash(kept))

    def _same_work(self, data: bytes) -> PasswordCheck:
        self._hasher.hash(data[:LONGEST], salt=_NOBODY)
        return WRONG


def _bytes(password: str) -> bytes:
    return normalized(password).encode("utf-8", "surrogatepass")


def kept_hash_digest(kept: str) -> Digest:
    """SHA-256 of a hash string: what the ledger carries, so that a hash swapped by SQL shows."""
    return digest(kept.encode("utf-8"))


def check_kept_hash(person: str, kept: str, recorded: Digest) -> Finding | None:
    """Whether the hash kept for a person is the one the ledger last recorded."""
    found = kept_hash_digest(kept)
    if found == recorded:
        return None
    return Finding(
        "integrity.password-hash",
        person,
        f"the password hash kept is not the one recorded: digest {found[:16]}…, recorded {recorded[:16]}…",
        "It was changed outside the program. Disable the account, look at its signatures since, reset it in person.",
    )
