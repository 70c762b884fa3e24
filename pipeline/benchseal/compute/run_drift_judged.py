"""What a correction for drift means for the run: values that rest on a failed check, and what people should see."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.run_numbers import shown
from benchseal.records.results import Voided

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from benchseal.compute.run_measured import Measured
    from benchseal.records.method import CheckRule
    from benchseal.records.results import CheckVerdict, DriftStep

_SHOWN_DIGITS = 6  # enough to see a correction of a few thousandths of a signal
_PAIR = ("check_standard", "check_blank")


def resting_on_failed(
    measured: Sequence[Measured], rules: Sequence[CheckRule], simple: Mapping[str, Sequence[CheckVerdict]]
) -> tuple[Voided, ...]:
    """Presented solutions corrected by a pair of which a check failed, though no failed bracket voids them.

    The first pair stands behind every correction, and a pair need not be the check nearest to a solution. A correction
    never rescues what a check says of the state of the instrument (EPA 7000B and 7010, 10.2.2).
    """
    failed: dict[int, str] = {}
    for rule in rules:
        if rule.brackets and rule.check in _PAIR:
            for one in simple[rule.id]:
                if one.verdict != "pass":
                    failed.setdefault(one.positions[0], one.why)
    return tuple(_resting(measured, failed))


def _resting(measured: Iterable[Measured], failed: Mapping[int, str]) -> Iterator[Voided]:
    for one in measured:
        if one.drift is not None:
            pairs = (one.drift.first, one.drift.before, one.drift.after)
            why = next((failed[at] for pair in pairs for at in pair if at in failed), "")
            if why:
                words = f"it is corrected for drift by a check that failed: {why}"
                yield Voided(one.position, "drift.check-failed", words)


def drift_findings(measured: Sequence[Measured], unit: str) -> tuple[str, ...]:
    """That signals were corrected, along what, and the largest correction; nothing where none was."""
    found = [(one, one.drift) for one in measured if one.drift is not None]
    if not found:
        return ()
    most, step = max(found, key=lambda pair: _moved(*pair))  # of several alike the first
    along = " and ".join(sorted({own.along for _, own in found}, reverse=True))
    read, corrected = (shown(text, _SHOWN_DIGITS) for text in (most.mean_signal, step.corrected))
    largest = f"the largest correction, {read} to {corrected} {unit}, is at position {most.position}"
    return (f"presented signals were corrected for drift between check pairs, by {along}; {largest}",)


def _moved(one: Measured, step: DriftStep) -> Decimal:
    return abs(Decimal(step.corrected) - Decimal(one.mean_signal))
