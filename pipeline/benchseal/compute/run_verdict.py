"""What a run's checks mean for the run: which fail it, which cost a sample its result, and the findings in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.run_checks import ON_SAMPLES
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import CHECK_NAMES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.compute.run_measured import Measured
    from benchseal.records.method import CheckRule
    from benchseal.records.results import CheckVerdict, Voided


def run_failures(
    rules: Sequence[CheckRule], curve: Sequence[CheckVerdict], checks: Mapping[str, Sequence[CheckVerdict]]
) -> tuple[Loss, ...]:
    """What leaves the run without any result: its calibration, its second source, a required check of its own.

    A bracketing check that was read fails its bracket, not the run. Checks made on samples never take the results
    of other samples with them (an outside reader, who sees one customer's samples only, must find the same).
    """
    found = [Loss("run.calibration", f"the calibration failed: {one.why}") for one in curve if one.verdict != "pass"]
    for rule in rules:
        if rule.check not in ON_SAMPLES:
            found.extend(Loss("run.check", why) for why in _own_failure(rule, checks[rule.id]))
    return tuple(found)


def sample_check_failures(rules: Sequence[CheckRule], checks: Mapping[str, Sequence[CheckVerdict]]) -> tuple[str, ...]:
    """Required checks made on samples that were not read at all, or a spike that failed: words."""
    return tuple(
        one.why
        for rule in rules
        if rule.required and rule.check in ON_SAMPLES
        for one in checks[rule.id]
        if not one.positions or (rule.check == "spike" and one.verdict == "fail")
    )


def disagreeing_samples(
    rules: Sequence[CheckRule], checks: Mapping[str, Sequence[CheckVerdict]], measured: Sequence[Measured]
) -> dict[tuple[str, str], str]:
    """Sample and batch, to words, of those whose portions differ more than a required rule allows."""
    portion = {one.position: one.portion for one in measured if one.portion is not None}
    found: dict[tuple[str, str], str] = {}
    for rule in rules:
        if rule.check == "portions_agree" and rule.required:
            for one in checks[rule.id]:
                if one.verdict == "fail":
                    first = portion[one.positions[0]]
                    found[first.sample, first.batch] = one.why
    return found


def bracket_findings(rows: Sequence[Voided]) -> tuple[str, ...]:
    """One sentence for each different reason of ``rows``."""
    reasons = dict.fromkeys(row.why for row in rows)
    return tuple(
        f"{why} (positions {_ranges([row.position for row in rows if row.why == why])} void)" for why in reasons
    )


def _own_failure(rule: CheckRule, verdicts: Sequence[CheckVerdict]) -> Iterator[str]:
    """Words for what ``rule`` fails the run by; nothing when it does not."""
    read = [one for one in verdicts if one.positions]
    if not read:
        if rule.required:
            yield verdicts[0].why
        return
    if rule.brackets:
        return
    failed = [one for one in read if one.verdict == "fail"]
    if failed and (rule.required or rule.check == "second_source"):
        yield from (one.why for one in failed)
    elif rule.required and not any(one.verdict == "pass" for one in read):
        yield from (one.why for one in read)


def not_read_words(rule: CheckRule) -> str:
    """Words for a check of which the run holds nothing."""
    return f"{CHECK_NAMES[rule.check]} was not read in this run"


def _ranges(positions: Sequence[int]) -> str:
    """``4 to 9, 12``: neighbours in the list run together when their numbers do."""
    spans: list[list[int]] = []
    for position in positions:
        if spans and position == spans[-1][1] + 1:
            spans[-1][1] = position
        else:
            spans.append([position, position])
    return ", ".join(str(low) if low == high else f"{low} to {high}" for low, high in spans)
