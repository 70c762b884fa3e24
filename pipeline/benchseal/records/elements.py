"""Names of the elements that atomic absorption measures, in the IUPAC spelling, by symbol."""

from __future__ import annotations

from typing import Final

ELEMENT_NAMES: Final[dict[str, str]] = {
    "Ag": "silver",
    "Al": "aluminium",
    "As": "arsenic",
    "Au": "gold",
    "B": "boron",
    "Ba": "barium",
    "Be": "beryllium",
    "Bi": "bismuth",
    "Ca": "calcium",
    "Cd": "cadmium",
    "Co": "cobalt",
    "Cr": "chromium",
    "Cs": "caesium",
    "Cu": "copper",
    "Fe": "iron",
    "Ga": "gallium",
    "Ge": "germanium",
    "Hg": "mercury",
    "In": "indium",
    "Ir": "iridium",
    "K": "potassium",
    "La": "lanthanum",
    "Li": "lithium",
    "Mg": "magnesium",
    "Mn": "manganese",
    "Mo": "molybdenum",
    "Na": "sodium",
    "Ni": "nickel",
    "Os": "osmium",
    "Pb": "lead",
    "Pd": "palladium",
    "Pt": "platinum",
    "Rb": "rubidium",
    "Rh": "rhodium",
    "Ru": "ruthenium",
    "Sb": "antimony",
    "Se": "selenium",
    "Si": "silicon",
    "Sn": "tin",
    "Sr": "strontium",
    "Te": "tellurium",
    "Ti": "titanium",
    "Tl": "thallium",
    "V": "vanadium",
    "W": "tungsten",
    "Zn": "zinc",
}


def element_name(symbol: str) -> str:
    """``lead`` for ``Pb``; the symbol itself where it is not listed."""
    return ELEMENT_NAMES.get(symbol, symbol)
