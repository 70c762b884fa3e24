"""Rows of the preparation sheet a plan foresees: which portions, under which labels, for which elements."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchseal.planning.wanted import rules_of, shares
from benchseal.records.preparation import Portion

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.method import CheckKind, Method
    from benchseal.records.plan import PlanRow
    from benchseal.records.preparation import PortionKind

_OWN: dict[PortionKind, str] = {"control_sample": "CS", "reference_material": "RM"}
_LETTERS = "abcdefghijklmnop"
_SPIKES = "stuvwxyz"


@dataclass(frozen=True, slots=True)
class Foreseen:
    """A portion and the methods that measure it, by identifier."""

    portion: Portion
    methods: frozenset[str]


def portions_of(methods: Sequence[Method], rows: Sequence[PlanRow], plan: str, batch: str) -> tuple[Foreseen, ...]:
    """Portions in the order they are read: blank, controls, references, then sample by sample.

    plan: short mark that begins every label, so that no label of two plans is the same.
    """
    samples = [row for row in rows if row.kind == "sample"]
    own = [row for row in rows if row.kind != "sample"]
    found = [*_blanks(methods, rows, plan, batch), *_own(methods, own, rows, plan, batch)]
    for nth in range(len(samples)):
        found += _of_sample(methods, samples, nth, f"{plan}-{nth + 1:02d}", batch)
    return tuple(found)


def measuring(methods: Sequence[Method], row: PlanRow) -> list[Method]:
    """The plan's methods that measure what a row names."""
    return [method for method in methods if not row.methods or method.id in row.methods]


def _blanks(methods: Sequence[Method], rows: Sequence[PlanRow], plan: str, batch: str) -> Iterator[Foreseen]:
    wanted = [one for one in methods if rules_of(one, "method_blank") or one.blank_subtraction != "none"]
    if wanted:
        yield _foreseen(wanted, _portion(f"{plan}-MB", batch, "method_blank", rows[0].volume_ml))


def _own(
    methods: Sequence[Method], own: Sequence[PlanRow], rows: Sequence[PlanRow], plan: str, batch: str
) -> Iterator[Foreseen]:
    """Controls and references named, and those a method requires though nobody named one."""
    for kind, mark in _OWN.items():
        named = [row for row in own if row.kind == kind]
        count = sum(int(row.portions) for row in named)
        nth = 0
        for row in [one for one in named for _ in range(int(one.portions))]:
            nth += 1
            portion = _portion(f"{plan}-{mark}{nth if count > 1 else ''}", batch, kind, row.volume_ml)
            yield _foreseen(measuring(methods, row), _filled(portion, row))
        unnamed = [
            method
            for method in methods
            if any(rule.check == kind and (rule.required or kind == "control_sample") for rule in method.checks)
            and not any(method in measuring(methods, row) for row in named)
        ]
        if unnamed:
            portion = _portion(f"{plan}-{mark}{nth + 1 if nth else ''}", batch, kind, rows[0].volume_ml)
            yield _foreseen(unnamed, portion)


def _of_sample(
    methods: Sequence[Method], samples: Sequence[PlanRow], nth: int, mark: str, batch: str
) -> Iterator[Foreseen]:
    """A sample's portions: itself, further ones, with addition before preparation, with addition after it."""
    row = samples[nth]
    measured = measuring(methods, row)
    count = int(row.portions)
    plain = replace(_portion(f"{mark}a", batch, "sample", row.volume_ml), sample=row.sample, dilutions=row.dilutions)
    yield _foreseen(measured, plain)
    agreeing = _where(measured, samples, nth, "portions_agree") if count == 1 else measured
    for place in range(1, max(count, 2)):
        if agreeing:
            yield _foreseen(agreeing, replace(plain, portion=f"{mark}{_LETTERS[place]}", kind="duplicate"))
    spiked = replace(plain, spike_of=plain.portion, added_ug=row.added_ug)
    twice = _where(measured, samples, nth, "spikes_agree")
    once = [one for one in measured if one in twice or one in _where(measured, samples, nth, "spike")]
    wanted = [once, twice] if not row.spikes else [measured] * int(row.spikes)
    for place, those in enumerate(wanted):
        if those:
            yield _foreseen(those, replace(spiked, portion=f"{mark}{_SPIKES[place]}", kind="spiked_sample"))
    late = _where(measured, samples, nth, "post_spike")
    if late:
        yield _foreseen(late, replace(spiked, portion=f"{mark}r", kind="post_spiked_sample"))


def _where(methods: Sequence[Method], samples: Sequence[PlanRow], nth: int, check: CheckKind) -> list[Method]:
    """The methods whose check on samples falls on this one; each counts the samples it measures."""
    found = []
    for method in methods:
        measured = [place for place, row in enumerate(samples) if method in measuring([method], row)]
        if measured.index(nth) in shares(method, check, len(measured)):
            found.append(method)
    return found


def _portion(label: str, batch: str, kind: PortionKind, volume_ml: str) -> Portion:
    return Portion(label, batch, kind, "", (), volume_ml, "", "")


def _filled(portion: Portion, row: PlanRow) -> Portion:
    return replace(
        portion,
        dilutions=row.dilutions,
        added_ug=row.added_ug,
        expected_ug_per_g=row.expected_ug_per_g,
        u_expected_ug_per_g=row.u_expected_ug_per_g,
    )


def _foreseen(methods: Sequence[Method], portion: Portion) -> Foreseen:
    """The portion for the elements of these methods, and what its row says of no other element."""
    elements = tuple(dict.fromkeys(method.element for method in methods))
    acids = {method.conditions.acid_percent for method in methods}
    kept = {
        name: {element: value for element, value in getattr(portion, name).items() if element in elements}
        for name in ("dilutions", "added_ug", "expected_ug_per_g", "u_expected_ug_per_g")
    }
    acid = acids.pop() if len(acids) == 1 else ""
    return Foreseen(
        replace(portion, elements=elements, acid_percent=acid, **kept),  # type: ignore[arg-type]  # of their columns
        frozenset(method.id for method in methods),
    )
