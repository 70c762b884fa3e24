"""Is a profile sound? Every problem that can be seen before the first row, and the choice of rows."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from typing import TYPE_CHECKING

from benchseal.export.arranged import OF_ONE
from benchseal.export.cells import CannotWrite, form_of, is_risky, needs_quotes, require_encodable
from benchseal.export.code_names import named_codes
from benchseal.export.dates import PARTS, form_fault, is_zone, shows_time_of_day, tokens
from benchseal.export.distinctions import distinction_faults, says
from benchseal.export.file_kinds import kind_faults
from benchseal.export.places import place_faults
from benchseal.export.record_words import MEASURED, VALUES, WITH_UNIT
from benchseal.export.rows import withdrawn_rows
from benchseal.export.told_beside import told_beside
from benchseal.problems import Problem
from benchseal.records.released import DATE_FIELDS, DAYS, DELIVERY_FIELDS, NUMBER_FIELDS, ROW_FIELDS, WHOLE_NUMBERS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from benchseal.export.cells import Fault
    from benchseal.records.profile import Column, Profile
    from benchseal.records.released import ReleasedRow

FIELDS: frozenset[str] = frozenset(ROW_FIELDS + DELIVERY_FIELDS)
COUNTERS = ("delivery_id", "produced_at", "profile_name", "profile_version", "row_count", "sha256_of_rows")
PLACE = re.compile(r"\{([^{}]*)\}")

# Listed texts for nothing, yes and no: nothing stands behind the sign that a spreadsheet could run (from memory).
_LONE_SIGNS = frozenset({"+", "-", "--", "---"})
_SAYS_BELOW = frozenset({"qualifier", "reported_kind", "value_text"})
_SUMMED = NUMBER_FIELDS & set(ROW_FIELDS)
_UNITS = frozenset({"unit_ucum", "unit_display"})
# Of a delivery, a sample or a certificate, never of one result.
_OF_NONE = frozenset(DELIVERY_FIELDS) | {
    "customer_id",
    "lab_sample_id",
    "client_sample_id",
    "client_order_id",
    "product",
}


def check_profile(profile: Profile) -> tuple[Problem, ...]:
    """Every problem of a profile that its schema cannot see; empty when it is sound."""
    if unfit := tuple(_as_problem(profile, place, fault) for place, fault in kind_faults(profile)):
        return unfit  # the words of the file come first: the rest is judged by them
    found = [] if profile.file.kind == "hl7_v2" else [*_whole(profile), *_lines(profile)]
    found += [_problem(profile, *each) for each in (named_codes(profile.hl7) if profile.hl7 else told_beside(profile))]
    found += [_problem(profile, *each) for each in _together(profile)] if profile.file.kind != "hl7_v2" else []
    if profile.send_to is not None:
        found += [_as_problem(profile, "send_to", fault) for fault in place_faults(profile.send_to)]
    for column in profile.columns:
        found += _column(column, profile)
    return tuple(found)


def chosen(rows: Iterable[ReleasedRow], profile: Profile) -> tuple[ReleasedRow, ...]:
    """The rows a profile is for, in their order; withdrawals are never left out by kind."""
    customers, methods = profile.choose.customers, profile.choose.methods
    return tuple(
        row
        for row in rows
        if (not customers or row.customer_id in customers) and (not methods or _measured_by(row, methods))
    )


def reaching(row: ReleasedRow, held: ReleasedRow | None, profile: Profile) -> ReleasedRow | None:
    """What the receiver of a profile is sent of one revision of a result; None for nothing.

    held: the revision before, as it reached them. Where this one is not for them, since another method measured it,
    what they hold is withdrawn: else they would go on with what was corrected.
    """
    if chosen((row,), profile):
        return row
    if held is None or held.change_kind == "withdrawn":
        return None
    (gone,) = withdrawn_rows((held,), row.change_reason)
    return gone


def _measured_by(row: ReleasedRow, methods: Sequence[str]) -> bool:
    """A sum is for a receiver who gets all its parts."""
    return row.method_id in methods or (bool(row.sum_elements) and set(row.method_id.split()) <= set(methods))


def _problem(profile: Profile, place: str, code: str, what: str, remedy: str) -> Problem:
    return Problem(f"profile.{code}", _where(profile, place), what, remedy)


def _as_problem(profile: Profile, place: str, fault: Fault) -> Problem:
    return Problem(fault.code, _where(profile, place), fault.what, fault.remedy)


def _where(profile: Profile, place: str) -> str:
    return f"profile {profile.id}, {place}" if place else f"profile {profile.id}"


def _whole(profile: Profile) -> Iterator[Problem]:
    titles = [column.title for column in profile.columns]
    alike = Counter(_title_read(title) for title in titles)
    for title in sorted({title for title in titles if alike[_title_read(title)] > 1}, key=_title_read):
        same = sorted({one for one in titles if _title_read(one) == _title_read(title)})
        if title == same[0]:
            what = f"two columns are called {' and '.join(map(repr, same))}."
            yield _problem(profile, "", "title-repeated", what, "Give each its own title.")
    if not any(says(column, "change_kind") for column in profile.columns if not column.of):
        yield _problem(
            profile, "", "change-not-shown", "no column says by change_kind what was withdrawn: it would not show.",
            "Add a column with field change_kind; a flag of it holds withdrawn alone, or new and corrected.",
        )  # fmt: skip
    for of in dict.fromkeys(column.of for column in profile.columns):
        taken = [column for column in profile.columns if column.of == of]
        says_below = any(says(column, field) for column in taken for field in _SAYS_BELOW)
        if any(column.field in VALUES for column in taken) and not says_below:
            yield _problem(
                profile, "", "limit-not-shown", f'a value "<0.050"{of and f" of {of}"} would arrive as 0.050.',
                f"Add a column with field qualifier or reported_kind{of and f' of {of}'}.",
            )  # fmt: skip
    if profile.file.bom and profile.file.encoding != "utf-8":
        yield _problem(
            profile, "file", "bom-unfit", f"bom goes with utf-8, and the encoding is {profile.file.encoding}.",
            "Leave bom out; UTF-16 always has one.",
        )  # fmt: skip
    if profile.file.quote == "never" and profile.file.separator == profile.file.decimal_mark:
        yield _problem(
            profile, "file", "separator-is-decimal-mark", f"{profile.file.separator!r} is both, and nothing is quoted.",
            "Choose another separator.",
        )  # fmt: skip


def _title_read(title: str) -> str:
    """A title as a reader tells it from others: without capitals, other forms of a letter, and blanks at its ends."""
    return " ".join(unicodedata.normalize("NFKC", title).casefold().split())


def _together(profile: Profile) -> Iterator[tuple[str, str, str, str]]:
    """What is wrong with which results stand in a row: place, code, what, remedy."""
    per = profile.one_row_per
    named = [column for column in profile.columns if column.of]
    if per == "result":
        for column in named:
            what = f"of says which result of a row, and a row is one result: {column.of}."
            yield f"column {column.title}", "of-unfit", what, "Leave of out, or say one_row_per."
        return
    if not named:
        yield "", "of-missing", f"a row is a {per}, and no column says of which element it is.", "Add columns with of."
    for column in profile.columns:
        place = f"column {column.title}"
        if column.field in OF_ONE and not column.of:
            what = f"{column.field} is of one result, and a row is a {per}."
            yield place, "of-missing", what, "Say of which element."
        if column.of and (not column.field or column.field in _OF_NONE):
            what = f"{column.field or 'fixed text'} is of the row as a whole."
            yield place, "of-unfit", what, "Leave of out."
    shown = {column.field for column in profile.columns}
    for line in (*profile.opening_lines, *profile.closing_lines):
        for name in PLACE.findall(line):
            field = name.removeprefix("sum_of:")
            if name.startswith("sum_of:") and field not in shown:
                what = f"no column shows {field}, so there is nothing to sum."
                yield "", "counter-unfit", what, "Sum a field that a column shows."


def _column(column: Column, profile: Profile) -> Iterator[Problem]:
    place = f"column {column.title}"
    if column.field and column.field not in FIELDS:
        yield _problem(
            profile, place, "field-unknown", f"{column.field!r} is no canonical field.", "See exports.md for the list."
        )
        return
    if column.field and column.fixed:
        yield _problem(profile, place, "field-and-fixed", "field and fixed are both given.", "Keep one of them.")
    for code, what, remedy in _faults(column, profile):
        yield _problem(profile, place, code, what, remedy)
    if form_of(column) == "date":
        for code, what, remedy in _date_faults(column, profile):
            yield _problem(profile, place, code, what, remedy)
    for text in (column.title, *column.map.values()):
        yield from _own_text(text, place, profile)
    for text in (column.fixed, column.missing_text, column.yes, column.no):
        yield from _own_text(text, place, profile, is_lone_sign=text in _LONE_SIGNS)


def _faults(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    yield from _form_faults(column)
    yield from _mark_faults(column, profile)
    yield from _missing_faults(column)
    yield from _unit_faults(column, profile)
    yield from distinction_faults(column)


def _form_faults(column: Column) -> Iterator[tuple[str, str, str]]:
    form = form_of(column)
    if (form == "number" and column.field not in NUMBER_FIELDS) or (form == "date" and column.field not in DATE_FIELDS):
        yield "form-unfit", f"{column.field or 'fixed text'} is no {form}.", "Write it as text."
    if column.map and form != "text" and column.field not in MEASURED:
        yield "form-unfit", f"a map turns codes into text, and this column is a {form}.", "Say form: text."
    yield from _flag_faults(column)
    if form != "date" and (column.date_form or column.zone != "UTC"):
        yield "form-unfit", "date_form and zone belong to dates.", "Leave them out."


def _mark_faults(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    """Text keeps the point of the record, which a reader of commas takes for a thousands sign: 0.067 for 67."""
    if column.form == "text" and column.field in NUMBER_FIELDS - WHOLE_NUMBERS and profile.file.decimal_mark == ",":
        what = f"{column.field} as text keeps its decimal point, and the decimal mark of the file is a comma."
        yield "form-unfit", what, "Leave form out; a number has the mark of the file."


def _flag_faults(column: Column) -> Iterator[tuple[str, str, str]]:
    given = [name for name in ("holds", "yes", "no") if getattr(column, name)]
    if column.form != "flag":
        if given:
            yield "flag-unfit", f"{', '.join(given)} belong to a flag.", "Say form: flag, or leave them out."
        return
    if len(given) < 3 or column.yes == column.no:
        yield "flag-unfit", "a flag says holds, yes and no, and yes is not no.", "Give all three."
    if not column.field or column.field in NUMBER_FIELDS | DATE_FIELDS:
        yield "form-unfit", f"a flag is of a field of text, not {column.field or 'fixed text'}.", "Take another field."
    if column.unit:
        yield "flag-unfit", "a flag has no unit.", "Leave unit out."


def _missing_faults(column: Column) -> Iterator[tuple[str, str, str]]:
    if (column.when_missing == "text") != bool(column.missing_text):
        yield (
            "missing-text-unfit",
            f"when_missing is {column.when_missing} and missing_text is {column.missing_text!r}.",
            "Give missing_text exactly when when_missing is text.",
        )


def _unit_faults(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    if column.field in WITH_UNIT and not column.unit and not _unit_shown(column, profile):
        yield (
            "unit-not-shown",
            f"{column.field} has a unit and no column shows it.",
            "Add field unit_ucum, or say unit.",
        )
    if column.unit and column.field not in WITH_UNIT:
        yield "unit-unfit", f"{column.field or 'fixed text'} has no unit.", "Leave unit out."


def _unit_shown(column: Column, profile: Profile) -> bool:
    """Whether a column says the unit of what ``column`` is of: its element, or the row as a whole."""
    beside = [one for one in profile.columns if one.of in {"", column.of}]
    return any(says(one, field) for one in beside for field in _UNITS)


def _date_faults(column: Column, profile: Profile) -> Iterator[tuple[str, str, str]]:
    if column.date_form and (fault := form_fault(column.date_form)):
        yield "date-form", f"{column.date_form!r} {fault}.", f"Use each at most once: {PARTS}."
    elif column.field in DAYS and shows_time_of_day(column.date_form):
        what = f"{column.date_form!r} asks for a time of day, and {column.field} is a day only."
        yield "date-form", what, "Leave HH, mm, ss, fff and ZZ out."
    if not is_zone(column.zone):
        yield "zone-unknown", f"no zone is called {column.zone!r}.", "Use a name such as UTC or Europe/Berlin."
    if shows_time_of_day(column.date_form) and not _offset_shown(column, profile):
        yield "offset-not-shown", "a time of day stands without its offset.", "Add ZZ here or in a column beside it."


def _offset_shown(column: Column, profile: Profile) -> bool:
    return any(
        "ZZ" in tokens(one.date_form)
        for one in profile.columns
        if (one.field, one.zone, one.of) == (column.field, column.zone, column.of)
    )


def _own_text(text: str, place: str, profile: Profile, *, is_lone_sign: bool = False) -> Iterator[Problem]:
    """What the profile itself writes: encodable, one line, and no formula unless risky text is kept."""
    try:
        require_encodable(text, profile.file)
    except CannotWrite as stop:
        yield _problem(profile, place, "not-in-encoding", f"its text {stop.fault.what}", "Use characters it has.")
    if not text.isprintable():
        yield _problem(profile, place, "text-not-printable", f"{text!r} does not print.", "Use printable characters.")
    if is_risky(text) and not is_lone_sign and profile.risky_text != "keep":
        yield _problem(profile, place, "risky-text", f"{text!r} begins like a formula.", "Use another text.")
    if profile.file.quote == "never" and needs_quotes(text, profile.file):
        yield _problem(profile, place, "needs-quotes", f"{text!r} cannot stand without quotes.", "Use another text.")


def _lines(profile: Profile) -> Iterator[Problem]:
    named = [("opening_lines", line) for line in profile.opening_lines]
    named += [("closing_lines", line) for line in profile.closing_lines]
    for place, line in named:
        for name in PLACE.findall(line):
            if not _is_counter(name):
                yield _problem(
                    profile, place, "counter-unknown", f"{{{name}}} is no counter.",
                    f"Known: {', '.join(COUNTERS)}, sum_of:FIELD with a number field.",
                )  # fmt: skip
        rest = PLACE.sub("", line)
        if "{" in rest or "}" in rest:
            yield _problem(
                profile, place, "brace", f"{line!r} has a brace without its partner.", "Close it or drop it."
            )
        try:
            require_encodable(rest, profile.file)
        except CannotWrite as stop:
            yield _problem(profile, place, "not-in-encoding", f"the line {stop.fault.what}", "Use characters it has.")
        if "\r" in line or "\n" in line or "\0" in line:
            yield _problem(profile, place, "line-broken", f"{line!r} is not one line.", "Write one text for each line.")


def _is_counter(name: str) -> bool:
    return name in COUNTERS or (name.startswith("sum_of:") and name.removeprefix("sum_of:") in _SUMMED)
