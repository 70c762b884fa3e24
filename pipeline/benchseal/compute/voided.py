"""What a voided reading would have given: to be compared with its repeat by people, never reported."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from benchseal.compute.run_numbers import fraction_of, mean_text, record_text
from benchseal.compute.run_portions import factor_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.records.preparation import Portion
    from benchseal.records.quantities import PlainDecimal
    from benchseal.records.results import WorkedResult
    from benchseal.records.specification import Requirement


def would_have_been(
    result: WorkedResult, requirement: Requirement, solution_unit: str, portions: Mapping[tuple[str, str], Portion]
) -> PlainDecimal:
    """Mean of the portions' readings in the result's unit, the last reading of each, no blank taken off; or empty.

    Concentration read times dilution times the exact factor to the requirement's quantity, as for any result.
    """
    last = {(one.batch, one.portion): one for one in result.portions if one.solution_value}
    values = []
    for key, one in last.items():
        portion = portions.get(key)
        factor = None if portion is None else factor_of(requirement, solution_unit, portion)
        if not isinstance(factor, Fraction):
            return ""
        values.append(record_text(float(fraction_of(one.solution_value) * fraction_of(one.dilution) * factor)))
    return mean_text(values) if values else ""


def outside(value: PlainDecimal, requirement: Requirement) -> bool:
    """Whether a value lies beyond a limit as it stands, unrounded and without any guard band."""
    found = Decimal(value)
    over = bool(requirement.upper) and found > Decimal(requirement.upper)
    return over or (bool(requirement.lower) and found < Decimal(requirement.lower))
