"""Does a column still say what its field says? What a map, a flag or a text for an empty field may not take away."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Final

from benchseal.export.cells import form_of
from benchseal.export.dates import date_shown
from benchseal.export.element_words import names_another
from benchseal.export.maps import map_faults
from benchseal.export.record_words import ELEMENTS, UNITS, WORDS, plain_word
from benchseal.export.senses import YES_AND_NO
from benchseal.export.usual_words import (
    is_number,
    like_a_unit,
    read_as,
    same_size,
    says_nothing,
    sense_of,
    unit_meant,
)
from benchseal.records.released import DATE_FIELDS, DAYS, NUMBER_FIELDS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.profile import Column
    from benchseal.records.released import ReleasedRow

# Fields whose being empty says no, so that the ``no`` of a flag may stand there too.
_EMPTY_IS_NO: Final = frozenset({"qualifier", "sum_bound", "flags"})
# Where a text for an empty field must be one that is listed: any other could be taken for a word or a number.
_SAYS_MUCH: Final = frozenset({*WORDS, *UNITS, *ELEMENTS, *NUMBER_FIELDS, "value_text", "fraction"}) - {"flags"}
_SIGNS: Final = re.compile(r"[<>≤≥=]+")
_REASON: Final = re.compile(r"[a-z_]+(\.[a-z0-9_-]+)+")  # why a result is not determined: a code with a point


def says(column: Column, field: str) -> bool:
    """Whether ``column`` shows ``field`` so that what a rule of profiles asks of it can be read there."""
    if column.field != field or column.form != "flag":
        return column.field == field
    holds = set(column.holds)
    told = {
        # a withdrawal apart from the two others
        "change_kind": len({"new", "corrected"} & holds) == (0 if "withdrawn" in holds else 2),
        "reported_kind": ("below_limit" in holds) != ("measured" in holds),
        "basis": ("dry" in holds) != ("as received" in holds),
        "qualifier": "<" in holds,
    }
    return told.get(field, False)  # which unit, substance or sum it is, no flag can say


def says_of(column: Column, field: str, row: ReleasedRow) -> bool:
    """As ``says``, of one row: a flag may name the very substance or sum the row is of."""
    if column.field == field and column.form == "flag" and field in {"expressed_as", "sum_elements"}:
        return getattr(row, field) in column.holds
    return says(column, field)


def distinction_faults(column: Column) -> Iterator[tuple[str, str, str]]:
    """What a column takes away from its field: code, what, remedy. column: of a known field, or of fixed text."""
    if not column.field:
        return
    if column.form == "flag":
        yield from _unknown_words(column)
        yield from _flag_misleads(column)
    if column.map:
        yield from map_faults(column)
    if column.missing_text and (why := _taken_for(column)):
        what = f"an empty field would read {column.missing_text!r}, and {why}."
        yield "missing-text-misleads", what, "Leave it empty, or write words that say that nothing is there."


def _unknown_words(column: Column) -> Iterator[tuple[str, str, str]]:
    known = WORDS.get(column.field, ())
    unknown = [word for word in column.holds if word not in known]
    if column.field == "flags":
        unknown = [word for word in unknown if not _REASON.fullmatch(word)]
    if known and unknown:
        what = f"{column.field} never holds {', '.join(map(repr, unknown[:5]))}: the flag would not say so."
        yield "flag-word-unknown", what, f"Its words are: {', '.join(known)}."


def _flag_misleads(column: Column) -> Iterator[tuple[str, str, str]]:
    """A yes or no that says something else than the words it is written for."""
    field, known = column.field, WORDS.get(column.field, ())
    others = tuple(word for word in known if word not in column.holds) if field != "flags" else ()
    pair = column.yes.strip().casefold(), column.no.strip().casefold()
    if (pair[1], pair[0]) in YES_AND_NO:
        what = f"{', '.join(map(repr, column.holds))} would be written as {column.yes!r}, which reads as no."
        yield "flag-misleads", what, "Let yes say yes, and no say no."
    if pair in YES_AND_NO or (pair[1], pair[0]) in YES_AND_NO:
        return
    for text, keys in ((column.yes, column.holds), (column.no, others)):
        if text.casefold() == "x":  # a cross in a box
            continue
        wrong = next(((key, other) for key in keys if (other := _other_word(field, key, text))), None)
        if wrong is not None:
            what = f"{wrong[0]!r} would be written as {text!r}, which is {wrong[1]}."
            yield "flag-misleads", what, "Write a yes and a no that are true of every word they stand for."
    if field not in WORDS and column.no and (other := _other_word(field, "", column.no)):
        what = f"whatever is none of holds would be written as {column.no!r}, which is {other}."
        yield "flag-misleads", what, "Write a no that is true of everything else."


def _other_word(field: str, key: str, target: str) -> str:
    """What ``target`` is already, where that is something else than ``key``; empty where it is nothing."""
    plain = plain_word(field, target)
    if field in UNITS:
        return "another unit, or one not understood" if like_a_unit(target) and not same_size(key, target) else ""
    sign = unicodedata.normalize("NFKC", plain)
    if field == "qualifier" and sign != key and _SIGNS.fullmatch(sign):
        return "another sign of comparison"
    sense = read_as(field, target)
    if sense is not None:
        return "" if key in sense.words else f"read as {sense.says}"
    if field in ELEMENTS:
        return names_another(key, target)
    return f"another {field}" if plain in WORDS.get(field, ()) and plain != plain_word(field, key) else ""


def _taken_for(column: Column) -> str:
    """Why the text for an empty field would be read as a value; empty where it would not."""
    text, field = column.missing_text, column.field
    if column.form == "flag":
        is_no = text == column.no and field in WORDS and field not in _EMPTY_IS_NO
        return "that is the flag's yes" if text == column.yes else "that is the flag's no" if is_no else ""
    plain = plain_word(field, text)
    readings = (
        ("a text of the map", plain in {plain_word(field, target) for target in column.map.values()}),
        ("a number, or too little for one", field in NUMBER_FIELDS | {"value_text"} and is_number(text)),
        (f"a {field}", plain in WORDS.get(field, ()) or (sense_of(field, text) is not None and not says_nothing(text))),
        ("a sign of comparison", field == "qualifier" and bool(_SIGNS.fullmatch(plain))),
        ("a unit", field in UNITS and bool(unit_meant(text))),
        ("a date", field in DATE_FIELDS and _like_a_date(text, column)),
        ("none of the texts known to say nothing", field in _SAYS_MUCH and not says_nothing(text)),
    )
    return next((f"that is {words}" for words, holds in readings if holds), "")


def _like_a_date(text: str, column: Column) -> bool:
    """Whether ``text`` has the form in which the column writes its dates, and is not all zeros."""
    recorded = "2026-03-04" if column.field in DAYS else "2026-03-04T14:02:11.000Z"
    try:
        sample = date_shown(recorded, column.date_form if form_of(column) == "date" else "", column.zone)
    except ValueError:
        return False
    return _figures(text) == _figures(sample) and bool(re.search("[1-9]", text))


def _figures(text: str) -> str:
    return re.sub("[0-9]", "0", text).replace("-00:00", "+00:00")
