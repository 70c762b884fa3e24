"""Checks carried through preparation: method blank, control sample, reference material, spike, portions."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, TypeAlias

from benchseal.compute.recovery import recovery_percent, relative_percent_difference
from benchseal.compute.run_budget import Share, uncertainty_of
from benchseal.compute.run_checks import SCORES, in_solution, judged, not_evaluated
from benchseal.compute.run_matrix_checks import acid_matches, dilution_tests, post_spikes
from benchseal.compute.run_numbers import decimal_text, fraction_of, mean_text, record_text
from benchseal.compute.run_portion_checks import (
    amount_of,
    in_percent,
    keys_of,
    place_of,
    portions_by_sample,
    positions_of,
    spike_recovered,
    unjudged,
)
from benchseal.compute.run_portions import (
    amount_ratio,
    base_factor,
    factor_of,
    loss_of,
    net_of,
    per_portion,
    steps_factor,
)
from benchseal.compute.run_signals import Loss
from benchseal.compute.run_words import Against
from benchseal.compute.scores import e_n_score, zeta_score
from benchseal.records.specification import Requirement

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from fractions import Fraction

    from benchseal.compute.run_portions import Chosen, PortionKey
    from benchseal.records.method import CheckKind, CheckRule
    from benchseal.records.preparation import Portion, PortionKind
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import CheckVerdict
    from benchseal.records.specification import Quantity

    _Finder: TypeAlias = Callable[[CheckRule, Chosen], Iterator[CheckVerdict]]

NEAR_LIMIT = 5  # times the quantification limit; below it the difference itself is judged (common practice, no source)
NOT_SAID = "the preparation row does not say what it holds"


def prepared_checks(rule: CheckRule, chosen: Chosen) -> tuple[CheckVerdict, ...]:
    """Verdicts of one rule over the visible portions it is about, in presented order."""
    return tuple(_FINDERS[rule.check](rule, chosen))


def sample_portions(chosen: Chosen) -> dict[tuple[str, str], tuple[PortionKey, ...]]:
    """Portions read of each sample and batch, spiked ones left out; both in presented order."""
    return portions_by_sample(chosen, "sample", "duplicate")


def _blank(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    one = chosen.by_key.get(key)
    if one is None:
        return unjudged(rule, chosen, [key], loss_of(chosen, key).why)
    if rule.limit_in != "solution":
        return unjudged(rule, chosen, [key], "a blank has no expected value to be a percentage of")
    found = decimal_text(in_solution(one))
    verdict = judged(rule, chosen.method, (one.position,), found, place=f"at position {one.position}")
    return replace(verdict, expected="0")


def _control(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    expected = chosen.bench.portions[key].added_ug.get(chosen.element, "")
    if not expected:
        return unjudged(rule, chosen, [key], NOT_SAID)
    return _recovered(rule, chosen, key, expected, amount_of(chosen, key, per_portion))


def _reference(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    """Content against the certified one, which is of the dry mass where a moisture is entered."""
    portion = chosen.bench.portions[key]
    expected = portion.expected_ug_per_g.get(chosen.element, "")
    u_expected = portion.u_expected_ug_per_g.get(chosen.element, "")
    found = _content(chosen, key)
    if not expected:
        return unjudged(rule, chosen, [key], NOT_SAID)
    if rule.limit_in not in SCORES:
        return _recovered(rule, chosen, key, expected, found if isinstance(found, Loss) else found[0])
    if not u_expected:
        return unjudged(rule, chosen, [key], "the preparation row does not say how sure its value is")
    if isinstance(found, Loss):
        return unjudged(rule, chosen, [key], found.why)
    measured = (Decimal(found[0]), Decimal(found[1]), Decimal(expected), Decimal(u_expected))
    name, score = ("zeta", zeta_score(*measured)) if rule.limit_in == "zeta" else ("E_n", e_n_score(*measured))
    if score is None:
        return unjudged(rule, chosen, [key], "neither value has an uncertainty")
    positions = positions_of(chosen, key)
    place, reads = place_of(positions), f"has {name}"
    return replace(
        judged(rule, chosen.method, positions, decimal_text(score), place=place, reads=reads), expected=expected
    )


def _recovered(
    rule: CheckRule, chosen: Chosen, key: PortionKey, expected: PlainDecimal, found: PlainDecimal | Loss
) -> CheckVerdict:
    """Percent found of what the preparation row says is there."""
    if isinstance(found, Loss):
        return unjudged(rule, chosen, [key], found.why)
    percent = recovery_percent(Decimal(found), Decimal(expected))
    return replace(in_percent(rule, chosen, (key,), percent), expected=expected)


def _content(chosen: Chosen, key: PortionKey) -> tuple[PlainDecimal, PlainDecimal] | Loss:
    """A portion's own content and its standard uncertainty, values of record: those of a result of it alone.

    The uncertainty is the whole budget of ``run_budget.py``: noise of its readings, curve, method blank where one is
    taken off, standards, ware, weighing or surface, moisture, recovery; or what the method found by validation.
    """
    net = net_of(chosen, key)
    if isinstance(net, Loss):
        return net
    asked = _as_result(chosen, net.portion)
    factor = factor_of(asked, chosen.method.solution_unit, net.portion)
    if isinstance(factor, Loss):
        return factor
    value = record_text(net.value * float(factor))
    return value, uncertainty_of(chosen, asked, [Share(net, float(factor), abs(float(value)))]).u


def _as_result(chosen: Chosen, portion: Portion) -> Requirement:
    """What a result of ``portion`` in the unit of its own content would be asked as."""
    quantity: Quantity = "concentration"
    unit = "mg/L"
    if portion.mass_g or portion.area_dm2:
        quantity, unit = ("content", "ug/g") if portion.mass_g else ("release_per_area", "ug/dm2")
    return Requirement(
        element=chosen.element,
        quantity=quantity,
        unit=unit,
        methods=(chosen.method.id,),
        portions=1,
        lower="",
        upper="",
        rule="simple",
        rounding="half_even",
        decimals=-1,
        exceedance_means="report",
        limit_source="",
        basis="dry" if quantity == "content" and portion.moisture_percent else "as received",
    )


def _spike(rule: CheckRule, chosen: Chosen, key: PortionKey) -> CheckVerdict:
    """Micrograms of the spiked portion, and of as much of the sample in the unspiked one."""
    spiked = chosen.bench.portions[key]

    def as_much(unit: str, portion: Portion) -> Fraction:
        return per_portion(unit, portion) * amount_ratio(spiked, portion)

    return spike_recovered(rule, chosen, key, lambda which: amount_of(chosen, which, as_much), "sample")


def _spikes_agree(rule: CheckRule, chosen: Chosen, keys: tuple[PortionKey, ...]) -> CheckVerdict:
    """Agreement of a sample's spiked portions, to which the same was added."""
    added = {Decimal(chosen.bench.portions[key].added_ug.get(chosen.element, "0")) for key in keys}
    if len(added) > 1:
        return unjudged(rule, chosen, keys, "not the same amount was added to each")
    return _agreement(rule, chosen, keys)


