"""Whose roles have to be kept apart: who keeps accounts does not also work on results."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.problems import Refusal
from benchseal.records.people import Role

if TYPE_CHECKING:
    from collections.abc import Iterable

CONTENT: Final = frozenset({Role.ANALYST, Role.REVIEWER, Role.APPROVER})


def content_roles_of_administrator(roles: Iterable[Role]) -> tuple[Role, ...]:
    """The content roles that somebody with ``roles`` has beside administrator, in fixed order; empty for most."""
    held = frozenset(roles)
    return tuple(sorted(held & CONTENT)) if Role.ADMINISTRATOR in held else ()


def not_kept_apart(person: str, beside: Iterable[Role]) -> Refusal:
    """Why somebody cannot be administrator and more."""
    return Refusal(
        "duty.administrator-content",
        person,
        f"administrator and {', '.join(beside)} would be one person: who keeps accounts does not work on results.",
        "Give the role to somebody else; a small laboratory signs an exception first: `benchseal exception add`.",
    )
