"""Brackets: a presented solution counts only between two passing checks; all others are voided, and said why.

The calibration, just made, opens the first bracket. A failed check takes with it everything back to the check
before and on to the check after (EPA 7000B and 7010, 10.2.2; 200.9, 9.3.4). What no bracketing rule judges is no
bracket. A rinse that did not come back to zero takes the one solution read directly after it.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING

from benchseal.records.results import Voided

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchseal.records.method import CheckRule

# Why a position is void, the gravest first.
GRAVEST = (
    "run.calibration",
    "run.check",
    "bracket.failed",
    "bracket.open",
    "bracket.too-long",
    "carry-over.failed",
    "drift.check-failed",
)


@dataclass(frozen=True, slots=True)
class Bracket:
    """One check of a run as a bracket: where it stands, whether it passed, and words when it did not."""

    position: int
    passed: bool
    why: str


def family_of(rule: CheckRule, rules: Sequence[CheckRule]) -> tuple[CheckRule, ...]:
    """The bracketing rules about the same solutions as ``rule``, itself among them: same kind, same expected value.

    The first check of a run may be judged by one rule and the later ones by another; they stand in one row of
    brackets all the same, each passing or failing by its own rule.
    """
    return tuple(
        other for other in rules if other.brackets and other.check == rule.check and _expected(other) == _expected(rule)
    )


def _expected(rule: CheckRule) -> Decimal | None:
    return Decimal(rule.expected) if rule.expected else None


def carried_over(places: Sequence[tuple[int, bool]], rinses: Sequence[Bracket]) -> tuple[Voided, ...]:
    """The presented solutions read directly after a rinse that did not come back to zero.

    What was left of the solution before may have added to them (common practice, no source). places: position of
    every solution in order, and whether it is a presented one. A check or another rinse in between ends the matter:
    it shows by itself whether anything is left.
    """
    following = {position: after for (position, _), after in pairwise(places)}
    return tuple(
        Voided(
            following[rinse.position][0],
            "carry-over.failed",
            f"memory of the solution before is not excluded: {rinse.why}",
        )
        for rinse in rinses
        if not rinse.passed and following.get(rinse.position, (0, False))[1]
    )


def voided_by(rule: CheckRule, name: str, presented: Sequence[int], brackets: Sequence[Bracket]) -> tuple[Voided, ...]:
    """Which of the ``presented`` positions lie in no good bracket; both sequences rise.

    brackets: of every rule of the family of ``rule``; every and at_end are its own. name: how sentences call the
    check. Codes: ``bracket.failed``, ``bracket.open`` (nothing closes the run), ``bracket.too-long`` (beyond
    ``rule.every`` presented solutions since the last check).
    """
    places = [bracket.position for bracket in brackets]
    found: list[Voided] = []
    since, group = 0, -1
    for position in presented:
        place = bisect_left(places, position)
        since = since + 1 if place == group else 1
        group = place
        before = brackets[place - 1] if place else None
        after = brackets[place] if place < len(brackets) else None
        fault = _fault(rule, name, since, before, after)
        if fault is not None:
            found.append(Voided(position, *fault))
    return tuple(found)


def merged(rows: Sequence[tuple[Voided, ...]]) -> tuple[Voided, ...]:
    """One row a position, in order: its gravest reason, the first of them; the findings of the run name them all."""
    by_position: dict[int, Voided] = {}
    for row in sorted((one for own in rows for one in own), key=_gravity):
        by_position.setdefault(row.position, row)
    return tuple(row for _, row in sorted(by_position.items()))


def _gravity(row: Voided) -> int:
    return GRAVEST.index(row.code) if row.code in GRAVEST else len(GRAVEST)


def _fault(
    rule: CheckRule, name: str, since: int, before: Bracket | None, after: Bracket | None
) -> tuple[str, str] | None:
    """What is wrong with the bracket around a solution that is number ``since`` after the check before it."""
    for side in (before, after):
        if side is not None and not side.passed:
            return "bracket.failed", side.why
    if after is None and rule.at_end:
        start = "the calibration" if before is None else f"position {before.position}"
        return "bracket.open", f"{name} was not read after {start}: nothing closes the run"
    if rule.every and since > rule.every:
        return "bracket.too-long", f"more than {rule.every} solutions were presented without {name.lower()}"
    return None
