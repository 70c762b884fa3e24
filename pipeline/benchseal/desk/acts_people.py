"""Acts on people: enrolment and accounts: as values, and who may do them with which signature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.desk.act_row import ADMINISTRATOR, ActRow, anyone

if TYPE_CHECKING:
    from benchseal.records.people import Role


@dataclass(frozen=True, slots=True)
class AddPerson:
    """Enrol a person. identity_check: how the identity was checked. password: the person's own, typed by them."""

    person: str
    printed_name: str
    roles: tuple[Role, ...]
    identity_check: str
    password: str


@dataclass(frozen=True, slots=True)
class UnlockPerson:
    """Let somebody locked out try again."""

    person: str
    reason: str


PEOPLE: tuple[ActRow, ...] = (
    ActRow(AddPerson, "person add", anyone(ADMINISTRATOR), ("person.added",), "people:add_person", "enrol a person"),
    ActRow(
        UnlockPerson,
        "person unlock",
        anyone(ADMINISTRATOR),
        ("person.unlocked",),
        "people:unlock_person",
        "let somebody locked out try again",
    ),
)