def _agreement(rule: CheckRule, chosen: Chosen, keys: tuple[PortionKey, ...]) -> CheckVerdict:
    """Relative percent difference of a sample's portions; near the limit, their difference against that limit.

    More than two portions: the difference of the greatest and the smallest over their mean.
    """
    found = [amount_of(chosen, key, base_factor) for key in keys]
    values = [Decimal(value) for value in found if isinstance(value, str)]
    if len(values) < 2:
        lost = next(value for value in found if isinstance(value, Loss))
        gives = "gives" if len(values) == 1 else "give"
        return unjudged(rule, chosen, keys, f"{len(values)} of {len(keys)} portions {gives} a value ({lost.why})")
    read = tuple(key for key, value in zip(keys, found, strict=True) if isinstance(value, str))
    ends = min(values), max(values)
    limit = max(_limit(chosen, key) for key in read)
    if Decimal(mean_text(str(value) for value in found if isinstance(value, str))) < NEAR_LIMIT * limit:
        return _near_limit(rule, chosen, read, 100 * (ends[1] - ends[0]) / limit)
    percent = relative_percent_difference(*ends) if len(values) == 2 else _of_mean(ends, values)
    return in_percent(rule, chosen, read, percent)


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
        not_evaluated(rule, chosen.method, positions_of(chosen, *keys), ""),
        found=found,
        low="0",
        high="100",
        unit="%",
        verdict="pass" if passed else "fail",
        why=plain_words if passed else f"{plain_words}; {Against(found, '0', '100', '%').words}",
    )


def _each(kind: PortionKind, judge: Callable[[CheckRule, Chosen, PortionKey], CheckVerdict]) -> _Finder:
    return lambda rule, chosen: (judge(rule, chosen, key) for key in keys_of(chosen, kind))


def _all_portions_agree(rule: CheckRule, chosen: Chosen) -> Iterator[CheckVerdict]:
    return (_agreement(rule, chosen, keys) for keys in sample_portions(chosen).values() if len(keys) > 1)


def _all_spikes_agree(rule: CheckRule, chosen: Chosen) -> Iterator[CheckVerdict]:
    groups = portions_by_sample(chosen, "spiked_sample").values()
    return (_spikes_agree(rule, chosen, keys) for keys in groups if len(keys) > 1)


_FINDERS: dict[CheckKind, _Finder] = {
    "method_blank": _each("method_blank", _blank),
    "control_sample": _each("control_sample", _control),
    "reference_material": _each("reference_material", _reference),
    "spike": _each("spiked_sample", _spike),
    "portions_agree": _all_portions_agree,
    "spikes_agree": _all_spikes_agree,
    "post_spike": post_spikes,
    "dilution_test": dilution_tests,
    "acid_match": acid_matches,
}
