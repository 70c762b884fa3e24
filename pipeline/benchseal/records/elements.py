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

# Every element IUPAC has named, by rising atomic number (symbols from memory, compared with two tables of atomic
# weights): what none of these is cannot be measured.
SYMBOLS: Final = frozenset((
    "H", "He", "Li", "Be", "B", "C", "N", "O", "F", "Ne", "Na", "Mg", "Al", "Si", "P", "S", "Cl", "Ar", "K", "Ca",
    "Sc", "Ti", "V", "Cr", "Mn", "Fe", "Co", "Ni", "Cu", "Zn", "Ga", "Ge", "As", "Se", "Br", "Kr", "Rb", "Sr", "Y",
    "Zr", "Nb", "Mo", "Tc", "Ru", "Rh", "Pd", "Ag", "Cd", "In", "Sn", "Sb", "Te", "I", "Xe", "Cs", "Ba", "La", "Ce",
    "Pr", "Nd", "Pm", "Sm", "Eu", "Gd", "Tb", "Dy", "Ho", "Er", "Tm", "Yb", "Lu", "Hf", "Ta", "W", "Re", "Os", "Ir",
    "Pt", "Au", "Hg", "Tl", "Pb", "Bi", "Po", "At", "Rn", "Fr", "Ra", "Ac", "Th", "Pa", "U", "Np", "Pu", "Am", "Cm",
    "Bk", "Cf", "Es", "Fm", "Md", "No", "Lr", "Rf", "Db", "Sg", "Bh", "Hs", "Mt", "Ds", "Rg", "Cn", "Nh", "Fl", "Mc",
    "Lv", "Ts", "Og",
))  # fmt: skip


def element_name(symbol: str) -> str:
    """``lead`` for ``Pb``; the symbol itself where it is not listed."""
    return ELEMENT_NAMES.get(symbol, symbol)
