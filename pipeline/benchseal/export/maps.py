"""What a map may make of the words of its field: texts listed for the word, or codes, and nothing that says else."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Final, get_args

from benchseal.export.element_words import names_another
from benchseal.export.record_words import (
    ELEMENTS,
    IDENTIFIERS,
    KEPT_APART,
    MEASURED,
    NAMES,
    ORDINARY,
    UNITS,
    WORDS,
    plain_word,
)
from benchseal.export.senses import SENSES
from benchseal.export.usual_words import (
    is_code,
    is_number,
    like_a_unit,
    read_as,
    same_size,
    says_nothing,
    sense_of,
    unit_spelled,
)
from benchseal.records.released import DATE_FIELDS, NUMBER_FIELDS
from benchseal.records.specification import DecisionRule

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator

    from benchseal.records.profile import Column

_OWN_IDENTIFIER: Final = re.compile("[a-z][a-z0-9._-]*( [a-z][a-z0-9._-]*)*")
# Of these a text is looked at for what it says, and no list of allowed ones is kept.
_OPEN: Final = frozenset({"fraction"})


def map_faults(column: Column) -> Iterator[tuple[str, str, str]]:
    """What a map takes away from its field, or adds to it: code, what, remedy."""
    field = column.field
    if field in MEASURED or (column.form == "text" and field in NUMBER_FIELDS | DATE_FIELDS):
        yield "map-of-value", f"a map would put another text in the place of {field}.", "Leave the map out."
        return
    if field in NAMES:
        what = f"a map would give another name to {field}, by which it is found again."
        yield "map-of-name", what, "Leave the map out."
        return
    merged: set[str] = set()
    if field in KEPT_APART:
        yield from _merges(column, merged)
    for key, target in column.map.items():
        if key in merged:
            continue
        if field in KEPT_APART and not target.strip():
            if key != ORDINARY.get(field):
                what = f"{key!r} would be written as nothing."
                yield "map-misleads", what, "Write a text the receiver can see."
        elif why := target_fault(field, key, target):
            yield "map-misleads", f"{key!r} would be written as {target!r}, which is {why}.", remedy(field)
        elif field not in UNITS and _is_another(column, key, target):
            what = f"{key!r} would be written as {target!r}, which is a text of the record itself."
            yield "map-misleads", what, "Write a text the record does not use for something else."


def _is_another(column: Column, key: str, target: str) -> bool:
    """Whether a text is, on the left side of the map, another word of the record."""
    left = {plain_word(column.field, one) for one in column.map if one != key}
    return plain_word(column.field, target) in left - {plain_word(column.field, key)}


def _merges(column: Column, merged: set[str]) -> Iterator[tuple[str, str, str]]:
    """Words that become one text; each is put into ``merged``."""
    seen: dict[str, str] = {}
    for key, target in column.map.items():
        plain = plain_word(column.field, target)
        if plain and plain in seen and not _same(column.field, key, seen[plain]):
            what = f"{seen[plain]!r} and {key!r} would both be written as {target!r}."
            yield "map-merges", what, "Give each its own text."
            merged |= {key, seen[plain]}
        seen.setdefault(plain, key)


def target_fault(field: str, key: str, target: str) -> str:
    """What ``target`` is, where it may not stand for ``key``; empty where it may."""
    if target == key:
        return ""
    for fields, fault in _FAULTS:
        if field in fields:
            return fault(field, key, target)
    if field == "flags" and (says_nothing(target) or read_as("verdict", target) is not None):
        return "a text that says nothing of it"
    known = get_args(DecisionRule) if field == "decision_rule" else WORDS.get(field, ())
    return f"another {field}" if plain_word(field, target) in known else ""


def remedy(field: str) -> str:
    """What to write instead, in a few words."""
    if field in UNITS:
        return "Write the unit as the record does, or a listed spelling of the same size: see exports.md."
    if field in SENSES and field not in _OPEN:
        return "Write the word itself, a usual one listed for it, or a code with a figure, such as R2: see exports.md."
    if field in ELEMENTS:
        return "Write its own symbol or name, or a code with figures."
    if field in IDENTIFIERS:
        return "Write the receiver's own code or name, with figures or capitals, or leave the map out."
    return "Write another text."


def _unit_fault(_: str, key: str, target: str) -> str:
    meant = unit_spelled(target)
    if meant:
        return "" if same_size(key, target) else "another unit"
    return "another unit, or one not understood" if like_a_unit(target) else "no listed spelling of a unit"


def _word_fault(field: str, key: str, target: str) -> str:
    sense = sense_of(field, target)
    if sense is not None:
        return "" if key in sense.words else f"read as {sense.says}"
    if field == "qualifier" and is_number(target):
        return "a number"
    alike = read_as(field, target)
    if alike is not None and key not in alike.words:
        return f"read as {alike.says}"
    if field in _OPEN or is_code(target):
        return ""
    return "no word listed for it, nor a code with a figure"


def _element_fault(field: str, key: str, target: str) -> str:
    if field == "expressed_as" and not is_code(target):
        return "neither that formula nor a code"
    return names_another(key, target)


def _identifier_fault(_: str, __: str, target: str) -> str:
    plain = unicodedata.normalize("NFKC", target).strip()
    return "formed like an identifier of the site" if _OWN_IDENTIFIER.fullmatch(plain) else ""


_FAULTS: Final[tuple[tuple[Collection[str], Callable[[str, str, str], str]], ...]] = (
    (UNITS, _unit_fault),
    (SENSES, _word_fault),
    (ELEMENTS, _element_fault),
    (IDENTIFIERS, _identifier_fault),
)


def _same(field: str, one: str, other: str) -> bool:
    """Whether two texts of a field mean the same amount: ``ug/g`` and ``mg/kg``, ``ug/g`` and ``µg/g``."""
    return same_size(one, other) if field in UNITS else one == other
