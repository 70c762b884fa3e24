"""Site exceptions: what a small laboratory lets one person do that two would do elsewhere, and what it does instead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from benchseal.records.signatures import Signature

ExceptionKind: TypeAlias = Literal["reviewer_is_approver", "administrator_with_content_role"]
EXCEPTION_KINDS: Final[tuple[ExceptionKind, ...]] = ("reviewer_is_approver", "administrator_with_content_role")


@dataclass(frozen=True, slots=True)
class SiteException:
    """One exception, for one person and a time. since, until: first and last day, in the laboratory's time zone.

    kind: ``reviewer_is_approver`` lets the person approve and release what they reviewed;
    ``administrator_with_content_role`` lets an administrator also be analyst, reviewer or approver.
    compensating_check: what is done in place of the second person, in the laboratory's words.
    """

    schema: Literal["exception/1"]
    exception: str
    kind: ExceptionKind
    person: str
    since: str
    until: str
    compensating_check: str
    reason: str


@dataclass(frozen=True, slots=True)
class SignedException:
    """An exception with the signatures that put it in force: an approver's and an administrator's."""

    exception: SiteException
    signatures: tuple[Signature, ...]
