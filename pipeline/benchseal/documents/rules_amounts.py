"""Rules of amounts on sheets that no laboratory has: a unit mistaken, columns exchanged, a chain of dilutions too long.

All bounds are common practice, no source; each is wide enough that what is done on purpose stays inside.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from benchseal.documents.row_fault import RowFault
from benchseal.records.quantities import decimal_of, unit_factor

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from decimal import Decimal

    from benchseal.records.preparation import DilutionStep, Portion
    from benchseal.records.registers import StandardLot

MOST_GRAMS_IN_A_ML = 2  # a liquid weighed in and measured undiluted has its density; a solid takes more room
MOST_APART = 50  # between the masses of portions of one sample
MOST_IN_A_STEP, MOST_IN_ALL = 10**5, 10**8  # how many times a step, a whole chain, dilutes
MOST_OF_A_STANDARD_G = 500  # in a litre; the strongest stock solutions sold have 10 g/L
LEAST_OF_A_STANDARD_NG = Fraction(1, 10)  # in a litre; the weakest solutions read have a few ng/L
MOST_PREPARED_APART = 10  # between the value of a lot and what its working standards were made from: another bottle
_LOOK = "Look at the unit and at the point; correct it."
_ZEROS = re.compile("0[0-9]")


def packed_faults(nth: int, row: Portion) -> Iterator[RowFault]:
    """More mass than its volume can hold: milligrams typed for grams, or mass and volume exchanged.

    Not of a solution spiked after preparation: its volume is a part of what the mass went into.
    """
    if not (row.mass_g and row.volume_ml) or row.kind == "post_spiked_sample":
        return
    mass, volume = decimal_of(row.mass_g), decimal_of(row.volume_ml)
    if volume > 0 and mass > MOST_GRAMS_IN_A_ML * volume:
        what = f"{row.mass_g} g made up to {row.volume_ml} mL; up to {MOST_GRAMS_IN_A_ML} g in 1 mL is taken."
        yield RowFault(nth, "mass_g", "amount-unlikely", what, "Look at the units and at the columns; correct it.")


def sister_faults(rows: Sequence[Portion]) -> Iterator[RowFault]:
    """Portions of one sample and batch, prepared for the same element, with masses that are far apart."""
    ends: dict[tuple[str, str, str], tuple[int, int]] = {}  # the rows of the least and the greatest mass so far
    for nth, row in enumerate(rows):
        if not (row.sample and row.mass_g) or row.kind == "post_spiked_sample":
            continue
        mass = decimal_of(row.mass_g)
        keys = [(row.batch, row.sample, element) for element in row.elements]
        before = [at for key in keys for at in ends.get(key, ()) if _apart(mass, decimal_of(rows[at].mass_g))]
        if before:
            other = rows[before[0]]
            what = (
                f"mass_g is {row.mass_g}, of portion {other.portion} of the same sample {other.mass_g}; "
                f"up to {MOST_APART} times as much is taken."
            )
            remedy = "Look at unit and point of both. Portions so unlike on purpose are batches of their own."
            yield RowFault(nth, "mass_g", "portion-masses-apart", what, remedy, before[0])
        for key in keys:
            least, most = ends.get(key, (nth, nth))
            small, large = decimal_of(rows[least].mass_g), decimal_of(rows[most].mass_g)
            ends[key] = (nth if mass < small else least, nth if mass > large else most)


def _apart(one: Decimal, other: Decimal) -> bool:
    return min(one, other) > 0 and max(one, other) > MOST_APART * min(one, other)


def dilution_faults(nth: int, dilutions: Mapping[str, Sequence[DilutionStep]]) -> Iterator[RowFault]:
    """Steps that do not dilute, steps and chains that dilute more than anybody does."""
    for element, steps in dilutions.items():
        factor = Fraction(1)
        for step in steps:
            taken, final = (Fraction(decimal_of(text)) for text in (step.aliquot_ml, step.final_ml))
            if not 0 < taken < final:
                what = f"{element}: {step.aliquot_ml}/{step.final_ml} is no dilution; the first must be smaller."
                yield RowFault(nth, "dilutions", "portion-dilution", what, "Write millilitres taken/made up to.")
                break
            if final > MOST_IN_A_STEP * taken:
                what = f"{element}: {step.aliquot_ml}/{step.final_ml} dilutes more than {MOST_IN_A_STEP} times."
                yield RowFault(nth, "dilutions", "amount-unlikely", what, _LOOK)
                break
            factor *= final / taken
        else:
            if factor > MOST_IN_ALL:
                what = f"{element}: {len(steps)} steps dilute more than {MOST_IN_ALL} times in all."
                yield RowFault(nth, "dilutions", "amount-unlikely", what, "Correct the steps: each stands once.")


def standard_faults(nth: int, row: StandardLot) -> Iterator[RowFault]:
    """A content no solution of a standard has, and a value the working standards can hardly have been made from."""
    value = Fraction(decimal_of(row.value))
    litre = value * unit_factor(row.unit, "ng/L")
    if value > 0 and not LEAST_OF_A_STANDARD_NG <= litre <= MOST_OF_A_STANDARD_G * 10**9:
        what = f"value is {row.value[:50]} {row.unit}; between 0.1 ng/L and {MOST_OF_A_STANDARD_G} g/L is taken."
        yield RowFault(nth, "value", "amount-unlikely", what, "Look at the unit and at the point; correct it.")
    prepared = Fraction(decimal_of(row.prepared_as)) if row.prepared_as else value
    if min(value, prepared) > 0 and max(value, prepared) > MOST_PREPARED_APART * min(value, prepared):
        what = (
            f"prepared_as is {row.prepared_as[:50]} and value {row.value[:50]}, both in {row.unit}; "
            f"up to {MOST_PREPARED_APART} times as much is taken."
        )
        remedy = "Give what was taken for the value of the certificate, not that of a working standard."
        yield RowFault(nth, "prepared_as", "amount-unlikely", what, remedy)


def zeros_faults(nth: int, numbers: Iterable[tuple[str, str]]) -> Iterator[RowFault]:
    """Zeros before a whole number: a point was left out (``05018`` for ``0.5018``), or a name stands for a number."""
    for column, text in numbers:
        if _ZEROS.match(text):
            what = f"{column} is {text[:50]}; a number does not begin with a zero and another figure."
            yield RowFault(nth, column, "amount-zeros", what, "Look at the point and at the column; correct it.")
