"""Does a column still say what its field says? What a map, a flag or a text for an empty field may not take away."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Final, get_args

from benchseal.export.analytes import ANALYTES
from benchseal.export.cells import form_of
from benchseal.export.dates import date_shown
from benchseal.export.usual_words import is_number, same_size, sense_of, unit_meant
from benchseal.records.method import Technique
from benchseal.records.released import DATE_FIELDS, DAYS, NUMBER_FIELDS, WHOLE_NUMBERS, ChangeKind
from benchseal.records.specification import Basis, BoundRule, Quantity

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.records.profile import Column
    from benchseal.records.released import ReleasedRow

WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "change_kind": get_args(ChangeKind),
    "reported_kind": ("measured", "below_limit", "not_determined"),
    "qualifier": ("<",),
    "verdict": ("pass", "fail", "conditional_pass", "conditional_fail", "inconclusive"),
    "basis": get_args(Basis),
    "reported_quantity": get_args(Quantity),
    "sum_bound": get_args(BoundRule),
    "technique": get_args(Technique),
    "signature_state": ("signed", "revoked"),
    "certificate_kind": ("original", "amendment", "supplement"),
    "flags": (
        "calibration_not_recomputable", "comment_required", "dilutions_differ", "parts_below_limit",
        "no_part_quantified",
    ),
}  # fmt: skip
_UNITS: Final = frozenset({"unit_ucum", "unit_display", "uncertainty_unit"})
# Of these no two texts may become one: a rule of profiles rests on them, or they say what a value is of.
_KEPT_APART: Final = _UNITS | {
    "change_kind", "reported_kind", "qualifier", "verdict", "basis", "sum_bound", "expressed_as", "sum_elements",
    "element_symbol", "analyte_name", "customer_id", "method_id", "specification_id", "instrument_id", "analyst_id",
}  # fmt: skip
# By these a thing is found again, here and there: another name for it would lead to nothing, or to another thing.
_NAMES: Final = frozenset({
    "result_id", "record_sha256", "client_order_id", "lot_id", "lab_sample_id", "client_sample_id", "container_id",
    "cas_number", "loinc_code", "method_sha256", "specification_sha256", "run_id", "batch_id", "preparation_id",
    "instrument_serial", "run_file_sha256", "calibration_id", "certificate_no", "replaces_certificate_no",
    "certificate_sha256", "delivery_id",
})  # fmt: skip
# The one word of a field that a receiver may take for granted, so that a map may leave it blank.
_ORDINARY: Final = {"change_kind": "new", "reported_kind": "measured", "basis": "as received"}
# Fields whose being empty says no, so that the ``no`` of a flag may stand there too.
_EMPTY_IS_NO: Final = frozenset({"qualifier", "sum_bound", "flags"})
MEASURED: Final = (NUMBER_FIELDS - WHOLE_NUMBERS) | {"value_text"}
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
        yield from _map_faults(column)
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
    for text, keys in ((column.yes, column.holds), (column.no, others)):
        wrong = next(((key, other) for key in keys if (other := _other_word(field, key, text))), None)
        if wrong is not None:
            what = f"{wrong[0]!r} would be written as {text!r}, which is {wrong[1]}."
            yield "flag-misleads", what, "Write a yes and a no that are true of every word they stand for."
    if field not in WORDS and column.no and (other := _other_word(field, "", column.no)):
        what = f"whatever is none of holds would be written as {column.no!r}, which is {other}."
        yield "flag-misleads", what, "Write a no that is true of everything else."


def _map_faults(column: Column) -> Iterator[tuple[str, str, str]]:
    field = column.field
    if field in MEASURED:
        yield "map-of-value", f"a map would put another text in the place of {field}.", "Leave the map out."
        return
    if field in _NAMES:
        what = f"a map would give another name to {field}, by which it is found again."
        yield "map-of-name", what, "Leave the map out."
        return
    if field not in _KEPT_APART:
        for key, target in column.map.items():
            yield from _other_than(field, key, target)
        return
    seen: dict[str, str] = {}
    for key, target in column.map.items():
        plain = _plain(field, target)
        if not plain and key != _ORDINARY.get(field):
            what = f"{key!r} would be written as nothing."
            yield "map-misleads", what, "Write a text the receiver can see."
        elif plain in seen and not _same(field, key, seen[plain]):
            what = f"{seen[plain]!r} and {key!r} would both be written as {target!r}."
            yield "map-merges", what, "Give each its own text."
        else:
            yield from _other_than(field, key, target)
        seen.setdefault(plain, key)


def _other_than(field: str, key: str, target: str) -> Iterator[tuple[str, str, str]]:
    other = "a number" if field == "qualifier" and is_number(target) else _other_word(field, key, target)
    if other:
        yield "map-misleads", f"{key!r} would be written as {target!r}, which is {other}.", "Write another text."


def _plain(field: str, text: str) -> str:
    """What a reader compares; of units and symbols capital letters matter."""
    exact = _UNITS | {"element_symbol", "expressed_as", "sum_elements"}
    return text.strip() if field in exact else text.strip().casefold()


def _other_word(field: str, key: str, target: str) -> str:
    """What ``target`` is already, where that is something else than ``key``; empty where it is nothing."""
    plain = _plain(field, target)
    if field in _UNITS:
        meant = unit_meant(target)
        return "another unit" if meant and not same_size(key, target) else ""
    sign = unicodedata.normalize("NFKC", plain)
    if field == "qualifier" and sign != key and _SIGNS.fullmatch(sign):
        return "another sign of comparison"
    sense = sense_of(field, target)
    if sense is not None:
        return "" if key in sense.words else f"read as {sense.says}"
    known = ANALYTES if field == "element_symbol" else WORDS.get(field, ())
    return f"another {field}" if plain in known and plain != _plain(field, key) else ""


def _same(field: str, one: str, other: str) -> bool:
    """Whether two texts of a field mean the same amount: ``ug/g`` and ``mg/kg``, ``ug/g`` and ``µg/g``."""
    return same_size(one, other) if field in _UNITS else one == other


def _taken_for(column: Column) -> str:
    """Why the text for an empty field would be read as a value; empty where it would not."""
    text, field = column.missing_text, column.field
    if column.form == "flag":
        is_no = text == column.no and field in WORDS and field not in _EMPTY_IS_NO
        return "that is the flag's yes" if text == column.yes else "that is the flag's no" if is_no else ""
    plain = _plain(field, text)
    readings = (
        ("a text of the map", plain in {_plain(field, target) for target in column.map.values()}),
        (f"a {field}", plain in WORDS.get(field, ()) or sense_of(field, text) is not None),
        ("a sign of comparison", field == "qualifier" and bool(_SIGNS.fullmatch(plain))),
        ("a unit", field in _UNITS and bool(unit_meant(text))),
        ("an element", field == "element_symbol" and plain in ANALYTES),
        ("a number", field in NUMBER_FIELDS | {"value_text"} and is_number(text)),
        ("a date", field in DATE_FIELDS and _like_a_date(text, column)),
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
