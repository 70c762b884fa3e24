"""Whether somebody was trained for something on a day, from the facts on record (21 CFR 11.10(i)).

A fact names its subject: ``method/ID@VERSION``, ``role/ROLE`` or ``instrument/ID``. It counts from its first to its
last day, both included, and not from the day it was withdrawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


@dataclass(frozen=True, slots=True)
class TrainingFact:
    """One fact. Days ``YYYY-MM-DD``; withdrawn_on is empty while it stands. may_train: enters facts of others."""

    training: str
    person: str
    subject: str
    since: str
    until: str
    may_train: bool
    withdrawn_on: str

    def counts_on(self, day: str) -> bool:
        """Whether the fact holds on a day."""
        return self.since <= day <= self.until and (not self.withdrawn_on or day < self.withdrawn_on)


def trained(facts: Iterable[TrainingFact], person: str, subject: str, day: str) -> bool:
    """Whether ``person`` was trained for ``subject`` on ``day``."""
    return any(one.person == person and one.subject == subject and one.counts_on(day) for one in facts)


def trainers(facts: Iterable[TrainingFact], subject: str, day: str) -> frozenset[str]:
    """Who may enter facts of others on ``subject`` that day without being an approver."""
    return frozenset(one.person for one in facts if one.may_train and one.subject == subject and one.counts_on(day))
