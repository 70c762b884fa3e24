"""What a measured run did otherwise than its plan, named one by one. A difference is no fault: people judge it."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.records.run import PRESENTED_KINDS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.records.plan import PlannedRun, PlannedSolution, RunPlan
    from benchseal.records.preparation import Portion
    from benchseal.records.run import SolutionColumns

Kind: TypeAlias = Literal["missing", "again", "extra", "order", "dilution", "kind", "readings", "prepared"]
_Key: TypeAlias = "tuple[str, int]"  # what a solution is called, and the how many-th of that name
_BY_LABEL = PRESENTED_KINDS | {"standard", "calibration_blank"}  # others may bear any label in a file
_PREPARED = (
    "kind", "sample", "elements", "volume_ml", "acid_percent", "dilutions", "spike_of", "added_ug", "expected_ug_per_g"
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Difference:
    """One difference. position: in the run as measured, 0 where it was not read. first: of the reading it repeats."""

    kind: Kind
    label: str
    position: int
    words: str
    first: int = 0


@dataclass(frozen=True, slots=True)
class _Read:
    """One solution as measured."""

    position: int
    kind: str
    label: str
    dilution: str
    readings: int


def differences(planned: PlannedRun, solutions: SolutionColumns) -> tuple[Difference, ...]:
    """Planned and not read, read and not planned, out of order, otherwise diluted or read fewer times.

    Portions and standards are told by their labels, checks by what they are.
    """
    read = [
        _Read(*one)
        for one in zip(
            solutions.position,
            solutions.kind,
            solutions.label,
            solutions.dilution,
            solutions.reading_count,
            strict=True,
        )
    ]
    due = _keyed(planned.solutions)
    found = _keyed(read)
    both = [(due[key], one) for key, one in found.items() if key in due]
    return (
        *(_missing(one) for key, one in due.items() if key not in found),
        *(_extra(key, one, found) for key, one in found.items() if key not in due),
        *_out_of_order(both),
        *(other for pair in both for other in _otherwise(planned, *pair)),
    )


def prepared_otherwise(plan: RunPlan, portions: Mapping[str, Portion]) -> tuple[Difference, ...]:
    """Portions on record against those planned. portions: of the batch, by label; what the plan left open is free."""
    found = []
    for due in plan.portions:
        row = portions.get(due.portion)
        if row is None:
            found.append(Difference("prepared", due.portion, 0, f"{due.portion} was planned and is not on record"))
        else:
            names = [name for name in _PREPARED if getattr(due, name) and not _same(due, row, name)]
            if names:
                words = f"{due.portion}: {', '.join(names)} as entered, not as planned"
                found.append(Difference("prepared", due.portion, 0, words))
            if row.not_determined:
                words = f"{due.portion}: nothing to measure, as entered: {row.not_determined}"
                found.append(Difference("prepared", due.portion, 0, words))
    planned = {due.portion for due in plan.portions}
    found += [
        Difference("prepared", label, 0, f"{label} is on record and was not planned")
        for label in portions
        if label not in planned
    ]
    return tuple(found)


def _keyed(solutions: Sequence[PlannedSolution] | Sequence[_Read]) -> dict[_Key, PlannedSolution | _Read]:
    times: Counter[str] = Counter()
    found: dict[_Key, PlannedSolution | _Read] = {}
    for one in solutions:
        name = f"label {one.label}" if one.kind in _BY_LABEL else one.kind
        times[name] += 1
        found[name, times[name]] = one
    return found


def _missing(one: PlannedSolution | _Read) -> Difference:
    return Difference("missing", one.label, 0, f"{_name(one)}, planned at place {one.position}, was not read")


def _extra(key: _Key, one: PlannedSolution | _Read, found: Mapping[_Key, PlannedSolution | _Read]) -> Difference:
    """A further reading names the first one; a dilution at the instrument is said with it."""
    name, nth = key
    diluted = f", diluted {one.dilution} times" if Decimal(one.dilution) != 1 else ""
    if nth > 1:
        first = found[name, 1].position
        words = f"{_name(one)} was read once more{diluted}, beyond the plan; first at position {first}"
        return Difference("again", one.label, one.position, words, first)
    return Difference("extra", one.label, one.position, f"{_name(one)} was read{diluted} and is not planned")


def _out_of_order(both: Sequence[tuple[PlannedSolution | _Read, PlannedSolution | _Read]]) -> Iterator[Difference]:
    """The fewest that would have to move for the rest to stand in planned order."""
    kept = _rising([due.position for due, _ in both])
    for place, (due, read) in enumerate(both):
        if place not in kept:
            words = f"{_name(read)} was read out of order, planned at place {due.position}"
            yield Difference("order", read.label, read.position, words)


def _rising(numbers: Sequence[int]) -> frozenset[int]:
    """Places of a longest rising row among ``numbers``."""
    ends: list[int] = []
    at: list[int] = []
    before: list[int] = []
    for place, number in enumerate(numbers):
        length = bisect_left(ends, number)
        before.append(at[length - 1] if length else -1)
        ends[length : length + 1] = [number]
        at[length : length + 1] = [place]
    found = []
    place = at[-1] if at else -1
    while place >= 0:
        found.append(place)
        place = before[place]
    return frozenset(found)


def _otherwise(
    planned: PlannedRun, due: PlannedSolution | _Read, read: PlannedSolution | _Read
) -> Iterator[Difference]:
    if Decimal(due.dilution) != Decimal(read.dilution):
        words = f"{_name(read)} was diluted {read.dilution} times at the instrument, planned {due.dilution}"
        yield Difference("dilution", read.label, read.position, words)
    if due.kind != read.kind:
        words = f"{read.label} was read as {read.kind.replace('_', ' ')}, planned as {due.kind.replace('_', ' ')}"
        yield Difference("kind", read.label, read.position, words)
    if isinstance(read, _Read) and read.readings < planned.readings:
        words = f"{_name(read)} has {read.readings} readings, planned {planned.readings}"
        yield Difference("readings", read.label, read.position, words)


def _same(due: Portion, row: Portion, name: str) -> bool:
    planned, entered = getattr(due, name), getattr(row, name)
    if name in {"volume_ml", "acid_percent"}:
        return Decimal(planned) == Decimal(entered or "-1")
    if name in {"added_ug", "expected_ug_per_g"}:
        return all(Decimal(entered.get(element, "-1")) == Decimal(amount) for element, amount in planned.items())
    return bool(planned == entered)


def _name(one: PlannedSolution | _Read) -> str:
    kind = one.kind.replace("_", " ")
    return f"{one.label} ({kind})" if one.label else kind
