"""Checks whether a sample's solution reads as standards do: spike after preparation, dilution test, acid content."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import prod
from typing import TYPE_CHECKING

from benchseal.compute.recovery import recovery_percent
from benchseal.compute.run_checks import in_solution
from benchseal.compute.run_contradiction import CODE as CONTRADICTED
from benchseal.compute.run_numbers import fraction_of
from benchseal.compute.run_portion_checks import (
    in_percent,
    keys_of,
    micrograms_in,
    portions_by_sample,
    spike_recovered,
    unjudged,
)
from benchseal.compute.run_signals import Loss

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.compute.run_measured import Measured
    from benchseal.compute.run_portions import Chosen, PortionKey
    from benchseal.records.method import CheckRule
    from benchseal.records.preparation import DilutionStep
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import CheckVerdict

NOT_SAID_WHERE = "two dilution steps of the row take its volume alike: it does not say at which the addition was made"
DILUTED_FOR_IT = frozenset(  # reasons to read a solution diluted
    {"reading.over-range", "reading.background", "bracketing.outside", "bracketing.wide"}
)
DILUTED_FROM = 10  # times the lowest level, still, after the dilution (EPA 7000B and 7010, 9.8.2)


def post_spikes(rule: CheckRule, chosen: Chosen) -> Iterator[CheckVerdict]:
    """Percent found of what was added to the prepared solution, of each portion spiked so (EPA 7000B, 9.8.1).

    100 (found - native)/added, in micrograms of the volume the addition was made to: the row's volume, of the solution
    that ``diluted_before`` says. Both solutions are of one digest, so they hold the same blank and none is taken off.
    """
    return (_post_spike(rule, chosen, key) for key in keys_of(chosen, "post_spiked_sample"))


def dilution_tests(rule: CheckRule, chosen: Chosen) -> Iterator[CheckVerdict]:
    """100 diluted/original for each further, more diluted reading of a sample's portion (EPA 7000B and 7010, 9.8.2).

    Original is the reading that counts, or a less diluted one that its bracket or its scatter keeps from counting. A
    reading more diluted because the first had too much for the curve, for its background or for the standards around
    it is no test.
    """
    for keys in portions_by_sample(chosen, "sample", "duplicate").values():
        for key in keys:
            readings = [one for one in chosen.measured if one.key == key]
            fit = [one for one in readings if one.lost is None or one.lost.code not in DILUTED_FOR_IT]
            if fit:
                least = min(fit, key=lambda one: (one.extra, one.position))
                used = chosen.by_key.get(key)
                original = used if used is not None and used.extra == least.extra else least
                further = [one for one in readings if one.extra > original.extra]
                yield from (_dilution_test(rule, chosen, key, original, one) for one in further)


def acid_matches(rule: CheckRule, chosen: Chosen) -> Iterator[CheckVerdict]:
    """Acid of each sample's portion in percent of that of the standards; where none is entered, only if required."""
    for keys in portions_by_sample(chosen, "sample", "duplicate").values():
        for key in keys:
            if chosen.bench.portions[key].acid_percent or rule.required:
                yield _acid_match(rule, chosen, key)


def diluted_before(steps: Sequence[DilutionStep], volume_ml: PlainDecimal) -> Fraction | None:
    """How often the prepared solution was diluted before the addition was made to ``volume_ml`` of it.

    The addition belongs to the step that takes this volume; of several such the one that dilutes least, since an
    addition adds little. None: two of them dilute alike. Without one, the addition was made before every step.
    """
    factors = [fraction_of(step.final_ml) / fraction_of(step.aliquot_ml) for step in steps]
    taking = [
        place
        for place, step in enumerate(steps)
        if volume_ml and fraction_of(step.aliquot_ml) == fraction_of(volume_ml)
    ]
    if not taking:
        return Fraction(1)
    least = min(factors[place] for place in taking)
    (first, *others) = [place for place in taking if factors[place] == least]
    return None if others else prod(factors[:first], start=Fraction(1))


def _post_spike(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    spiked = chosen.bench.portions[key]
    diluted = diluted_before(spiked.dilutions.get(chosen.element, ()), spiked.volume_ml)

    def held(which: PortionKey) -> PlainDecimal | Loss:
        if diluted is None:
            return Loss("portion.incomplete", NOT_SAID_WHERE)
        return micrograms_in(chosen, which, spiked, diluted)

    return spike_recovered(rule, chosen, key, held, "solution")


def _dilution_test(rule: CheckRule, chosen: Chosen, key: PortionKey, used: Measured, further: Measured) -> CheckVerdict:
    positions = tuple(sorted((used.position, further.position)))
    loss = _beside_contradiction(chosen, used)
    if loss is not None:
        return unjudged(rule, chosen, [key], f"the less diluted reading: {loss.why}", positions)
    loss = _beside_contradiction(chosen, further)
    if loss is not None and loss.code != "portion.not-used":
        return unjudged(rule, chosen, [key], f"the diluted reading: {loss.why}", positions)
    if Decimal(further.x_text) < DILUTED_FROM * Decimal(chosen.method.lowest_level):
        why = f"the diluted reading is below {DILUTED_FROM} times the lowest level"
        return unjudged(rule, chosen, [key], why, positions)
    original = in_solution(used)
    if original <= 0:
        return unjudged(rule, chosen, [key], "the less diluted reading gives nothing above zero", positions)
    return in_percent(rule, chosen, [key], recovery_percent(in_solution(further), original), positions)


def _beside_contradiction(chosen: Chosen, one: Measured) -> Loss | None:
    """Why a reading does not count. To contradict the other is what the test looks for, no reason not to judge."""
    loss = chosen.lost.get(one.position)
    return one.lost if loss is not None and loss.code == CONTRADICTED else loss


def _acid_match(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    given = chosen.bench.portions[key].acid_percent
    expected = rule.expected or chosen.method.conditions.acid_percent
    if not expected or Decimal(expected) == 0:
        return unjudged(rule, chosen, [key], "the method does not say how much acid the standards hold")
    if not given:
        return unjudged(rule, chosen, [key], "the preparation row does not say how much acid the solution holds")
    return replace(
        in_percent(rule, chosen, [key], recovery_percent(Decimal(given), Decimal(expected))), expected=expected
    )
