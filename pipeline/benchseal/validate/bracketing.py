"""Bracket standards of a file against the method that is to read samples between them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.problems import Problem
from benchseal.records.quantities import decimal_of
from benchseal.records.run import PRESENTED_KINDS
from benchseal.validate.places import at_run, at_solution

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Method
    from benchseal.records.run import RunDocument

_FROM_THE_CURVE = "method_blank"


def bracketing_problems(document: RunDocument, method: Method) -> Iterator[Problem]:
    """Bracket standards that are none, that the method does not use, or that are not there at all.

    One that gives no value, or a group that lacks, is no problem here: what stands beside it alone has no value.
    """
    kinds = document.solutions.kind
    places = [index for index, kind in enumerate(kinds) if kind == "bracket_standard"]
    for index in places:
        if method.calibration.bracketing:
            yield from _standard(document, method, index)
        else:
            label = document.solutions.label[index]
            what = f"{label} is a bracket standard; method {method.id} does not read between standards."
            remedy = "Use a method with bracketing, or correct the entry at the instrument."
            yield Problem("validate.bracket-unplanned", at_solution(document, index), what, remedy)
    between = [kind for kind in kinds if kind in PRESENTED_KINDS and kind != _FROM_THE_CURVE]
    if method.calibration.bracketing and between and not places:
        what = f"Method {method.id} reads between bracket standards; the file has {len(between)} solutions to be read "
        what += "so and no bracket standard."
        remedy = "Read them between two groups of bracket standards, or use another method; the layout names the kind."
        yield Problem("validate.bracket-missing", at_run(document), what, remedy)


def _standard(document: RunDocument, method: Method, index: int) -> Iterator[Problem]:
    """What it holds: the method's concentration under its label, else the one printed; undiluted."""
    solutions, where, unit = document.solutions, at_solution(document, index), method.solution_unit
    label, printed, dilution = solutions.label[index], solutions.nominal[index], solutions.dilution[index]
    level = next((one.concentration for one in method.standards if one.label == label), "")
    if level and printed and decimal_of(level) != decimal_of(printed):
        what = f"{label} is {printed} in the file; the method says {level} {unit}."
        yield Problem("validate.nominal-differs", where, what, "Correct the entry at the instrument.")
    held = level or printed
    if not held or decimal_of(held) <= 0:
        named = f"it is no standard of {method.id}, and the file prints nothing"
        what = f"{label} holds {held} {unit}." if held else f"Nothing says what {label} holds: {named}."
        remedy = "Name it as a standard of the method above zero, or enter its concentration at the instrument."
        yield Problem("validate.bracket-nominal", where, what, remedy)
    if decimal_of(dilution) != 1:
        what = f"{label} has an extra dilution of {dilution}; calibration and checks have none."
        yield Problem("validate.dilution-of-check", where, what, "Read it as it is, and export again.")
