"""Checks carried through preparation: method blank, control sample, reference material, spike, portions."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.recovery import recovery_percent, relative_percent_difference
from benchseal.compute.run_checks import in_solution, judged, not_evaluated
from benchseal.compute.run_numbers import decimal_text, fraction_of, mean_text, record_text
from benchseal.compute.run_portions import amount_ratio, base_factor, loss_of, net_of, per_portion, steps_factor
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import CHECK_NAMES, Against

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from fractions import Fraction

    from benchseal.compute.run_portions import Chosen, PortionKey
    from benchseal.records.method import CheckRule
    from benchseal.records.preparation import Portion
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import CheckVerdict

NATIVE_AT_MOST = 4  # times the spike; above it the recovery means nothing (common practice, no source)
NEAR_LIMIT = 5  # times the quantification limit; below it the difference itself is judged (common practice, no source)


def prepared_checks(rule: CheckRule, chosen: Chosen) -> tuple[CheckVerdict, ...]:
    """Verdicts of one rule over the visible portions it is about, in presented order."""
    match rule.check:
        case "method_blank":
            return _each(rule, chosen, _blank)
        case "control_sample":
            return _each(rule, chosen, _control)
        case "reference_material":
            return _each(rule, chosen, _reference)
        case "spike":
            return _each(rule, chosen, _spike)
        case "portions_agree":
            return tuple(_agreement(rule, chosen, keys) for keys in sample_portions(chosen).values() if len(keys) > 1)
        case _:
            raise AssertionError(f"{rule.check} needs no preparation")


def sample_portions(chosen: Chosen) -> dict[tuple[str, str], tuple[PortionKey, ...]]:
    """Portions read of each sample and batch, spiked ones left out; both in presented order."""
    found: dict[tuple[str, str], dict[PortionKey, None]] = {}
    for one in chosen.measured:
        if one.portion is not None and one.portion.sample and one.kind in {"sample", "duplicate"}:
            found.setdefault((one.portion.sample, one.portion.batch), {})[one.key] = None
    return {group: tuple(keys) for group, keys in found.items()}


def _each(
    rule: CheckRule, chosen: Chosen, judge: Callable[[CheckRule, Chosen, PortionKey], CheckVerdict]
) -> tuple[CheckVerdict, ...]:
    kind = "spiked_sample" if rule.check == "spike" else rule.check
    keys = dict.fromkeys(one.key for one in chosen.measured if one.kind == kind and one.portion is not None)
    return tuple(judge(rule, chosen, key) for key in keys)


def _positions(chosen: Chosen, *keys: PortionKey) -> tuple[int, ...]:
    """The reading that counts of each portion, else all its readings."""
    found: list[int] = []
    for key in keys:
        one = chosen.by_key.get(key)
        every = [other.position for other in chosen.measured if other.key == key]
        found.extend(every if one is None else [one.position])
    return tuple(sorted(found))


def _unjudged(rule: CheckRule, chosen: Chosen, keys: Sequence[PortionKey], why: str) -> CheckVerdict:
    for key in keys:  # a check may leave the site beside another customer's results: free text stays
        note = chosen.bench.portions[key].not_determined
        why = why.replace(f": {note}", "") if note else why
    return not_evaluated(rule, chosen.method, _positions(chosen, *keys), f"{CHECK_NAMES[rule.check]}: {why}")


def _blank(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    one = chosen.by_key.get(key)
    if one is None:
        return _unjudged(rule, chosen, [key], loss_of(chosen, key).why)
    if rule.limit_in != "solution":
        return _unjudged(rule, chosen, [key], "a blank has no expected value to be a percentage of")
    found = decimal_text(in_solution(one))
    verdict = judged(rule, chosen.method, (one.position,), found, place=f"at position {one.position}")
    return replace(verdict, expected="0")


def _control(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    expected = chosen.bench.portions[key].added_ug.get(chosen.element, "")
    return _recovered(rule, chosen, key, expected, per_portion)


def _reference(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    expected = chosen.bench.portions[key].expected_ug_per_g.get(chosen.element, "")
    return _recovered(rule, chosen, key, expected, base_factor)


def _recovered(
    rule: CheckRule, chosen: Chosen, key: PortionKey, expected: PlainDecimal, factor: Callable[[str, Portion], Fraction]
) -> CheckVerdict:
    """Percent found of what the preparation row says is there."""
    if not expected:
        return _unjudged(rule, chosen, [key], "the preparation row does not say what it holds")
    found = _amount(chosen, key, factor)
    if isinstance(found, Loss):
        return _unjudged(rule, chosen, [key], found.why)
    percent = recovery_percent(Decimal(found), Decimal(expected))
    return replace(_percent(rule, chosen, (key,), percent), expected=expected)


def _percent(rule: CheckRule, chosen: Chosen, keys: Sequence[PortionKey], percent: Decimal | None) -> CheckVerdict:
    if percent is None:
        return _unjudged(rule, chosen, keys, "nothing was added")
    if rule.limit_in != "percent":
        return _unjudged(rule, chosen, keys, "the rule's limits are not in percent")
    positions = _positions(chosen, *keys)
    place = f"at position{'s' if len(positions) > 1 else ''} {' and '.join(map(str, positions))}"
    return judged(rule, chosen.method, positions, decimal_text(percent), place=place)


def _amount(chosen: Chosen, key: PortionKey, factor: Callable[[str, Portion], Fraction]) -> PlainDecimal | Loss:
    """Value of record of a portion's net concentration times ``factor``; ValueErrors of the factor are a loss."""
    net = net_of(chosen, key)
    if isinstance(net, Loss):
        return net
    try:
        multiplier = factor(chosen.method.solution_unit, net.portion)
    except ValueError as fault:
        return Loss("portion.incomplete", str(fault))
    return record_text(net.value * float(multiplier))


