"""Names and CAS registry numbers of the elements measured by atomic absorption.

Names in the IUPAC spelling. Numbers from memory, compared once, one by one, with a public list of the elements; the
tests recompute every check digit.
"""

from __future__ import annotations

ANALYTES: dict[str, tuple[str, str]] = {
    "Ag": ("silver", "7440-22-4"),
    "Al": ("aluminium", "7429-90-5"),
    "As": ("arsenic", "7440-38-2"),
    "Au": ("gold", "7440-57-5"),
    "B": ("boron", "7440-42-8"),
    "Ba": ("barium", "7440-39-3"),
    "Be": ("beryllium", "7440-41-7"),
    "Bi": ("bismuth", "7440-69-9"),
    "Ca": ("calcium", "7440-70-2"),
    "Cd": ("cadmium", "7440-43-9"),
    "Co": ("cobalt", "7440-48-4"),
    "Cr": ("chromium", "7440-47-3"),
    "Cs": ("caesium", "7440-46-2"),
    "Cu": ("copper", "7440-50-8"),
    "Fe": ("iron", "7439-89-6"),
    "Ga": ("gallium", "7440-55-3"),
    "Ge": ("germanium", "7440-56-4"),
    "Hg": ("mercury", "7439-97-6"),
    "In": ("indium", "7440-74-6"),
    "Ir": ("iridium", "7439-88-5"),
    "K": ("potassium", "7440-09-7"),
    "La": ("lanthanum", "7439-91-0"),
    "Li": ("lithium", "7439-93-2"),
    "Mg": ("magnesium", "7439-95-4"),
    "Mn": ("manganese", "7439-96-5"),
    "Mo": ("molybdenum", "7439-98-7"),
    "Na": ("sodium", "7440-23-5"),
    "Ni": ("nickel", "7440-02-0"),
    "Os": ("osmium", "7440-04-2"),
    "Pb": ("lead", "7439-92-1"),
    "Pd": ("palladium", "7440-05-3"),
    "Pt": ("platinum", "7440-06-4"),
    "Rb": ("rubidium", "7440-17-7"),
    "Rh": ("rhodium", "7440-16-6"),
    "Ru": ("ruthenium", "7440-18-8"),
    "Sb": ("antimony", "7440-36-0"),
    "Se": ("selenium", "7782-49-2"),
    "Si": ("silicon", "7440-21-3"),
    "Sn": ("tin", "7440-31-5"),
    "Sr": ("strontium", "7440-24-6"),
    "Te": ("tellurium", "13494-80-9"),
    "Ti": ("titanium", "7440-32-6"),
    "Tl": ("thallium", "7440-28-0"),
    "V": ("vanadium", "7440-62-2"),
    "W": ("tungsten", "7440-33-7"),
    "Zn": ("zinc", "7440-66-6"),
}


def analyte(symbol: str) -> tuple[str, str]:
    """Name and CAS number of an element; both empty for a symbol that is not listed."""
    return ANALYTES.get(symbol, ("", ""))
