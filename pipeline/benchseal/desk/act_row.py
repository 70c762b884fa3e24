"""One act as a row: which command does it, who is needed, what it writes, where its function is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.records.people import Role

if TYPE_CHECKING:
    from benchseal.records.signatures import Meaning

ADMINISTRATOR, ANALYST, APPROVER = Role.ADMINISTRATOR, Role.ANALYST, Role.APPROVER
REVIEWER, SERVICE = Role.REVIEWER, Role.SERVICE


@dataclass(frozen=True, slots=True)
class Signer:
    """One person an act needs: with one of ``roles``; ``meaning`` where the person signs, else None.

    password: the password itself is asked for, an open session is not enough, though nothing is signed.
    once: a password given for once will do.
    optional: the act says itself when it needs the person; only the last ones of an act can be.
    """

    roles: frozenset[Role]
    meaning: Meaning | None = None
    password: bool = False
    once: bool = False
    optional: bool = False


@dataclass(frozen=True, slots=True)
class ActRow:
    """One act: the command that does it, who is needed in order, which entry kinds it writes, where its function is.

    beforehand: where the function is that makes what takes long, before the writer's lock is taken (``perform``).
    """

    act: type
    command: str
    signers: tuple[Signer, ...]
    kinds: tuple[str, ...]
    function: str
    says: str
    beforehand: str = ""


def anyone(*roles: Role) -> tuple[Signer, ...]:
    """One person with any of ``roles``, who does not sign."""
    return (Signer(frozenset(roles)),)


def signing(role: Role, meaning: Meaning) -> tuple[Signer, ...]:
    """One person with ``role``, who signs."""
    return (Signer(frozenset({role}), meaning),)
