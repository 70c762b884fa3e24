"""From the concentration of a measured solution to the content of the sample, with contributions to u."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from benchseal.compute.arrays import Array, sum_points

BlankWas: TypeAlias = Literal["undiluted", "same_dilution"]
TERMS = ("solution", "blank", "dilution", "volume", "mass", "moisture")


@dataclass(frozen=True, slots=True, eq=False)
class Portion:
    """What was prepared and read, or a standard uncertainty of each; arrays (results,).

    dilution: product of (final volume/aliquot), 1 for none. moisture_fraction: g water per g, 0 for as received.
    """

    solution_mg_per_l: Array
    blank_mg_per_l: Array
    dilution: Array
    volume_ml: Array
    mass_g: Array
    moisture_fraction: Array


@dataclass(frozen=True, slots=True, eq=False)
class Content:
    """mg_per_kg (results,); contributions |dw/dx_i| u(x_i) in mg/kg, (terms, results), in the order of TERMS."""

    mg_per_kg: Array
    contributions: Array

    @property
    def u_mg_per_kg(self) -> Array:
        """Combined standard uncertainty of independent inputs, (results,)."""
        return np.sqrt(sum_points(self.contributions * self.contributions))


def solution_less_blank(portion: Portion, blank_was: BlankWas) -> Array:
    """mg/L of the undiluted solution. A blank is taken off once, where it was prepared alike.

    undiluted: c dilution - blank. same_dilution: (c - blank) dilution.
    """
    if blank_was == "undiluted":
        return portion.solution_mg_per_l * portion.dilution - portion.blank_mg_per_l
    return (portion.solution_mg_per_l - portion.blank_mg_per_l) * portion.dilution


def content(portion: Portion, blank_was: BlankWas, u: Portion) -> Content:
    """Content w = c_net volume/(mass (1 - moisture)); mg/L x mL/g = mg/kg. Negative results keep their sign.

    mass, volume, dilution > 0, 0 <= moisture < 1. The derivatives are exact: the blank enters as a difference, so
    its absolute uncertainty counts, which stays right where the net result is near zero.
    """
    net = solution_less_blank(portion, blank_was)
    per_net = portion.volume_ml / (portion.mass_g * (1.0 - portion.moisture_fraction))
    value = net * per_net
    by_blank = per_net if blank_was == "undiluted" else per_net * portion.dilution
    diluted = portion.solution_mg_per_l
    if blank_was == "same_dilution":
        diluted = diluted - portion.blank_mg_per_l
    derivatives = (
        per_net * portion.dilution * u.solution_mg_per_l,
        by_blank * u.blank_mg_per_l,
        per_net * diluted * u.dilution,
        value / portion.volume_ml * u.volume_ml,
        value / portion.mass_g * u.mass_g,
        value / (1.0 - portion.moisture_fraction) * u.moisture_fraction,
    )
    return Content(value, np.abs(np.stack(derivatives)))
