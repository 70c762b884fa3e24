"""Rules of the uncertainties a method states: glassware, balance, standards, and what validation found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, method_fault
from benchseal.records.quantities import decimal_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.method import Glassware, Method, UncertaintyPlan


def uncertainty_faults(method: Method) -> Iterator[Fault]:
    """Every rule the stated uncertainties of a method break."""
    plan = method.uncertainty
    for index, piece in enumerate(plan.glassware):
        yield from _piece(piece, plan.glassware[:index], index)
    yield from _temperature(plan)
    for index, step in enumerate(plan.standard_steps):
        if not 0 < decimal_of(step.aliquot_ml) < decimal_of(step.final_ml):
            what = f"{step.aliquot_ml}/{step.final_ml} is no dilution; the first must be smaller."
            yield method_fault(
                ("uncertainty", "standard_steps", index), "standard-step", what, "Write millilitres taken/made up to."
            )
    yield from _validated(plan)


def _piece(piece: Glassware, before: tuple[Glassware, ...], index: int) -> Iterator[Fault]:
    path = ("uncertainty", "glassware", index)
    nominal, tolerance = decimal_of(piece.nominal_ml), decimal_of(piece.tolerance_ml)
    if piece.name in {one.name for one in before}:
        what = f"The piece '{piece.name}' is given twice."
        yield method_fault((*path, "name"), "name-twice", what, "Give each its own.")
    if any((one.kind, decimal_of(one.nominal_ml)) == (piece.kind, nominal) for one in before):
        what = f"There are two pieces for a {piece.kind} of {piece.nominal_ml} mL; a volume must point to one."
        yield method_fault((*path, "nominal_ml"), "glassware", what, "Keep the one with the larger tolerance.")
    if not nominal:
        what = f"nominal_ml of '{piece.name}' is {piece.nominal_ml}."
        yield method_fault((*path, "nominal_ml"), "glassware", what, "Give the volume in millilitres.")
    elif not 0 < tolerance < nominal:
        what = f"tolerance_ml of '{piece.name}' is {piece.tolerance_ml}, its volume {piece.nominal_ml} mL."
        yield method_fault((*path, "tolerance_ml"), "glassware", what, "Give +- as its class or certificate states it.")


def _temperature(plan: UncertaintyPlan) -> Iterator[Fault]:
    if plan.glassware and not plan.temperature_half_range_k:
        what = "Glassware is listed, but not by how much the temperature may differ."
        remedy = "Give the half range in kelvin; 0 where volumes are corrected for it."
        yield method_fault(("uncertainty", "temperature_half_range_k"), "temperature", what, remedy)
    if plan.temperature_half_range_k and not plan.glassware:
        what = f"temperature_half_range_k is {plan.temperature_half_range_k}, and no glassware is listed."
        remedy = "List the glassware, or leave it out."
        yield method_fault(("uncertainty", "temperature_half_range_k"), "temperature", what, remedy)


def _validated(plan: UncertaintyPlan) -> Iterator[Fault]:
    given = {"s0": plan.s0, "s1_percent": plan.s1_percent}
    lacking = [name for name, text in given.items() if not text]
    if len(lacking) == 1:
        other = next(name for name in given if name not in lacking)
        what = f"{other} is {given[other]}, and {lacking[0]} is not given."
        yield method_fault(("uncertainty", lacking[0]), "validated", what, "Give both (one may be 0), or none.")
    elif not lacking and not any(decimal_of(text) for text in given.values()):
        what = "s0 and s1_percent are both 0: the uncertainty would be nothing."
        yield method_fault(("uncertainty", "s0"), "validated", what, "Give what validation found, or leave both out.")
