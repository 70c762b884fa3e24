"""The matrix of rights: which role may do which act, in which place, and how. Made from ``ACTS``; nothing is typed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from benchseal.desk.acts import ROWS
from benchseal.desk.second import MAY_SIGN_OFF, is_administrative
from benchseal.records.people import Role

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.desk.act_row import ActRow, Signer

EVERYBODY: Final = frozenset(Role)
PEOPLE: Final = EVERYBODY - {Role.SERVICE}


@dataclass(frozen=True, slots=True)
class Right:
    """One place of one act. place: such as ``1 of 2``; how: what the person gives; roles: who may take the place."""

    command: str
    says: str
    place: str
    how: str
    roles: frozenset[Role]


def rights() -> tuple[Right, ...]:
    """Every place of every act in the order of ``ACTS``, then what changes no record."""
    acts = (right for row in ROWS for right in _of(row))
    reading = Right(
        "any that only looks", "look at records; noted in the log of reads", "1 of 1", "signed in", EVERYBODY
    )
    copying = Right("copy", "make an inspection copy", "1 of 1", "signed in", PEOPLE)
    return (*acts, reading, copying)


def _of(row: ActRow) -> Iterator[Right]:
    for place, signer in enumerate(row.signers, 1):
        where = f"{place} of {len(row.signers)}" + (", where the act asks" if signer.optional else "")
        yield Right(row.command, row.says, where, _how(signer), signer.roles)
    if is_administrative(row):
        where = "beside, where the first also works on results"
        yield Right(row.command, row.says, where, "signs as approved", frozenset(MAY_SIGN_OFF))


def _how(signer: Signer) -> str:
    if signer.meaning is not None:
        return f"signs as {signer.meaning.value}"
    return "gives the password" if signer.password else "signed in"
