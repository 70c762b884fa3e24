"""What every check on prepared portions needs: which solutions, which amounts, and how a verdict is made of them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.compute.recovery import recovery_percent
from benchseal.compute.run_checks import judged, not_evaluated
from benchseal.compute.run_numbers import decimal_text, record_text
from benchseal.compute.run_portions import loss_of, net_of, per_portion, steps_factor
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import CHECK_NAMES

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from fractions import Fraction

    from benchseal.compute.run_portions import Chosen, PortionKey
    from benchseal.records.method import CheckRule
    from benchseal.records.preparation import Portion, PortionKind
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import CheckVerdict

NATIVE_AT_MOST = 4  # times the addition; above it the recovery means nothing (common practice, no source)


def keys_of(chosen: Chosen, kind: PortionKind) -> tuple[PortionKey, ...]:
    """Portions of one kind that were read, in presented order."""
    return tuple(dict.fromkeys(one.key for one in chosen.measured if one.kind == kind and one.portion is not None))


def portions_by_sample(chosen: Chosen, *kinds: PortionKind) -> dict[tuple[str, str], tuple[PortionKey, ...]]:
    """Portions of some kinds read of each sample and batch; both in presented order."""
    found: dict[tuple[str, str], dict[PortionKey, None]] = {}
    for one in chosen.measured:
        if one.portion is not None and one.portion.sample and one.kind in kinds:
            found.setdefault((one.portion.sample, one.portion.batch), {})[one.key] = None
    return {group: tuple(keys) for group, keys in found.items()}


def positions_of(chosen: Chosen, *keys: PortionKey) -> tuple[int, ...]:
    """The reading that counts of each portion, else all its readings."""
    found: list[int] = []
    for key in keys:
        one = chosen.by_key.get(key)
        every = [other.position for other in chosen.measured if other.key == key]
        found.extend(every if one is None else [one.position])
    return tuple(sorted(found))


def unjudged(
    rule: CheckRule, chosen: Chosen, keys: Sequence[PortionKey], why: str, positions: tuple[int, ...] = ()
) -> CheckVerdict:
    """A check on portions that could not be judged, and why. positions: where not those of the portions."""
    for key in keys:  # a check may leave the site beside another customer's results: free text stays
        note = chosen.bench.portions[key].not_determined
        why = why.replace(f": {note}", "") if note else why
    places = positions or positions_of(chosen, *keys)
    return not_evaluated(rule, chosen.method, places, f"{CHECK_NAMES[rule.check]}: {why}")


def in_percent(
    rule: CheckRule,
    chosen: Chosen,
    keys: Sequence[PortionKey],
    percent: Decimal | None,
    positions: tuple[int, ...] = (),
) -> CheckVerdict:
    """Verdict on a percentage; None: there was nothing to be a percentage of."""
    if percent is None:
        return unjudged(rule, chosen, keys, "nothing was added", positions)
    if rule.limit_in != "percent":
        return unjudged(rule, chosen, keys, "the rule's limits are not in percent", positions)
    places = positions or positions_of(chosen, *keys)
    return judged(rule, chosen.method, places, decimal_text(percent), place=place_of(places))


def place_of(positions: Sequence[int]) -> str:
    """``at position 14``, ``at positions 14 and 16``."""
    return f"at position{'s' if len(positions) > 1 else ''} {' and '.join(map(str, positions))}"


def amount_of(chosen: Chosen, key: PortionKey, factor: Callable[[str, Portion], Fraction]) -> PlainDecimal | Loss:
    """Value of record of a portion's net concentration times ``factor``; ValueErrors of the factor are a loss."""
    net = net_of(chosen, key)
    if isinstance(net, Loss):
        return net
    try:
        multiplier = factor(chosen.method.solution_unit, net.portion)
    except ValueError as fault:
        return Loss("portion.incomplete", str(fault))
    return record_text(net.value * float(multiplier))


def micrograms_in(chosen: Chosen, key: PortionKey, volume_of: Portion, diluted: Fraction) -> PlainDecimal | Loss:
    """Micrograms that the volume of ``volume_of`` holds of the solution of ``key``, no blank taken off.

    diluted: how often its prepared solution was diluted to the solution meant.
    """
    one = chosen.by_key.get(key)
    if one is None:
        return loss_of(chosen, key)
    try:
        volume = per_portion(chosen.method.solution_unit, volume_of)
    except ValueError as fault:
        return Loss("portion.incomplete", str(fault))
    dilution = steps_factor(chosen.bench.portions[key], chosen.element) * one.extra / diluted
    return record_text(one.x * float(dilution) * float(volume))


def spike_recovered(
    rule: CheckRule,
    chosen: Chosen,
    key: PortionKey,
    micrograms: Callable[[PortionKey], PlainDecimal | Loss],
    holder: str,
) -> CheckVerdict:
    """Verdict on 100 (found - native)/added of one spiked portion, all in the micrograms that ``micrograms`` gives.

    holder: how sentences call what holds the native amount.
    """
    spiked = chosen.bench.portions[key]
    native_key = (spiked.batch, spiked.spike_of)
    added = spiked.added_ug.get(chosen.element, "")
    if not added or Decimal(added) == 0 or native_key not in chosen.bench.portions:
        return unjudged(rule, chosen, [key], "the preparation row does not say what was added to which portion")
    keys = (key, native_key)
    found, native = micrograms(key), micrograms(native_key)
    if isinstance(found, Loss):
        return unjudged(rule, chosen, keys, found.why)
    if isinstance(native, Loss):
        return unjudged(rule, chosen, keys, f"the unspiked portion: {native.why}")
    if Decimal(native) > NATIVE_AT_MOST * Decimal(added):
        return unjudged(rule, chosen, keys, f"the {holder} holds more than {NATIVE_AT_MOST} times what was added")
    percent = recovery_percent(Decimal(found), Decimal(added), Decimal(native))
    return replace(in_percent(rule, chosen, keys, percent), expected=added)
