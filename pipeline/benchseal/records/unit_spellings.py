"""Units as instruments write them beside or in a header, as the codes of this program."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from benchseal.records.quantities import known_units

if TYPE_CHECKING:
    from benchseal.records.layout import Column, Layout

_CODES = {unit.lower(): unit for unit in known_units() if "/" in unit}
# ppm and ppb of a dilute solution in water are its mg/L and ug/L (common practice, no source).
_OTHERS = {
    "ppm": "mg/L",
    "ppb": "ug/L",
    "mg/dm3": "mg/L",
    "ug/dm3": "ug/L",
    "a": "A",
    "abs": "A",
    "ma": "mA",
    "mabs": "mA",
}
_SECONDS = re.compile(r"(?P<milli>m?)a(?:bs)?[ ·*.-]?s(?:ec)?")
_LAST_WORD = re.compile(r"(?:^|[\s,;(\[])([^\s,;()\[\]]+)[\])]?\s*$")
_IN_BRACKETS = re.compile(r"[\[(]\s*([^()\[\]]+?)\s*[\])]\s*$")
_MICRO = str.maketrans({"\u00b5": "u", "\u03bc": "u"})


def unit_meant(text: str) -> str:
    """The code of a unit written in a usual way, such as ``ug/L`` for ``[µg/l]``; any other text as it stands."""
    bare = text.strip().strip("[]()").strip()
    name = bare.translate(_MICRO).lower()
    if found := _SECONDS.fullmatch(name):
        return f"{found['milli']}A.s"
    return _CODES.get(name) or _OTHERS.get(name) or bare


def unit_of(column: Column) -> str:
    """The unit a layout has for a column: below its header, else in it; empty where neither says a unit known here."""
    if column.unit.strip("[]()- "):
        return unit_meant(column.unit)
    word, bracket = _LAST_WORD.search(column.header), _IN_BRACKETS.search(column.header)
    if word and "/" in word[1] and word[1].translate(_MICRO).lower() in _CODES:
        return unit_meant(word[1])
    return meant if bracket and (meant := unit_meant(bracket[1])) in _KNOWN else ""


_KNOWN = {*_CODES.values(), *_OTHERS.values(), "A.s", "mA.s"}


def given_units(layout: Layout) -> dict[str, str]:
    """The unit of the concentrations a file gives its standards, by element; of all elements under the empty text."""
    columns = layout.table.columns
    return {one.element: unit for one in columns if one.means == "nominal" and (unit := unit_of(one))}