def _spike(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    """100 (found - native share)/added, in micrograms of the spiked portion."""
    spiked = chosen.bench.portions[key]
    native_key = (spiked.batch, spiked.spike_of)
    added = spiked.added_ug.get(chosen.element, "")
    if not added or Decimal(added) == 0 or native_key not in chosen.bench.portions:
        return _unjudged(rule, chosen, [key], "the preparation row does not say what was added to which portion")
    keys = (key, native_key)
    found = _amount(chosen, key, per_portion)
    if isinstance(found, Loss):
        return _unjudged(rule, chosen, keys, found.why)
    native = _native(chosen, spiked, native_key)
    if isinstance(native, Loss):
        return _unjudged(rule, chosen, keys, f"the unspiked portion: {native.why}")
    if Decimal(native) > NATIVE_AT_MOST * Decimal(added):
        return _unjudged(rule, chosen, keys, f"the sample holds more than {NATIVE_AT_MOST} times what was added")
    percent = recovery_percent(Decimal(found), Decimal(added), Decimal(native))
    return replace(_percent(rule, chosen, keys, percent), expected=added)


def _native(chosen: Chosen, spiked: Portion, native_key: PortionKey) -> PlainDecimal | Loss:
    return _amount(chosen, native_key, lambda unit, portion: per_portion(unit, portion) * amount_ratio(spiked, portion))


def _agreement(rule: CheckRule, chosen: Chosen, keys: tuple[PortionKey, ...]) -> CheckVerdict:
    """Relative percent difference of a sample's portions; near the limit, their difference against that limit.

    More than two portions: the difference of the greatest and the smallest over their mean.
    """
    found = [_amount(chosen, key, base_factor) for key in keys]
    values = [Decimal(value) for value in found if isinstance(value, str)]
    if len(values) < 2:
        lost = next(value for value in found if isinstance(value, Loss))
        return _unjudged(rule, chosen, keys, f"{len(values)} of {len(keys)} portions gives a value ({lost.why})")
    read = tuple(key for key, value in zip(keys, found, strict=True) if isinstance(value, str))
    ends = min(values), max(values)
    limit = max(_limit(chosen, key) for key in read)
    if Decimal(mean_text(str(value) for value in found if isinstance(value, str))) < NEAR_LIMIT * limit:
        return _near_limit(rule, chosen, read, 100 * (ends[1] - ends[0]) / limit)
    percent = relative_percent_difference(*ends) if len(values) == 2 else _of_mean(ends, values)
    return _percent(rule, chosen, read, percent)


def _of_mean(ends: tuple[Decimal, Decimal], values: Sequence[Decimal]) -> Decimal:
    return 100 * (ends[1] - ends[0]) * len(values) / sum(values, Decimal(0))


def _limit(chosen: Chosen, key: PortionKey) -> Decimal:
    """Quantification limit of a portion that has a reading, in the unit of its own content."""
    portion, unit = chosen.bench.portions[key], chosen.method.solution_unit
    dilution = steps_factor(portion, chosen.element) * chosen.by_key[key].extra
    return Decimal(record_text(float(fraction_of(chosen.method.lowest_level) * dilution * base_factor(unit, portion))))


def _near_limit(rule: CheckRule, chosen: Chosen, keys: Sequence[PortionKey], percent: Decimal) -> CheckVerdict:
    """Verdict on a difference given in percent of the quantification limit: at most 100."""
    found = decimal_text(percent)
    plain_words = f"judged near the quantification limit (mean below {NEAR_LIMIT} times): difference in % of it"
    passed = percent <= 100
    return replace(
        not_evaluated(rule, chosen.method, _positions(chosen, *keys), ""),
        found=found,
        low="0",
        high="100",
        unit="%",
        verdict="pass" if passed else "fail",
        why=plain_words if passed else f"{plain_words}; {Against(found, '0', '100', '%').words}",
    )
