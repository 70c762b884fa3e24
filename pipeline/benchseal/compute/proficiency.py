"""How a result stands to a reference: z, z', zeta and E_n with their usual bounds, compared in exact arithmetic.

Bounds: ISO 13528 for z, z' and zeta; ISO/IEC 17043 and ILAC practice for E_n (all from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Literal, TypeAlias

from benchseal.compute.scores import zeta_score

if TYPE_CHECKING:
    from decimal import Decimal

Standing: TypeAlias = Literal["acceptable", "warning signal", "action signal"]
NEGLIGIBLE = Fraction(3, 10)  # u of the reference over sigma_pt: above it z' stands in for z (ISO 13528, from memory)


@dataclass(frozen=True, slots=True)
class Score:
    """A score and how it stands."""

    value: float
    standing: Standing


def scored(value: Decimal, u: Decimal, reference: Decimal, u_reference: Decimal) -> Score | Literal["zero_u"]:
    """Zeta: (value - reference)/sqrt(u^2 + u_reference^2). With sigma_pt for ``u``: z without u_reference, else z'.

    Up to 2 in size acceptable, below 3 a warning signal, from 3 an action signal.
    """
    return _scored((value, u, reference, u_reference), 2, 3)


def e_n_scored(
    value: Decimal, big_u: Decimal, reference: Decimal, big_u_reference: Decimal
) -> Score | Literal["zero_u"]:
    """E_n with expanded uncertainties: up to 1 in size acceptable, beyond an action signal."""
    return _scored((value, big_u, reference, big_u_reference), 1, 1)


def _scored(
    given: tuple[Decimal, Decimal, Decimal, Decimal], acceptable: int, action: int
) -> Score | Literal["zero_u"]:
    found = zeta_score(*given)
    if found is None:
        return "zero_u"
    value, u, reference, u_reference = (Fraction(one) for one in given)
    apart, unit = (value - reference) ** 2, u * u + u_reference * u_reference
    if apart <= acceptable**2 * unit:
        return Score(float(found), "acceptable")
    return Score(float(found), "action signal" if apart >= action**2 * unit else "warning signal")


def reference_negligible(u_reference: Decimal, sigma_pt: Decimal) -> bool:
    """Whether the reference is known well enough for z: u <= 0.3 sigma_pt (ISO 13528, from memory)."""
    return Fraction(u_reference) <= NEGLIGIBLE * Fraction(sigma_pt)
