"""What a run's checks mean for the run: which fail it, which cost a sample its result, and the findings in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.compute.run_checks import ON_SAMPLES, SIMPLE_CHECKS
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import CHECK_NAMES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from benchseal.compute.run_measured import Measured
    from benchseal.records.method import CheckKind, CheckRule
    from benchseal.records.results import CheckVerdict, Voided

# One solution spiked stands for the matrix of its batch: where it fails, no certificate is drafted from the run.
OF_A_BATCH: frozenset[CheckKind] = frozenset({"spike", "post_spike", "spikes_agree"})
# What fails here says that this one sample's value is not to be relied on; code of its loss.
OF_ONE_SAMPLE: dict[CheckKind, str] = {
    "portions_agree": "portions.disagree",
    "dilution_test": "dilution.disagrees",
    "acid_match": "acid.differs",
}


def run_failures(
    rules: Sequence[CheckRule], curve: Sequence[CheckVerdict], checks: Mapping[str, Sequence[CheckVerdict]]
) -> tuple[Loss, ...]:
    """What leaves the run without any result: its calibration, its second source, a required check of its own.

    A bracketing check that was read fails its bracket, not the run, and a rinse the solution after it. Checks made on
    samples never take the results of other samples with them (an outside reader, who sees one customer's samples only,
    must find the same).
    """
    found = [Loss("run.calibration", f"the calibration failed: {one.why}") for one in curve if one.verdict != "pass"]
    for rule in rules:
        if rule.check not in ON_SAMPLES:
            found.extend(Loss("run.check", why) for why in _own_failure(rule, checks[rule.id]))
    return tuple(found)


def sample_check_failures(rules: Sequence[CheckRule], checks: Mapping[str, Sequence[CheckVerdict]]) -> tuple[str, ...]:
    """Required checks made on samples that were not read at all, or one that stands for its batch and failed: words."""
    return tuple(
        one.why
        for rule in rules
        if rule.required and rule.check in ON_SAMPLES
        for one in checks[rule.id]
        if not one.positions or (rule.check in OF_A_BATCH and one.verdict == "fail")
    )


def lost_samples(
    rules: Sequence[CheckRule], checks: Mapping[str, Sequence[CheckVerdict]], measured: Sequence[Measured]
) -> dict[tuple[str, str], Loss]:
    """Sample and batch, to why they get no value: a required check on one sample that failed, the first of them.

    An acid content that a required rule cannot judge, since nobody entered it, counts as failed; other checks that
    could not be judged cost nothing by themselves.
    """
    portion = {one.position: one.portion for one in measured if one.portion is not None}
    found: dict[tuple[str, str], Loss] = {}
    for rule in rules:
        if rule.check in OF_ONE_SAMPLE and rule.required:
            for one in checks[rule.id]:
                unknown = rule.check == "acid_match" and one.verdict == "not_evaluated"
                if one.positions and (one.verdict == "fail" or unknown):
                    first = portion[one.positions[0]]
                    found.setdefault((first.sample, first.batch), Loss(OF_ONE_SAMPLE[rule.check], one.why))
    return found


def tolerated(rules: Sequence[CheckRule], checks: Mapping[str, Sequence[CheckVerdict]]) -> tuple[str, ...]:
    """Words of what failed and takes nothing with it, because its rule is not required: people should see it."""
    return tuple(
        one.why
        for rule in rules
        if not (rule.required or rule.brackets or rule.check == "return_to_zero")
        for one in checks[rule.id]
        if one.verdict == "fail"
    )


def bracket_findings(rows: Sequence[Voided]) -> tuple[str, ...]:
    """One sentence for each different reason of ``rows``."""
    reasons: dict[str, set[int]] = {}
    for row in rows:
        reasons.setdefault(row.why, set()).add(row.position)
    return tuple(f"{why} ({place_words(sorted(positions))} void)" for why, positions in reasons.items())


def _own_failure(rule: CheckRule, verdicts: Sequence[CheckVerdict]) -> Iterator[str]:
    """Words for what ``rule`` fails the run by; nothing when it does not."""
    read = [one for one in verdicts if one.positions]
    if not read:
        if rule.required:
            yield verdicts[0].why
        return
    if rule.brackets or rule.check == "return_to_zero":  # their failures void solutions, not the run
        return
    failed = [one for one in read if one.verdict == "fail"]
    if failed and (rule.required or rule.check == "second_source"):
        yield from (one.why for one in failed)
    elif rule.required and not any(one.verdict == "pass" for one in read):
        yield from (one.why for one in read)


def not_read_words(rule: CheckRule) -> str:
    """Words for a check of which the run holds nothing."""
    name = CHECK_NAMES[rule.check]
    if rule.check == "acid_match":
        return f"{name} was entered for no portion read in this run"
    if rule.check in SIMPLE_CHECKS and rule.when == "later":
        return f"{name} was not read again in this run"
    return f"{name} was not read in this run"


def place_words(positions: Sequence[int]) -> str:
    """Rising positions as words: ``positions 4 to 9, 12``."""
    return f"position{'' if len(positions) == 1 else 's'} {_ranges(positions)}"


def _ranges(positions: Sequence[int]) -> str:
    """``4 to 9, 12``: neighbours in the list run together when their numbers do."""
    spans: list[list[int]] = []
    for position in positions:
        if spans and position == spans[-1][1] + 1:
            spans[-1][1] = position
        else:
            spans.append([position, position])
    return ", ".join(str(low) if low == high else f"{low} to {high}" for low, high in spans)
