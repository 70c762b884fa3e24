"""What a correction changes: results before and after, by the digest of all they rest on. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchseal.records.corrections import ResultChange, ValueChange
from benchseal.records.quantities import unit_shown
from benchseal.records.results import BelowLimit, NotReportable, Quantified
from benchseal.records.shape import record_digest
from benchseal.records.species import stated_as

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from benchseal.records.manifest import ResultBasis
    from benchseal.records.results import CheckVerdict, WorkedResult

NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Compared:
    """Results of one run before and after. changed: pairs whose digests differ; None where there was or is none."""

    changed: tuple[tuple[WorkedResult | None, WorkedResult | None], ...]
    untouched: tuple[WorkedResult, ...]

    @property
    def changed_ids(self) -> frozenset[str]:
        """Identifiers of the results that change, appear or vanish."""
        return frozenset(one.result_id for pair in self.changed for one in pair if one is not None)


def compared(before: Sequence[ResultBasis], after: Sequence[ResultBasis]) -> Compared:
    """Which results of a run are others than before. Both sides must be made with the same secret."""
    old = {basis.result.result_id: basis for basis in before}
    new = {basis.result.result_id: basis for basis in after}
    changed: list[tuple[WorkedResult | None, WorkedResult | None]] = []
    same: list[WorkedResult] = []
    for name in dict.fromkeys((*old, *new)):
        one, other = old.get(name), new.get(name)
        if one is not None and other is not None and _name(one) == _name(other):
            same.append(other.result)
        else:
            changed.append((one.result if one else None, other.result if other else None))
    return Compared(tuple(changed), tuple(same))


def result_changes(run: str, found: Compared, lots: Mapping[str, str]) -> tuple[ResultChange, ...]:
    """Changed results in words. lots: sample to lot."""
    return tuple(_change(run, before, after, lots) for before, after in found.changed)


def check_changes(before: Sequence[CheckVerdict], after: Sequence[CheckVerdict]) -> tuple[ValueChange, ...]:
    """Checks whose verdict or value is another, by rule and positions."""
    old = {(one.rule, one.positions): one for one in before}
    new = {(one.rule, one.positions): one for one in after}
    return tuple(
        ValueChange(_check_name(key), _check_words(old.get(key)), _check_words(new.get(key)))
        for key in dict.fromkeys((*old, *new))
        if old.get(key) != new.get(key)
    )


def outcome_text(result: WorkedResult | None) -> str:
    """A result in one phrase: what is reported, and the value of record; or why there is no value."""
    if result is None:
        return NOTHING
    unit = unit_shown(result.unit)
    match result.outcome:
        case Quantified() as found:
            return f"{found.value_text} ± {found.expanded_text} {unit} (of record {found.value})"
        case BelowLimit() as found:
            return f"{found.value_text} {unit} (of record {found.value})"
        case NotReportable() as found:
            return f"no value: {found.why}"


def _name(basis: ResultBasis) -> str:
    return record_digest(basis)


def _change(run: str, before: WorkedResult | None, after: WorkedResult | None, lots: Mapping[str, str]) -> ResultChange:
    of = after or before
    if of is None:
        raise AssertionError("a change has at least one side")
    return ResultChange(
        run=run,
        sample=of.sample,
        lot=lots.get(of.sample, ""),
        result_id=of.result_id,
        what=f"{of.element} {of.quantity.replace('_', ' ')}{stated_as(of.basis, of.expressed_as)}",
        old=outcome_text(before),
        new=outcome_text(after),
        old_verdict=before.verdict if before else NOTHING,
        new_verdict=after.verdict if after else NOTHING,
    )


def _check_name(key: tuple[str, tuple[int, ...]]) -> str:
    rule, positions = key
    return f"{rule} at {', '.join(map(str, positions))}" if positions else rule


def _check_words(check: CheckVerdict | None) -> str:
    if check is None:
        return NOTHING
    verdict = check.verdict.replace("_", " ")
    return f"{verdict}, found {check.found} {unit_shown(check.unit)}" if check.found else verdict
