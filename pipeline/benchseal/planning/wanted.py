"""What the rules of a method ask to be read: which solutions of its own, how often, and what of which sample."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from benchseal.records.method import CheckKind, CheckRule, Method
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.run import SolutionKind

SHORT: dict[SolutionKind, str] = {"second_source": "SS", "check_standard": "CHK", "check_blank": "CB"}


@dataclass(frozen=True, slots=True)
class Family:
    """Rules about the same check solution: same kind, same expected value.

    every: at most this many presented solutions between two, 0 for no such rule. closes: whether one ends the run.
    """

    kind: SolutionKind
    concentration: PlainDecimal
    rules: tuple[str, ...]
    every: int
    closes: bool


def families(method: Method) -> tuple[Family, ...]:
    """Check solutions read without preparation, in the order second source, check standard, check blank.

    A rule about the later ones only needs a second reading: it closes the run.
    """
    return tuple(family for kind in SHORT for family in _of_kind(method, kind))


def _of_kind(method: Method, kind: SolutionKind) -> Iterable[Family]:
    rules = [rule for rule in method.checks if rule.check == kind]
    own: dict[Decimal | None, list[CheckRule]] = {}
    for rule in rules:
        own.setdefault(Decimal(rule.expected) if rule.expected else None, []).append(rule)
    for those in own.values():
        every = [rule.every for rule in those if rule.every]
        yield Family(
            kind,
            "0" if kind == "check_blank" else those[0].expected,
            tuple(rule.id for rule in those),
            min(every, default=0),
            any(rule.at_end or rule.when == "later" for rule in those),
        )


def rules_of(method: Method, *kinds: CheckKind) -> tuple[str, ...]:
    """Identifiers of the method's rules of these kinds."""
    return tuple(rule.id for rule in method.checks if rule.check in kinds)


def shares(method: Method, kind: CheckKind, samples: int) -> tuple[int, ...]:
    """Places, from 0, of the samples on which a check on samples is made: the first, and each ``every`` after it.

    Without such a number once is enough. No places where the method has no such rule.
    """
    rules = [rule for rule in method.checks if rule.check == kind]
    if not rules:
        return ()
    every = min((rule.every for rule in rules if rule.every), default=0)
    return tuple(range(0, samples, every)) if every else tuple(range(min(samples, 1)))
