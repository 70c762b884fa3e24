"""Whether a text names another element or substance than it should: by symbol, name, formula or number.

Names in some languages, from memory; atomic numbers are those of the periodic table. The lists only ever refuse more.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from benchseal.export.analytes import ANALYTES

# English spellings and names in German, French, Spanish and Italian, besides the name of ``ANALYTES``.
_ALSO: Final = {
    "Ag": "silber argent plata argento", "Al": "aluminum alluminio aluminio",
    "As": "arsen arsénico arsenico arsénio arseen arsenik",

    "Au": "oro", "B": "bor bore boro", "Ba": "baryum bario", "Be": "béryllium berilio berillio",
    "Bi": "bismut wismut bismuto", "Ca": "kalzium calcio", "Cd": "kadmium cadmio cádmio kadm", "Co": "kobalt cobalto",
    "Cr": "chrom chrome cromo", "Cs": "cesium cäsium césium cesio", "Cu": "kupfer cuivre cobre rame",
    "Fe": "eisen fer hierro ferro", "Ga": "galio gallio", "Ge": "germanio",
    "Hg": "quecksilber mercure mercurio mercúrio kwik kvicksilver kviksølv rtęć",

    "In": "indio", "Ir": "iridio", "K": "kalium potasio potassio", "La": "lanthan lanthane lantano",
    "Li": "lithio litio", "Mg": "magnésium magnesio", "Mn": "mangan manganèse manganeso",
    "Mo": "molybdän molybdène molibdeno", "Na": "natrium sodio", "Ni": "níquel niquel nichel", "Os": "osmio",
    "Pb": "blei plomb plomo piombo chumbo lood bly ołów", "Pd": "paladio palladio", "Pt": "platin platine platino",
    "Rb": "rubidio", "Rh": "rodio", "Ru": "rutenio", "Sb": "antimon antimoine antimonio", "Se": "selen selenio",
    "Si": "silizium silicium silicio", "Sn": "zinn étain estaño stagno", "Sr": "estroncio stronzio",
    "Te": "tellur tellure telurio tellurio", "Ti": "titan titane titanio", "Tl": "talio tallio", "V": "vanadin vanadio",
    "W": "wolfram tungstène wolframio", "Zn": "zink cinc zinco",
}  # fmt: skip
_NUMBERS: Final = {
    "Ag": 47, "Al": 13, "As": 33, "Au": 79, "B": 5, "Ba": 56, "Be": 4, "Bi": 83, "Ca": 20, "Cd": 48, "Co": 27, "Cr": 24,
    "Cs": 55, "Cu": 29, "Fe": 26, "Ga": 31, "Ge": 32, "Hg": 80, "In": 49, "Ir": 77, "K": 19, "La": 57, "Li": 3,
    "Mg": 12, "Mn": 25, "Mo": 42, "Na": 11, "Ni": 28, "Os": 76, "Pb": 82, "Pd": 46, "Pt": 78, "Rb": 37, "Rh": 45,
    "Ru": 44, "Sb": 51, "Se": 34, "Si": 14, "Sn": 50, "Sr": 38, "Te": 52, "Ti": 22, "Tl": 81, "V": 23,
    "W": 74, "Zn": 30,
}  # fmt: skip
_NAMED: Final = {name: symbol for symbol, (name, _) in ANALYTES.items()} | {
    unicodedata.normalize("NFKC", name): symbol for symbol, names in _ALSO.items() for name in names.split()
}
_SPECIES: Final = re.compile(
    r"\((?:i{1,3}|iv|vi?)\)|\b(?:ii|iii|iv|vi|organic|inorganic|organisch|anorganisch|methyl\w*|dimethyl\w*|hexavalent|trivalent|pentavalent|"
    r"arsen(?:ate|ite|at|it)|chromate?|dichromate|selen(?:ate|ite)|stannate|tributyl\w*|tetraethyl\w*)\b"
)
_ANIONS: Final = {
    "carbonate": "CO3", "sulfate": "SO4", "sulphate": "SO4", "nitrate": "NO3", "phosphate": "PO4", "chloride": "Cl",
    "fluoride": "F", "hydroxide": "OH", "oxide": "O", "oxid": "O", "oxyde": "O", "carbonat": "CO3", "sulfat": "SO4",
    "chlorid": "Cl", "sulfide": "S", "sulphide": "S", "acetate": "CH3COO",
}  # fmt: skip
_ATOMS: Final = frozenset({*ANALYTES, "H", "C", "N", "O", "F", "P", "S", "Cl", "Br", "I"})
_ATOM: Final = re.compile(r"([A-Z][a-z]?)[0-9]*")
_FORMULA: Final = re.compile(r"\(?(?:[A-Z][a-z]?[0-9]*\)?[0-9]*){2,}")


def elements_named(text: str) -> frozenset[str]:
    """Symbols of the elements a text of the record names: ``Pb``, ``Pb Cd``, ``sum of lead and cadmium``."""
    words = re.findall(r"[^\W\d_]+", text)
    symbols = {word for word in words if word in ANALYTES}
    named = {_NAMED[word.casefold()] for word in words if word.casefold() in _NAMED}
    in_formula = {
        atom for word in text.split() if _is_formula(word) for atom in _ATOM.findall(word) if atom in ANALYTES
    }
    return frozenset(symbols | named | in_formula)


def named_symbol(word: str) -> str:
    """The symbol of the element a word is a name of; empty for every other word."""
    return _NAMED.get(word.casefold(), "")


def names_one(text: str) -> bool:
    """Whether a whole text is the name or the symbol of an element; a symbol of one letter is a letter."""
    plain = unicodedata.normalize("NFKC", text).strip()
    return plain.casefold() in _NAMED or (len(plain) > 1 and plain in ANALYTES)


def names_another(key: str, target: str) -> str:
    """What ``target`` names that ``key`` does not: another element, species or substance; empty for nothing."""
    own, text = elements_named(key), unicodedata.normalize("NFKC", target).strip()
    words = re.findall(r"[^\W\d_]+", text)
    if any(named not in own for named in _elements_of(text, words)):
        return "another element"
    formulas = [word for word in text.replace(",", " ").split() if _is_formula(word)]
    anions = [word.casefold() for word in words if word.casefold() in _ANIONS]
    if any(word not in key for word in formulas) or not all(_is_of(key, word) for word in anions):
        return "another substance"
    small = text.casefold()
    return "another species" if _SPECIES.search(small) and small not in _NAMED and small != key.casefold() else ""


def _elements_of(text: str, words: list[str]) -> set[str]:
    """Symbols of what a text of a receiver names: by name, symbol, atomic number or CAS number."""
    named = {_NAMED.get(word.casefold(), "") or _as_symbol(word, first=nth == 0) for nth, word in enumerate(words)}
    symbols = {text.capitalize()} if len(text) <= len("Pb") else {*text.split()}
    by_symbol = symbols if symbols <= {*ANALYTES} else set()
    by_number = {one for one, (_, number) in ANALYTES.items() if text in {number, str(_NUMBERS[one])}}
    return (named - {""}) | by_symbol | by_number


def _is_of(key: str, anion: str) -> bool:
    return anion in key.casefold() or key.rstrip(")").endswith(_ANIONS[anion])


def _as_symbol(word: str, *, first: bool) -> str:
    """The symbol a word of a text is; where it is a word or an abbreviation too (``In``, ``AS``), only at the start."""
    if word in ANALYTES and len(word) > 1 and (first or word not in {"As", "In"}):
        return word
    capital = word.capitalize()
    return capital if first and capital in ANALYTES and (word.isupper() or word in ANALYTES) else ""


def _is_formula(word: str) -> bool:
    """Whether a word is a formula of more than one atom: ``PbO``, ``CaCO3``; in capitals, only with O and a figure."""
    atoms = _ATOM.findall(word)
    if not _FORMULA.fullmatch(word) or not set(atoms) <= _ATOMS or len(atoms) == 1:
        return False
    return not word.isupper() or ("O" in atoms and any(sign.isdigit() for sign in word))
