"""The lots of three invented customers and what they truly hold: the answer key of the demo.

Contents are micrograms a gram of the lot as received, one for each of two portions; ware releases are milligrams a
square decimetre, one for each of four pieces.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lot:
    """One lot. unit_mass_g: mean of 20 units and its standard uncertainty; empty for ware."""

    lot: str
    customer: str
    specification: str
    product: str
    reference: str
    unit_mass_g: tuple[str, str]
    content: dict[str, tuple[float, ...]]


LOZENGE = ("ardlea", "mineral-lozenge", "Mineral lozenge 2.50 g")
SACHET = ("corrigan", "drink-sachet", "Drink powder, sachet 6.00 g")
PLATE = ("selby", "flat-ware", "Glazed plate, flat ware")
TRACES = ("Pb", "Cd", "As", "Hg")
ASSAYS = ("Zn", "Mg")


def _lozenge(lot: str, reference: str, mass: str, **content: tuple[float, ...]) -> Lot:
    return Lot(lot, *LOZENGE, reference, (mass, "0.005"), content)


def _sachet(lot: str, reference: str, mass: str, **content: tuple[float, ...]) -> Lot:
    return Lot(lot, *SACHET, reference, (mass, "0.014"), content)


LOTS: tuple[Lot, ...] = (
    _lozenge("A-1", "ML-0611", "2.494", Zn=(1990.0, 1988.0), Mg=(10100.0, 10088.0),
             Pb=(0.068, 0.066), Cd=(0.0060, 0.0058), As=(0.041, 0.038), Hg=(0.011, 0.009)),
    _lozenge("A-2", "ML-0612", "2.507", Zn=(2021.0, 2014.0), Mg=(10035.0, 10061.0),
             Pb=(0.112, 0.108), Cd=(0.62, 0.60), As=(0.062, 0.066), Hg=(0.012, 0.014)),
    _lozenge("A-3", "ML-0613", "2.489", Zn=(1807.5, 1806.8), Mg=(9893.0, 9921.0),
             Pb=(0.086, 0.084), Cd=(0.0212, 0.0206), As=(0.182, 0.178), Hg=(0.008, 0.010)),
    _lozenge("A-4", "ML-0614", "2.511", Zn=(1995.0, 2003.0), Mg=(10012.0, 9990.0),
             Pb=(0.121, 0.119), Cd=(0.0552, 0.0546), As=(0.272, 0.266), Hg=(0.161, 0.157)),
    _sachet("B-1", "DP-3307", "6.021", Zn=(1671.0, 1665.0), Mg=(8342.0, 8326.0),
            Pb=(0.073, 0.071), Cd=(0.0342, 0.0336), As=(0.143, 0.139), Hg=(0.021, 0.019)),
    _sachet("B-2", "DP-3308", "5.987", Zn=(1659.0, 1668.0), Mg=(8305.0, 8331.0),
            Pb=(0.062, 0.060), Cd=(0.0402, 0.0396), As=(0.212, 0.207), Hg=(0.091, 0.088)),
    _sachet("B-3", "DP-3309", "6.004", Zn=(1683.0, 1676.0), Mg=(8361.0, 8372.0),
            Pb=(0.096, 0.094), Cd=(0.0182, 0.0178), As=(0.072, 0.069), Hg=(0.242, 0.236)),
    _sachet("B-4", "DP-3310", "6.012", Zn=(1648.0, 1655.0), Mg=(8289.0, 8277.0),
            Pb=(0.059, 0.057), Cd=(0.0452, 0.0444), As=(0.312, 0.306), Hg=(0.071, 0.069)),
    Lot("C-1", *PLATE, "GP-58", ("", ""), {"Pb": (0.316, 0.302, 0.309, 0.313), "Cd": (0.0212, 0.0204, 0.0209, 0.0207)}),
)  # fmt: skip
BY_NAME = {lot.lot: lot for lot in LOTS}
FOODS = tuple(lot for lot in LOTS if lot.specification != "flat-ware")

# What the laboratory's own solutions hold. Recoveries are shares of what was added that the method finds.
BLANK_UG = {"Zn": 3.0, "Mg": 12.0, "Pb": 0.0007, "Cd": 0.00012, "As": 0.0011, "Hg": 0.0006}
CONTROL_UG = {"Pb": ("0.125", 0.97), "Cd": ("0.025", 0.972), "As": ("0.50", 0.968), "Hg": ("0.75", 0.971)}
ASSAY_CONTROL_UG = {"Zn": ("2000", (0.994, 1.006)), "Mg": ("10000", (0.996, 1.003))}
REFERENCE_UG_PER_G = {"Pb": "0.420", "Cd": "0.048", "As": "0.80", "Hg": "0.50"}
ASSAY_REFERENCE_UG_PER_G = {"Zn": "1985", "Mg": "9920"}
WARE_CONTROL_UG = {"Pb": ("1050", 0.99), "Cd": ("105", 1.005)}
# Additions to B-2: half of product B's limit in 0.50 g; two spiked portions, what the method finds of each.
SPIKE_UG = {
    "Pb": ("0.050", (0.955, 0.940)),
    "Cd": ("0.050", (0.962, 0.951)),
    "As": ("0.155", (0.965, 0.948)),
    "Hg": ("0.30", (0.945, 0.932)),
}
