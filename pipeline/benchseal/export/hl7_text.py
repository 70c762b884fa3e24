"""Segments of HL7 version 2.5.1 as text: fields in their places, delimiters escaped, nothing cut.

Source: HL7 v2.5.1, chapter 2 (2.5.4 delimiters, 2.7 escape sequences), from memory; read back in the tests by a public
library.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from benchseal.export.cells import CannotWrite, require_no_control

if TYPE_CHECKING:
    from collections.abc import Mapping

SEGMENT_END: Final = "\r"
ENCODING_CHARACTERS: Final = "^~\\&"
LONGEST_CODE: Final = 20  # CE.1, HD.1, MSH-10
LONGEST_ST: Final = 199  # of any text, with its escapes
_LONGEST_FT: Final = 65536
_BEGINS: Final = frozenset({"FHS", "BHS", "MSH"})  # their first two fields are the delimiters themselves

# 2.7.1, and 2.7.6 for what would end a segment or stand for nothing: hexadecimal data.
_ESCAPES: Final = str.maketrans({
    "\\": "\\E\\", "|": "\\F\\", "^": "\\S\\", "&": "\\T\\", "~": "\\R\\",
    "\r": "\\X0D\\", "\n": "\\X0A\\", "\t": "\\X09\\",
})  # fmt: skip
_NULL: Final = '""'  # 2.5.3: "delete what you have"; a text of two quotes must not say so
_TIME: Final = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)(?:T(\d\d):(\d\d):(\d\d)(\.\d{1,4})?(Z|[+-]\d\d:\d\d))?", re.ASCII
)  # TS has at most four places of a second

Components: TypeAlias = "tuple[str, ...]"
Field: TypeAlias = "str | Components | list[Components]"


@dataclass(frozen=True, slots=True)
class Segment:
    """One segment. at: content by the number of the field: a text, its components, or a list of repetitions."""

    name: str
    at: Mapping[int, Field]


def written(segment: Segment) -> str:
    """The segment as it stands in the file, without its end. Raises CannotWrite."""
    first = 3 if segment.name in _BEGINS else 1
    filled = {
        number: text
        for number, field in segment.at.items()
        if (text := _field(field, _LONGEST_FT if (segment.name, number) == ("NTE", 3) else LONGEST_ST))
    }
    texts = [filled.get(number, "") for number in range(first, max(filled, default=0) + 1)]
    opening = [segment.name, ENCODING_CHARACTERS] if first > 1 else [segment.name]
    return "|".join([*opening, *texts])


def stamp(text: str) -> str:
    """An ISO 8601 day or time with offset as TS has it (``20260304140211.000+0000``). Raises CannotWrite."""
    if not text:
        return ""
    if not (found := _TIME.fullmatch(text)):
        raise CannotWrite("export.date-unreadable", f"{text!r} is no day or time of HL7.", "Correct the record.")
    year, month, day, *clock = found.groups()
    if clock[0] is None:
        return year + month + day
    hour, minute, second, parts, offset = clock
    return f"{year}{month}{day}{hour}{minute}{second}{parts or ''}" + offset.replace("Z", "+0000").replace(":", "")


def _field(field: Field, longest: int) -> str:
    if isinstance(field, list):
        return "~".join(_components(parts, longest) for parts in field)
    return _components((field,) if isinstance(field, str) else field, longest)


def _components(parts: Components, longest: int) -> str:
    return "^".join(_escaped(text, longest) for text in parts).rstrip("^")


def _escaped(text: str, longest: int) -> str:
    require_no_control(text)
    return held(text, longest) and escaped(text)


def escaped(text: str) -> str:
    """``text`` as it stands in a segment; it is this that the standard's lengths are of."""
    return "\\X22\\\\X22\\" if text == _NULL else text.translate(_ESCAPES)


def held(text: str, longest: int) -> str:
    """``text``, which a place of a segment holds with its escapes. Raises CannotWrite."""
    if len(made := escaped(text)) > longest:
        raise too_long(made, longest)
    return text


def too_long(text: str, longest: int) -> CannotWrite:
    """For a text that a place of a segment does not hold."""
    shown = text if len(text) <= LONGEST_ST else text[:LONGEST_ST] + "..."
    what = f"has {len(text)} characters, HL7 takes {longest} here: {shown!r}."
    return CannotWrite("export.too-long", what, "Send these results in a file of another kind.")
