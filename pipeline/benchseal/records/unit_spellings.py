"""Units as instruments write them beside or in a header, as the codes of this program."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from benchseal.records.quantities import known_units
from benchseal.records.unit_sizes import fractions_in, size_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.records.layout import Column, Layout

# The fact of ``words`` that says what a unit of concentrations given to standards means.
NOMINAL_UNIT: Final = "nominal_unit"
# Parts of a dilute solution in water are its mass concentrations (common practice, no source).
_DILUTE = {"ppm": "mg/L", "ppb": "ug/L", "ppt": "ng/L"}
_CODES = {code.lower(): code for code in (*known_units(), "A", "mA", "A.s", "mA.s")}
_MICRO = str.maketrans({"\u00b5": "u", "\u03bc": "u"})
_BRACKETS = re.compile(r"[\[({]\s*([^()\[\]{}]+?)\s*(?:[\])}]|$)")
_BETWEEN_WORDS = re.compile(r"[\s,;:/|=()\[\]{}]+")
# Words that are units wherever they stand; one letter alone may name a channel, and Mg and As are elements.
_CERTAIN = re.compile(r"(?i:pp[mbtq]|ppth)|m(?:A|AU|Abs)|[mun\u00b5\u03bc]M|m?A[.\u00b7\u22c5*]s|[^0-9]*[%\u2030].*")
_LAST = re.compile(r"(?:^|[\s,;:/])((?:m|n|p|u|mc|\u00b5|\u03bc)g|m?A(?:bs)? s(?:ec)?)$")
# What looks like a unit that is not known here.
_BELOW = r"(?:[mun\u00b5\u03bcpkdc]?[gl]|[dc]?m[23\u00b2\u00b3]?)"
_POWER = r" ?\^?[-\u2212\u207b][123\u00b9\u00b2\u00b3]"
_IN_BRACKETS_LIKE = re.compile(
    rf".*[%\u2030].*|.+ per .+|.*/ ?[0-9]* ?{_BELOW}|(?:.*[^\W\d_][ .\u00b7])?{_BELOW}{_POWER}"
    r"|(?!w/o|n/a)[^\W\d_]{1,6} ?/ ?[0-9]* ?[^\W\d_]{1,6}",
    re.IGNORECASE,
)
_LAST_LIKE = re.compile(rf"[^\s/]*/[0-9]*{_BELOW}|(?:[mun\u00b5\u03bcp]g|[mun\u00b5\u03bcp]?mol)/\S+", re.IGNORECASE)
_ELEMENTS = {"Mg", "Cl"}  # no milligram, no centilitre
_OF_OTHER_SIGNALS = {"counts", "cps", "kcps", "mv", "uv", "a.u.", "a. u.", "arb. units", "arb.u."}


def unit_meant(text: str) -> str:
    """The code of a unit written in a usual way, such as ``ug/L`` for ``[µg l⁻¹]``; any other text as it stands."""
    bare = text.strip().strip("[](){}").strip()
    small = bare.translate(_MICRO).lower()
    if code := _CODES.get(small) or _DILUTE.get(small):
        return code
    size = size_of(bare)
    return next((code for code in _CODES.values() if size and size_of(code) == size), bare)


def contradicts(text: str, means: str) -> bool:
    """Whether a text is a known unit of another size or kind than what it is said to mean.

    ``Abs`` names absorbance and its area; ``As`` may be arsenic.
    """
    of_text = size_of(unit_meant(text))
    if of_text is None or text.strip() == "As":
        return False
    of_meaning = size_of(unit_meant(means))
    if text.strip().casefold() == "abs" and of_meaning is not None and of_meaning.kind == "absorbance.s":
        return of_meaning.factor != of_text.factor
    return of_text != of_meaning


def unit_of(column: Column, words: Mapping[str, str]) -> str:
    """The unit a layout has for a column: below its header, else in it; empty where neither says one.

    words: what texts mean by the layout. A text that looks like a unit and is none known comes as it stands; of a
    header with two units both.
    """
    if column.unit.strip("[]()- "):
        return _by_words(column.unit, words)
    found = dict.fromkeys(_by_words(text, words) for text in _units_in(column.header) if text != column.element)
    return " and ".join(found)


def _by_words(text: str, words: Mapping[str, str]) -> str:
    means = words.get(text, "")
    return means if means and not contradicts(text, means) else unit_meant(text)


@lru_cache(maxsize=1024)
def _units_in(header: str) -> tuple[str, ...]:
    """Texts in a header that are units, or where there are none, that look like one."""
    fractions, rest = fractions_in(header)
    brackets = [text for text in _BRACKETS.findall(rest) if size_of(text) and text not in _ELEMENTS]
    for text in brackets:
        rest = rest.replace(text, " ")
    plain = _BRACKETS.sub(" ", rest).strip()
    certain = [word for word in _BETWEEN_WORDS.split(rest) if _CERTAIN.fullmatch(word)]
    last = _LAST.findall(plain)
    return (*fractions, *brackets, *certain, *last) or tuple(_like_units(header))


def _like_units(header: str) -> Iterator[str]:
    words = _BRACKETS.sub(" ", header).split()
    for text in _BRACKETS.findall(header):
        if _IN_BRACKETS_LIKE.fullmatch(text) or text.translate(_MICRO).lower() in _OF_OTHER_SIGNALS:
            yield text
    if words and (_LAST_LIKE.fullmatch(words[-1]) or words[-1].translate(_MICRO).lower() in _OF_OTHER_SIGNALS):
        yield words[-1]


def given_units(layout: Layout) -> dict[str, str]:
    """The unit of the concentrations a file gives its standards, by element; of all elements under the empty text."""
    words = {word.text: word.means for word in layout.words if word.fact == NOMINAL_UNIT}
    columns = layout.table.columns
    return {one.element: unit for one in columns if one.means == "nominal" and (unit := unit_of(one, words))}
