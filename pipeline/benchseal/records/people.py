"""Persons and roles. A person's identifier is permanent: disabled, never reused, never renamed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Role(StrEnum):
    """What a person may do; the acts table (``desk/acts.py``) says which acts each role has."""

    ANALYST = "analyst"
    REVIEWER = "reviewer"
    APPROVER = "approver"
    ADMINISTRATOR = "administrator"
    AUDITOR = "auditor"
    SERVICE = "service"


@dataclass(frozen=True, slots=True)
class Person:
    """Someone known to the site, as of one ledger entry.

    person: identifier (``p-ines.brandt``). printed_name: as signatures show it. roles: in force now.
    enrolled_by: who checked the identity, never the person. active: False once disabled.
    """

    person: str
    printed_name: str
    roles: tuple[Role, ...]
    identity_check: str
    enrolled_by: str
    active: bool = True
