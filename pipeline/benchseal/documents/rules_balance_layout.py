"""Rules of a balance layout beyond its shape: patterns are patterns, and each weighing says whose and what it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault
from benchseal.documents.patterns import compiled
from benchseal.records.balance_layout import BALANCE_FACTS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.documents.judge import Path
    from benchseal.records.balance_layout import BalanceLayout

_OF_A_WEIGHING = frozenset({"portion", "mass", "unit", "gross", "gross_unit", "tare", "tare_unit"})


def balance_layout_faults(layout: BalanceLayout) -> Iterator[Fault]:
    """Every fault its schema cannot see."""
    bad = [fault for path, pattern, known in _patterns(layout) for fault in _pattern(path, pattern, known)]
    yield from bad
    if bad:
        return
    given = [name for rule in layout.weighing if rule.needed for name in compiled(rule.line).groups]
    for name in ("portion", "mass"):
        if name not in given:
            what = f"no needed line of a weighing gives its {name}."
            yield Fault(("weighing",), "documents.balance-fact", what, f"Add the group (?P<{name}>…) to one.")
    if not layout.weighing[0].needed:
        what = "the first line of a weighing begins it, and may be missing."
        yield Fault(("weighing", 0), "documents.balance-fact", what, "Begin with a line every weighing has.")
    every = [name for rule in layout.weighing for name in compiled(rule.line).groups]
    for name in dict.fromkeys(name for name in every if every.count(name) > 1):
        what = f"two lines of a weighing give its {name}."
        yield Fault(("weighing",), "documents.balance-fact", what, "Keep one of them.")
    for nth, rule in enumerate(layout.weighing):
        names = compiled(rule.line).groups
        for name in ("gross", "tare"):
            if f"{name}_unit" in names and name not in names:
                what = f"the line gives the unit of {name}, not {name} itself."
                yield Fault(("weighing", nth), "documents.balance-fact", what, f"Add the group (?P<{name}>…) to it.")
    if bool(layout.unit) == ("unit" in given):
        what = "the unit is said twice." if layout.unit else "nothing says the unit of the masses."
        yield Fault(("unit",), "documents.balance-unit", what, "Say unit, or have a needed line give it.")


def _patterns(layout: BalanceLayout) -> Iterator[tuple[Path, str, frozenset[str]]]:
    """Each pattern with its place and the groups it may have."""
    for nth, rule in enumerate(layout.weighing):
        yield ("weighing", nth, "line"), rule.line, BALANCE_FACTS
    for nth, rule in enumerate(layout.head):
        yield ("head", nth, "line"), rule.line, BALANCE_FACTS - _OF_A_WEIGHING
    for place in ("drop_lines", "unstable_lines"):
        for nth, pattern in enumerate(getattr(layout, place)):
            yield (place, nth), pattern, frozenset()


def _pattern(path: Path, pattern: str, known: frozenset[str]) -> Iterator[Fault]:
    try:
        groups = compiled(pattern).groups
    except ValueError as fault:
        yield Fault(path, "documents.balance-pattern", f"'{pattern[:60]}' is no pattern: {fault}.", "Correct it.")
        return
    for name in groups:
        if name not in known:
            remedy = f"Known here: {', '.join(sorted(known))}." if known else "Give it no name."
            yield Fault(path, "documents.balance-fact", f"'{name}' is not known here.", remedy)
