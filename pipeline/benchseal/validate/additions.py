"""Tubes of standard additions in a file against the method that is to evaluate them."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.preparation import Portion
from benchseal.records.quantities import decimal_of
from benchseal.validate.places import at_solution

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Method
    from benchseal.records.run import RunDocument

_OF_A_SAMPLE = {"sample", "duplicate", "spiked_sample"}


def addition_problems(
    document: RunDocument, method: Method, portions: tuple[Portion | Problem | None, ...]
) -> Iterator[Problem]:
    """Additions the method does not evaluate, tubes diluted at the instrument, portions that lack their additions.

    A tube that is not in the file is no problem here: its portion alone then has no value.
    """
    for index, portion in enumerate(portions):
        if isinstance(portion, Portion):
            yield from _one(document, method, index, portion)


def _one(document: RunDocument, method: Method, index: int, portion: Portion) -> Iterator[Problem]:
    tubes = portion.additions.get(method.element, ())
    if not tubes and method.calibration.additions != "required":
        return
    where, label = at_solution(document, index), document.solutions.label[index]
    added = {tube.label: decimal_of(tube.added) for tube in tubes}
    if not added:
        if method.calibration.additions == "required" and portion.kind in _OF_A_SAMPLE:
            what = f"'{label}' has no additions of {method.element}; method {method.id} requires them."
            remedy = "Prepare its tubes and enter them in the preparation, or use another method."
            yield Problem("validate.additions-missing", where, what, remedy)
        return
    if not method.calibration.additions:
        if added.get(label, Decimal(0)) > 0:
            what = f"'{label}' holds an addition of {method.element}; method {method.id} does not evaluate additions."
            remedy = "Use a method that allows additions, or read the tube without addition alone."
            yield Problem("validate.additions-unplanned", where, what, remedy)
        return
    dilution = document.solutions.dilution[index]
    if decimal_of(dilution) != 1:
        what = f"'{label}' has an extra dilution of {dilution}; the additions are entered for the solution measured."
        remedy = "Read the tubes as they are, or prepare them again from a more diluted solution."
        yield Problem("validate.addition-dilution", where, what, remedy)
