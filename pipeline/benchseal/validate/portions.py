"""Which prepared portion each presented solution is."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.quantities import decimal_of
from benchseal.records.run import PRESENTED_KINDS
from benchseal.validate.places import at_solution, nearest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.known import Known
    from benchseal.records.preparation import Portion
    from benchseal.records.run import RunDocument

_AS_PREPARED = "Correct the name at the instrument, or enter the preparation first."


def portions_of(document: RunDocument, known: Known) -> tuple[Portion | Problem | None, ...]:
    """For each solution its portion, None for calibration, checks and rinses, or why there is none."""
    solutions = document.solutions
    return tuple(
        _portion(document, known, index) if kind in PRESENTED_KINDS else None
        for index, kind in enumerate(solutions.kind)
    )


def _portion(document: RunDocument, known: Known, index: int) -> Portion | Problem:
    label, element = document.solutions.label[index], document.facts.element
    everywhere = known.portions.get(label, ())
    in_batches = [portion for portion in everywhere if not known.batches or portion.batch in known.batches]
    serving = [one for one in in_batches if element in one.elements and label in one.labels_for(element)]
    if len(serving) == 1:
        return serving[0]
    where = at_solution(document, index)
    if serving:
        batches = ", ".join(portion.batch for portion in serving)
        what = f"'{label}' was prepared in more than one batch: {batches}."
        return Problem("validate.sample-several", where, what, "Name the preparation that belongs to this file.")
    if in_batches:
        elements = " ".join(sorted({own for one in in_batches for own in one.elements if label in one.labels_for(own)}))
        what = f"'{label}' was prepared for {elements}, not for {element}."
        return Problem("validate.sample-element", where, what, _AS_PREPARED)
    if everywhere:
        batches = ", ".join(portion.batch for portion in everywhere)
        what = f"'{label}' belongs to batch {batches}, not to {', '.join(sorted(known.batches))}."
        return Problem("validate.sample-batch", where, what, "Name the preparation that belongs to this file.")
    what = f"No preparation has a portion '{label}'; near: {nearest(label, known.portions)}."
    return Problem("validate.sample-unknown", where, what, _AS_PREPARED)


def portion_problems(document: RunDocument, portions: tuple[Portion | Problem | None, ...]) -> Iterator[Problem]:
    """Portions of another kind, lost, prepared after they were measured, or read twice at one dilution."""
    seen: dict[tuple[str, str, str, str], int] = {}
    for index, portion in enumerate(portions):
        if portion is None:
            continue
        if isinstance(portion, Problem):
            yield portion
            continue
        yield from unfit_portion(document, index, portion)
        label = document.solutions.label[index]  # of a series of additions each tube is read, once
        key = (portion.batch, portion.portion, label, normal_dilution(document.solutions.dilution[index]))
        if key in seen:
            what = f"'{label}' is read twice at the same dilution; first at position {seen[key]}."
            remedy = "A repeated reading needs its own extra dilution, or its own run."
            yield Problem("validate.sample-repeated", at_solution(document, index), what, remedy)
        seen.setdefault(key, document.solutions.position[index])


@lru_cache(maxsize=1024)
def normal_dilution(factor: str) -> str:
    """The same text for factors of the same value."""
    return str(decimal_of(factor).normalize())


def unfit_portion(document: RunDocument, index: int, portion: Portion) -> Iterator[Problem]:
    """Why one solution cannot be the portion its name says: of another kind, lost, or prepared after it was read."""
    kind, started = document.solutions.kind[index], document.facts.started_at
    late = bool(started) and portion.prepared_at[:10] > started[:10]
    if kind == portion.kind and not portion.not_determined and not late:
        return
    where = at_solution(document, index)
    if kind != portion.kind:
        what = f"'{portion.portion}' is a {kind} in the file and a {portion.kind} in batch {portion.batch}."
        yield Problem("validate.sample-kind", where, what, "Correct the entry at the instrument or the preparation.")
    if portion.not_determined:
        what = f"'{portion.portion}' is recorded as not to be determined ({portion.not_determined}), yet it was read."
        yield Problem("validate.sample-lost", where, what, "Correct the preparation, or find out what was read.")
    if late:
        what = (
            f"'{portion.portion}' was prepared on {portion.prepared_at[:10]}, after it was measured on {started[:10]}."
        )
        yield Problem("validate.sample-date", where, what, "Check the instrument's clock and the preparation.")
