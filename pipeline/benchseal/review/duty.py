"""Separation of duty: who contributed may not check.

Contributing acts (prepare, operate, submit, enter, draft a document) bar a person from reviewing or approving, over the
whole history, whatever roles the person holds now. Checking acts (accept, return, view) never do, except
that reviewer and approver are two people. Sources: 21 CFR 11.10(g), 211.194(a)(8) (clause from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from benchseal.problems import Refusal

CONTRIBUTING: frozenset[str] = frozenset({"prepare", "operate", "submit", "enter", "change", "exclude", "author"})


@dataclass(frozen=True, slots=True)
class Situation:
    """What is known of one subject when somebody acts on it.

    contributors: person to the contributing acts that bar them (of the subject and of all it rests on).
    checkers: person to what they already checked of it, where a second check must be somebody else's.
    """

    subject: str
    state: str
    contributors: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    checkers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


Guard: TypeAlias = Callable[[Situation, str], Refusal | None]


def checked_by_another(situation: Situation, person: str) -> Refusal | None:
    """Refuse whoever contributed to the subject, and whoever already did the check before this one."""
    acts = situation.contributors.get(person, ())
    if acts:
        return Refusal(
            "duty.own-work",
            situation.subject,
            f"{person} contributed to it ({', '.join(sorted(acts))}).",
            "Another person with the role has to do this.",
        )
    checked = situation.checkers.get(person, ())
    if checked:
        return Refusal(
            "duty.same-checker",
            situation.subject,
            f"{person} already did its {', '.join(sorted(checked))}.",
            "Reviewer and approver are two people; another approver has to do this.",
        )
    return None


CHECKED_BY_ANOTHER: Guard = checked_by_another
