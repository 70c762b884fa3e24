"""Volumes measured with glassware the method lists: which piece measured what, and what its deviation moves.

A piece is one deviation, whatever it is used for: in several portions and in several steps of one result it adds up and
is never averaged, which cannot understate it. Different pieces are independent. A flask raises a result and a pipette
lowers it, so that nothing of one piece cancels.
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, Literal

from benchseal.compute.budget import u_of_volume
from benchseal.compute.run_numbers import fraction_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from benchseal.records.method import Glassware, UncertaintyPlan
    from benchseal.records.preparation import DilutionStep
    from benchseal.records.quantities import PlainDecimal


def flask_for(plan: UncertaintyPlan, volume_ml: PlainDecimal) -> tuple[Glassware, ...]:
    """The listed flask of this volume, compared as numbers; nothing where there is none."""
    return _piece(plan, "flask", volume_ml)


def pieces_for(plan: UncertaintyPlan, step: DilutionStep) -> tuple[Glassware, ...]:
    """Pipette and flask of a dilution step; nothing unless both are listed."""
    pieces = (*_piece(plan, "pipette", step.aliquot_ml), *_piece(plan, "flask", step.final_ml))
    return pieces if len(pieces) > 1 else ()


def u_of_pieces(plan: UncertaintyPlan, levers: Mapping[str, float]) -> float:
    """Standard uncertainty of what depends on the pieces named. levers: what a relative unit of each moves it.

    Tolerance (triangular), filling and temperature in quadrature (Eurachem QUAM, examples A1 and A5).
    """
    total = 0.0
    for piece in plan.glassware:
        part = levers.get(piece.name, 0.0) * _relative_u(piece, plan.temperature_half_range_k)
        total = total + part * part
    return sqrt(total)


def u_of_standard_steps(plan: UncertaintyPlan) -> float:
    """Relative standard uncertainty that the dilutions from the lot to the working standards add; common to all levels.

    A step whose pipette and flask are not both listed has the method's percentage.
    """
    levers: dict[str, float] = {}
    loose = 0.0
    for step in plan.standard_steps:
        pieces = pieces_for(plan, step)
        for piece in pieces:
            levers[piece.name] = levers.get(piece.name, 0.0) + 1.0
        if not pieces:
            part = float(plan.dilution_step_percent or "0") / 100.0
            loose = loose + part * part
    ware = u_of_pieces(plan, levers)
    return sqrt(ware * ware + loose)


def _piece(plan: UncertaintyPlan, kind: Literal["pipette", "flask"], volume_ml: PlainDecimal) -> tuple[Glassware, ...]:
    if not volume_ml:
        return ()
    volume = fraction_of(volume_ml)
    found = (one for one in plan.glassware if one.kind == kind and fraction_of(one.nominal_ml) == volume)
    return tuple(found)[:1]


def _relative_u(piece: Glassware, half_range_kelvin: PlainDecimal) -> float:
    nominal = float(piece.nominal_ml)
    parts = (float(piece.tolerance_ml), float(piece.s_fill_ml), float(half_range_kelvin or "0"))
    return u_of_volume(nominal, *parts) / nominal
