"""Sum parameters: the sum of several results, some of which may lie below their quantification limit.

What stands for a "<" result is a rule the parties state. Food controls in the European Union name it by its bound
(Regulation (EU) 2017/644 does for dioxins, from memory): lower bound, zero; upper bound, the quantification limit;
medium bound, half of it. Nothing is put in its place without such a rule.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias, assert_never

from benchseal.compute.run_numbers import fraction_of, ratio_text, record_text
from benchseal.records.quantities import PlainDecimal, unit_factor
from benchseal.records.results import BelowLimit, NotReportable, Outcome, Quantified

if TYPE_CHECKING:
    from collections.abc import Sequence

BoundRule: TypeAlias = Literal["lower_bound", "medium_bound", "upper_bound"]
_PART_OF_LIMIT: dict[BoundRule, Fraction] = {
    "lower_bound": Fraction(0),
    "medium_bound": Fraction(1, 2),
    "upper_bound": Fraction(1),
}


@dataclass(frozen=True, slots=True)
class Addend:
    """One result of a sum: what it is called, its outcome, and the unit of that outcome."""

    name: str
    outcome: Outcome
    unit: str


@dataclass(frozen=True, slots=True)
class Sum:
    """A sum in ``unit``: value and standard uncertainty of record, the rule, and the names of what was below its limit.

    all_below: no part was quantified, so that the value is made of limits alone, or is zero.
    """

    value: PlainDecimal
    u: PlainDecimal
    unit: str
    rule: BoundRule
    below: tuple[str, ...]
    all_below: bool


def sum_of(addends: Sequence[Addend], rule: BoundRule, unit: str) -> Sum | NotReportable:
    """Sum of results by a bound rule, in ``unit``; refused where a part has no value.

    u: in quadrature, the parts taken as independent (JCGM 100, 5.1.2). A "<" result adds nothing to it where a bound
    is stated (the bounds themselves say what is not known), and at the medium bound that of a value anywhere between
    0 and the limit, limit/sqrt(12) (JCGM 100, 4.3.7). Raises ValueError without parts and for units of another kind.
    """
    if not addends:
        raise ValueError("a sum needs parts")
    lost = [f"{one.name}: {one.outcome.why}" for one in addends if isinstance(one.outcome, NotReportable)]
    if lost:
        return NotReportable("not_reportable", "sum.part-missing", f"a part has no value ({'; '.join(lost)})")
    total, variance = Fraction(0), Fraction(0)
    for one in addends:
        value, spread = _part(one.outcome, rule)
        factor = unit_factor(one.unit, unit)
        total = total + value * factor
        variance = variance + spread * factor * factor
    below = tuple(one.name for one in addends if isinstance(one.outcome, BelowLimit))
    return Sum(ratio_text(total), record_text(sqrt(float(variance))), unit, rule, below, len(below) == len(addends))


def _part(outcome: Outcome, rule: BoundRule) -> tuple[Fraction, Fraction]:
    """Value and variance, exact, that one outcome adds."""
    match outcome:
        case Quantified():
            return fraction_of(outcome.value), fraction_of(outcome.u) ** 2
        case BelowLimit():
            limit = fraction_of(outcome.limit)
            return limit * _PART_OF_LIMIT[rule], limit * limit / 12 if rule == "medium_bound" else Fraction(0)
        case NotReportable():
            raise AssertionError("refused above")
        case _:
            assert_never(outcome)
