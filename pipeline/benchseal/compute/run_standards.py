"""Standards as they were, where a lot turned out to hold another concentration than they were prepared from.

Working standards come from the lot by dilution, so each of them is wrong by the ratio value / prepared_as, exactly.
What the method and the file say of them is multiplied by it before anything is fitted or judged (common practice, no
source: dilution is proportional). Spikes are not: which solution they came from is not on record; their amounts are
corrected in the preparation.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from benchseal.compute.run_numbers import exact_text, fraction_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.records.known import Bench
    from benchseal.records.method import CheckRule, Method
    from benchseal.records.preparation import Portion
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.registers import StandardLot
    from benchseal.records.run import Run, StoredCurve

_OF_CALIBRATION = frozenset({"standard", "check_standard", "lowest_level", "bracket_standard", "correction_standard"})
_ONE = Fraction(1)


def standard_factor(lot: StandardLot) -> Fraction:
    """Concentration of the lot over the one its working standards were made from; 1 where they are the same."""
    return fraction_of(lot.value) / fraction_of(lot.prepared_as) if lot.prepared_as else _ONE


def as_they_were(run: Run, bench: Bench) -> tuple[Run, Bench]:
    """Run and bench with true concentrations of standards; the same two objects where every lot is what was thought."""
    factors = [standard_factor(bench.lots[lot]) if lot in bench.lots else _ONE for lot in run.standard_lots]
    if all(factor == _ONE for factor in factors):
        return run, bench
    first, second = (*factors, _ONE)[:2]
    solutions = run.document.solutions
    nominal = tuple(
        _times(text, second if kind == "second_source" else first if kind in _OF_CALIBRATION else _ONE)
        for kind, text in zip(solutions.kind, solutions.nominal, strict=True)
    )
    document = replace(run.document, solutions=replace(solutions, nominal=nominal))
    true = replace(
        run,
        document=document,
        method=_method(run.method, first, second),
        stored_curve=tuple(_stored(one, first) for one in run.stored_curve),
    )
    return true, replace(bench, portions=_portions(bench.portions, run.method.element, first))


def _times(text: PlainDecimal, factor: Fraction) -> PlainDecimal:
    return exact_text(fraction_of(text) * factor) if text and factor != _ONE else text


def _method(method: Method, first: Fraction, second: Fraction) -> Method:
    standards = tuple(replace(one, concentration=_times(one.concentration, first)) for one in method.standards)
    checks = tuple(_rule(method, rule, first, second) for rule in method.checks)
    return replace(method, standards=standards, checks=checks)


def _rule(method: Method, rule: CheckRule, first: Fraction, second: Fraction) -> CheckRule:
    match rule.check:
        case "check_standard":
            return replace(rule, expected=_times(rule.expected, first))
        case "lowest_level":
            return replace(rule, expected=_times(rule.expected or method.lowest_level, first))
        case "second_source":
            return replace(rule, expected=_times(rule.expected, second))
        case _:
            return rule


def _stored(curve: StoredCurve, factor: Fraction) -> StoredCurve:
    """A stored curve is of the same lot (``validate/stored.py``)."""
    solutions = tuple(
        replace(one, nominal=_times(one.nominal, factor if one.kind in _OF_CALIBRATION else _ONE))
        for one in curve.solutions
    )
    return replace(curve, solutions=solutions)


def _portions(
    portions: Mapping[tuple[str, str], Portion], element: str, factor: Fraction
) -> dict[tuple[str, str], Portion]:
    """Tubes of standard additions hold the standard too."""
    found = dict(portions)
    for key, portion in portions.items():
        if element in portion.additions:
            tubes = tuple(replace(one, added=_times(one.added, factor)) for one in portion.additions[element])
            found[key] = replace(portion, additions={**portion.additions, element: tubes})
    return found
