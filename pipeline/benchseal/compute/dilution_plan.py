"""How to bring a solution above the range to its middle with the pipettes and flasks at hand, in one step or two.

Pure and exact: factors are ratios, uncertainties are compared by their exact squares, so the order never depends on
rounding. A plan is arithmetic. How a solution may be diluted safely is said by the laboratory's own procedure.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

NoPlan: TypeAlias = Literal["nothing_to_dilute", "no_dilution_plan"]
LEAST_ALIQUOT_ML = Fraction(1)  # common practice, no source: below it a drop left in the tip counts too much
_NEAR = Fraction(1, 2)  # of the half range: how far from the middle a dilution may land
_SLACK = 1e-9  # of a product of floats; what passes is looked at exactly
_TRIANGULAR = 6  # u^2 = tolerance^2/6 (JCGM 100, 4.3.9; volumetric ware as in QUAM, example A1)


@dataclass(frozen=True, slots=True, order=True)
class Ware:
    """A pipette or a flask: volume > 0 and tolerance >= 0, mL."""

    volume_ml: Fraction
    tolerance_ml: Fraction

    @property
    def relative_variance(self) -> Fraction:
        """Squared relative standard uncertainty of one filling."""
        relative = self.tolerance_ml / self.volume_ml
        return relative * relative / _TRIANGULAR


@dataclass(frozen=True, slots=True, order=True)
class Step:
    """An aliquot made up to the mark of a flask."""

    pipette: Ware
    flask: Ware

    @property
    def factor(self) -> Fraction:
        """Flask over aliquot, above 1."""
        return self.flask.volume_ml / self.pipette.volume_ml


@dataclass(frozen=True, slots=True)
class Plan:
    """Steps in the order they are made; factor: their product; lands_at: the concentration that will be read."""

    steps: tuple[Step, ...]
    factor: Fraction
    lands_at: Fraction
    relative_variance: Fraction

    @property
    def u_relative(self) -> float:
        """Relative standard uncertainty of the factor."""
        return sqrt(self.relative_variance)


@dataclass(frozen=True, slots=True)
class Wanted:
    """An estimate and the range it is to be brought into, in one unit, 0 <= low < high.

    needless_up_to: an estimate up to it needs no dilution. least_aliquot_ml: no smaller pipette is used.
    """

    estimate: Fraction
    low: Fraction
    high: Fraction
    needless_up_to: Fraction
    least_aliquot_ml: Fraction = LEAST_ALIQUOT_ML

    @property
    def middle(self) -> Fraction:
        """Middle of the range."""
        return (self.low + self.high) / 2

    @property
    def bounds(self) -> tuple[Fraction, Fraction]:
        """Ends of the middle half of the range."""
        reach = _NEAR * (self.high - self.low) / 2
        return self.middle - reach, self.middle + reach


def into_range(estimate: Fraction, low: Fraction, high: Fraction, least_aliquot_ml: Fraction) -> Wanted:
    """An estimate above the highest standard ``high``."""
    return Wanted(estimate, low, high, high, least_aliquot_ml)


def by_factor(factor: Fraction, least_aliquot_ml: Fraction) -> Wanted:
    """A factor alone: the estimate in units of what it leads to, which is the middle of a range from 0 to 2."""
    return Wanted(factor, Fraction(0), Fraction(2), Fraction(1), least_aliquot_ml)


def dilution_plans(
    wanted: Wanted, pipettes: Sequence[Ware], flasks: Sequence[Ware], most_steps: int = 2
) -> tuple[Plan, ...] | NoPlan:
    """Plans of one step or two that land in the middle half of the range, best first.

    Order: fewer steps; then nearer to the middle; then the smaller uncertainty; then less volume of flasks; then
    the smaller ware. Ware used twice in one plan is one piece of ware: its error counts twice over, not in squares.
    Of two steps the stronger comes first, where its flask holds the second aliquot.
    An estimate from above a curve is rough: read the first dilution, and plan again where it misses.
    """
    if wanted.estimate <= wanted.needless_up_to:
        return "nothing_to_dilute"
    steps = _steps(pipettes, flasks, wanted.least_aliquot_ml)
    chains = [(step,) for step in steps] + (list(_pairs(steps, wanted)) if most_steps > 1 else [])
    plans = [_plan(chain, wanted.estimate) for chain in chains]
    least, most = wanted.bounds
    near = [plan for plan in plans if least <= plan.lands_at <= most]
    near.sort(key=lambda plan: _rank(plan, wanted.middle))
    return tuple(near) or "no_dilution_plan"


def _steps(pipettes: Sequence[Ware], flasks: Sequence[Ware], least_ml: Fraction) -> list[Step]:
    """Every true dilution, the same ware given twice counted once."""
    usable = [one for one in sorted(set(pipettes)) if one.volume_ml >= least_ml]
    return [
        Step(pipette, flask)
        for pipette in usable
        for flask in sorted(set(flasks))
        if flask.volume_ml > pipette.volume_ml
    ]


def _pairs(steps: Sequence[Step], wanted: Wanted) -> Iterator[tuple[Step, Step]]:
    """Two steps, each pair once, whose product comes near what is wanted."""
    ordered = sorted(steps, key=lambda step: (-step.factor, step))
    factors = [float(step.factor) for step in ordered]
    least, most = (float(wanted.estimate / bound) for bound in reversed(wanted.bounds))
    for place, (first, factor) in enumerate(zip(ordered, factors, strict=True)):
        for second, other in zip(ordered[place:], factors[place:], strict=True):
            if least * (1 - _SLACK) <= factor * other <= most * (1 + _SLACK):
                if second.pipette.volume_ml <= first.flask.volume_ml:
                    yield first, second
                elif first.pipette.volume_ml <= second.flask.volume_ml:
                    yield second, first


def _plan(steps: tuple[Step, ...], estimate: Fraction) -> Plan:
    factor, variance = Fraction(1), Fraction(0)
    for step in steps:
        factor *= step.factor
    for used in ([step.pipette for step in steps], [step.flask for step in steps]):
        for ware in dict.fromkeys(used):
            variance += used.count(ware) ** 2 * ware.relative_variance
    return Plan(steps, factor, estimate / factor, variance)


def _rank(plan: Plan, middle: Fraction) -> tuple[int, Fraction, Fraction, Fraction, tuple[Step, ...]]:
    flasks = sum((step.flask.volume_ml for step in plan.steps), Fraction(0))
    return len(plan.steps), abs(plan.lands_at - middle), plan.relative_variance, flasks, plan.steps
