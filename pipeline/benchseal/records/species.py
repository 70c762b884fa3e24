"""Formulas of substances and the factor from an element to a substance it is given as (``CaCO3`` for calcium).

Atomic weights are the standard atomic weights 2021 of IUPAC's Commission on Isotopic Abundances and Atomic Weights;
where it gives an interval, the conventional value. They are taken as exact, although materials differ from them: by
those intervals up to 0.8 percent for lithium, 0.5 for lead, 0.1 for boron, less for the others.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.quantities import PlainDecimal

LONGEST_FORMULA: Final = 40
_LARGEST_COUNT: Final = 999
_TOKEN = re.compile(r"([A-Z][a-z]?)|(\()|(\))|([0-9]+)")

ATOMIC_WEIGHTS: Final[dict[str, PlainDecimal]] = {
    # Compared with a verbatim copy of the table.
    "H": "1.008",
    "Li": "6.94",
    "Be": "9.0121831",
    "B": "10.81",
    "C": "12.011",
    "N": "14.007",
    "O": "15.999",
    "F": "18.998403162",
    "Na": "22.98976928",
    "Mg": "24.305",
    "Al": "26.9815384",
    "Si": "28.085",
    "P": "30.973761998",
    "S": "32.06",
    "Cl": "35.45",
    "K": "39.0983",
    "Ca": "40.078",
    "Ti": "47.867",
    "V": "50.9415",
    "Cr": "51.9961",
    "Mn": "54.938043",
    "Fe": "55.845",
    "Co": "58.933194",
    "Ni": "58.6934",
    "Cu": "63.546",
    "Zn": "65.38",
    "Ga": "69.723",
    "Ge": "72.630",
    "As": "74.921595",
    "Se": "78.971",
    "Rb": "85.4678",
    "Sr": "87.62",
    "Mo": "95.95",
    "Ru": "101.07",
    "Rh": "102.90549",
    "Pd": "106.42",
    "Ag": "107.8682",
    "Cd": "112.414",
    "In": "114.818",
    "Sn": "118.710",
    "Sb": "121.760",
    "Te": "127.60",
    # From a table that quotes it (secondary).
    "Cs": "132.90545196",
    "Ba": "137.327",
    "La": "138.90547",
    "W": "183.84",
    "Os": "190.23",
    "Ir": "192.217",
    "Pt": "195.084",
    "Au": "196.966570",
    "Hg": "200.592",
    "Tl": "204.38",
    "Pb": "207.2",
    "Bi": "208.98040",
    # From memory.
    "Br": "79.904",
    "I": "126.90447",
}


def atoms_in(formula: str) -> dict[str, int]:
    """Atoms of each element in one formula unit, in the order of first mention: ``Pb(NO3)2`` has Pb 1, N 2, O 6.

    Symbols, counts from 2, round brackets. Raises ValueError, in words, for anything else: an element whose atomic
    weight is not tabled, a bracket that does not close, nothing at all.
    """
    if not formula or len(formula) > LONGEST_FORMULA:
        raise ValueError(f"a formula has 1 to {LONGEST_FORMULA} signs")
    open_groups: list[dict[str, int]] = [{}]
    tokens = list(_tokens(formula))
    for place, token in enumerate(tokens):
        after = tokens[place + 1] if place + 1 < len(tokens) else ""
        times = _count(after) if after.isdigit() else 1
        if token == "(":  # noqa: S105  a bracket
            open_groups.append({})
        elif token == ")":  # noqa: S105  a bracket
            group = open_groups.pop()
            if not open_groups or not group:
                raise ValueError("a bracket closes where nothing is open" if not open_groups else "a bracket is empty")
            _add(open_groups[-1], group, times)
        elif token.isdigit():
            _require_counted(tokens[:place])
        else:
            _require_known(token)
            _add(open_groups[-1], {token: 1}, times)
    if len(open_groups) > 1:
        raise ValueError("a bracket does not close")
    return open_groups[0]


def molar_mass(formula: str) -> Fraction:
    """Exact sum of the tabled atomic weights in one formula unit, g/mol. Raises ValueError as ``atoms_in``."""
    return sum((Fraction(ATOMIC_WEIGHTS[symbol]) * count for symbol, count in atoms_in(formula).items()), Fraction(0))


def expression_factor(formula: str, element: str) -> Fraction:
    """Exact factor M(substance)/(n A(element)) by which a mass of ``element`` becomes one of the substance.

    Raises ValueError, in words, for a formula that cannot be read, does not hold the element, or holds nothing else.
    """
    atoms = atoms_in(formula)
    if element not in atoms:
        raise ValueError(f"{formula} holds no {element}")
    if len(atoms) == 1:
        raise ValueError(f"{formula} is the element itself")
    return molar_mass(formula) / (atoms[element] * Fraction(ATOMIC_WEIGHTS[element]))


def stated_as(basis: str, expressed_as: str) -> str:
    """What follows a quantity's name where it is not the element, as received: ``, on dry basis, as CaCO3``."""
    dry = ", on dry basis" if basis == "dry" else ""
    return dry + (f", as {expressed_as}" if expressed_as else "")


def _tokens(formula: str) -> Iterator[str]:
    place = 0
    while place < len(formula):
        found = _TOKEN.match(formula, place)
        if found is None:
            raise ValueError(f"'{formula[place]}' has no meaning in a formula")
        yield found.group()
        place = found.end()


def _count(text: str) -> int:
    if text.startswith("0") or text == "1" or int(text) > _LARGEST_COUNT:
        raise ValueError(f"a count is 2 to {_LARGEST_COUNT}, not {text}")
    return int(text)


def _require_counted(before: list[str]) -> None:
    if not before or before[-1] == "(":
        raise ValueError("a count follows no element and no bracket")


def _require_known(symbol: str) -> None:
    if symbol not in ATOMIC_WEIGHTS:
        raise ValueError(f"no atomic weight is tabled for {symbol}")


def _add(into: dict[str, int], group: dict[str, int], times: int) -> None:
    for symbol, count in group.items():
        into[symbol] = into.get(symbol, 0) + count * times
