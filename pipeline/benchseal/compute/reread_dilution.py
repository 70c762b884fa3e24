"""How far to dilute what read above the standards: to the middle of their range, with the ware the method lists.

The target is common practice, no source; EPA 200.9, 11.4.9 only says from where on to dilute. A suggestion is
arithmetic: the laboratory's procedure says how a solution may be diluted.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from benchseal.compute.dilution_plan import LEAST_ALIQUOT_ML, Wanted, Ware, dilution_plans
from benchseal.compute.run_numbers import exact_text, fraction_of
from benchseal.records.preparation import DilutionStep
from benchseal.records.quantities import PlainDecimal, plain, round_to_significant

if TYPE_CHECKING:
    from benchseal.compute.dilution_plan import Plan
    from benchseal.compute.reread_reading import Look, NoEstimate
    from benchseal.records.method import Glassware, Method
    from benchseal.records.results import Calibration

_ESTIMATE_DIGITS = 2  # what lies beyond the standards is not known better
_ROUND = (1, 2, 5, 10)  # times a power of ten: factors that any bench can make


@dataclass(frozen=True, slots=True)
class Dilution:
    """What to do with a solution above the standards; concentrations in the unit of the curve, estimates to two digits.

    estimate: of the solution as prepared, before any dilution at the instrument; empty where there is none, then
    no_estimate says why. target: middle of the range of the standards. factor: the whole dilution suggested, of the
    solution as prepared, empty without an estimate. more_than: what any factor that leads to the middle exceeds. steps:
    made with ware of the method; empty for a plain factor. lands_at: what would be read.
    """

    estimate: PlainDecimal
    no_estimate: NoEstimate
    target: PlainDecimal
    factor: PlainDecimal
    more_than: PlainDecimal
    steps: tuple[DilutionStep, ...]
    lands_at: PlainDecimal


def dilution_of(method: Method, calibration: Calibration, look: Look, extra: Fraction) -> Dilution:
    """The suggestion for a solution that read over range when diluted ``extra`` times at the instrument."""
    low, high = fraction_of(calibration.lowest), fraction_of(calibration.highest)
    middle = (low + high) / 2
    least = exact_text(extra * high / middle)
    if not look.concentration:
        return Dilution("", look.no_estimate, exact_text(middle), "", least, (), "")
    estimate = fraction_of(look.concentration) * extra
    wanted = Wanted(estimate, low, high, needless_up_to=Fraction(0))  # the reading itself was over range
    plan = _plan(method, wanted)
    factor = plain_factor(wanted) if plan is None else plan.factor
    steps = () if plan is None else plan.steps
    return Dilution(
        estimate=_rough(estimate),
        no_estimate="",
        target=exact_text(middle),
        factor=exact_text(factor),
        more_than=least,
        steps=tuple(
            DilutionStep(exact_text(step.pipette.volume_ml), exact_text(step.flask.volume_ml)) for step in steps
        ),
        lands_at=_rough(estimate / factor),
    )


def plain_factor(wanted: Wanted) -> Fraction:
    """A factor any bench can make: of 1, 2 and 5 times a power of ten the one that lands nearest to the middle.

    Where none lands in the middle half of the range, which only a narrow one does: the ratio itself, to two digits.
    """
    asked = wanted.estimate / wanted.middle
    power = 1
    while power * 10 <= asked:
        power *= 10
    least, most = wanted.bounds
    good = [Fraction(power * one) for one in _ROUND if least <= wanted.estimate / (power * one) <= most]
    good = [one for one in good if one > 1]
    return min(good, key=lambda one: abs(wanted.estimate / one - wanted.middle), default=fraction_of(_rough(asked)))


def _plan(method: Method, wanted: Wanted) -> Plan | None:
    """The best plan with the method's ware: without small pipettes where that goes, else with all that is listed."""
    listed = method.uncertainty.glassware
    pipettes, flasks = _ware(listed, "pipette"), _ware(listed, "flask")
    for least in (LEAST_ALIQUOT_ML, Fraction(0)):
        of = Wanted(wanted.estimate, wanted.low, wanted.high, wanted.needless_up_to, least)
        found = dilution_plans(of, pipettes, flasks)
        if not isinstance(found, str):
            return found[0]
    return None


def _ware(listed: tuple[Glassware, ...], kind: str) -> list[Ware]:
    return [
        Ware(fraction_of(one.nominal_ml), fraction_of(one.tolerance_ml))
        for one in listed
        if one.kind == kind and fraction_of(one.nominal_ml) > 0
    ]


def _rough(value: Fraction) -> PlainDecimal:
    text = Decimal(exact_text(value))
    return plain(round_to_significant(text, _ESTIMATE_DIGITS, "half_even"))
