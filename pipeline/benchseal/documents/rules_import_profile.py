"""Rules of an import profile beyond its shape: every column has one use, and the register gets what it needs."""

from __future__ import annotations

import re
from dataclasses import MISSING, fields, replace
from typing import TYPE_CHECKING

from benchseal.documents.grid import Cell, Row, cell_faults
from benchseal.documents.judge import Fault, shape_faults
from benchseal.documents.rules_sheets import sample_faults
from benchseal.documents.signs import printable, tidy
from benchseal.documents.times import form_fault
from benchseal.records.registers import SampleRow

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.documents.judge import Path
    from benchseal.records.import_profile import ImportColumn, ImportProfile

COUNTERS = ("row_count", "sha256_of_rows", "any")
DAYS = frozenset({"received_on", "sampled_on", "expires_on", "retest_on"})
_NEEDED = tuple(
    field.name for field in fields(SampleRow) if field.default is MISSING and field.default_factory is MISSING
)
_FIELDS = tuple(field.name for field in fields(SampleRow))
_ANY_ROW = SampleRow(**dict.fromkeys(_NEEDED, ""))
_PLACE = re.compile(r"\{([^{}]*)\}")


def import_profile_faults(profile: ImportProfile) -> Iterator[Fault]:
    """Every fault of a profile that its schema cannot see."""
    yield from _file(profile)
    for nth, column in enumerate(profile.columns):
        for code, what, remedy in _column(column, profile):
            yield Fault(("columns", nth), f"documents.{code}", what, remedy)
        yield from _texts(column, nth)
    yield from _whole(profile)
    for place in ("opening_lines", "closing_lines"):
        for nth, line in enumerate(getattr(profile, place)):
            yield from _line((place, nth), line, profile)


def _file(profile: ImportProfile) -> Iterator[Fault]:
    file, kind = profile.file, profile.file.kind
    needed = {
        "delimited": ("encoding", "separator", "quote", "header_line"),
        "fixed_width": ("encoding", "header_line"),
        "json_lines": (),
    }[kind]
    for name in ("encoding", "separator", "quote", "header_line"):
        given = getattr(file, name) not in {"", None}
        if given != (name in needed):
            what = f"a {kind} file {'needs' if name in needed else 'has no'} {name}."
            yield Fault(("file",), "documents.import-file-word", what, f"{'Add' if name in needed else 'Drop'} {name}.")
    if kind == "fixed_width" and file.encoding in {"utf-8", "utf-16"}:
        what = f"{file.encoding} gives characters different lengths."
        yield Fault(("file",), "documents.import-file-word", what, "Take us-ascii or a code page.")
    if kind == "json_lines" and (profile.opening_lines or profile.closing_lines):
        what = "a json_lines file has no lines of its own."
        yield Fault(("file",), "documents.import-line", what, "Leave opening_lines and closing_lines out.")


def _column(column: ImportColumn, profile: ImportProfile) -> Iterator[tuple[str, str, str]]:
    """Code, what, remedy."""
    named = column.title or column.field
    if column.field and column.field not in _FIELDS:
        yield (
            "import-field-unknown",
            f"'{column.field}' is no column of the sample register.",
            f"Known: {', '.join(_FIELDS)}.",
        )
    if bool(column.field) == column.ignored:
        yield (
            "import-column-use",
            f"{named} has {'two uses' if column.field else 'no use'}.",
            "Say field, or ignored: true.",
        )
    if not column.in_file and (column.title or column.width or column.map or column.form == "date"):
        yield (
            "import-column-use",
            f"{named} is fixed, so the file has no such column.",
            "Leave title, width, form, map out.",
        )
    names_columns = profile.file.kind == "json_lines" or profile.file.header_line
    if column.in_file and names_columns and not column.title:
        yield "import-title-missing", f"the file names its columns, and {named} has no title.", "Add title."
    if column.in_file and (profile.file.kind == "fixed_width") != bool(column.width):
        has = "no width" if not column.width else "a width in a file without widths"
        yield "import-width", f"{named} has {has}.", "Give width exactly in a file of fixed widths."
    if (column.form == "date") != bool(column.date_form):
        yield (
            "import-date-form",
            f"{named}: form is {column.form}, date_form is '{column.date_form}'.",
            "Give both or neither.",
        )
    elif column.form == "date" and (reason := _day_fault(column)):
        yield "import-date-form", f"{named}: {reason}.", "A day has YYYY or YY, MM or MMM, and DD, each once."
    if column.map and column.form == "date":
        yield "import-column-use", f"{named} has a map and is a date.", "Keep one of them."
    if (column.when_missing == "text") != bool(column.missing_text):
        yield (
            "import-missing-text",
            f"{named}: when_missing is {column.when_missing}.",
            "Give missing_text exactly to text.",
        )


def _texts(column: ImportColumn, nth: int) -> Iterator[Fault]:
    """Texts of the profile itself that the register would refuse in every row they stand in."""
    given = {"fixed": column.fixed, "missing_text": column.missing_text or None}
    for word, text in given.items() if column.field in _FIELDS else ():
        if text is not None and (reason := _no_value(column.field, text)):
            what = f"{column.field}: {word} '{printable(text)[:40]}' is no value of it: {reason}"
            remedy = "Write what the register takes; fixed: '' serves where it may stay empty."
            yield Fault(("columns", nth), "documents.import-value", what, remedy)


def _no_value(field: str, text: str) -> str:
    """Why the register would refuse a text of the profile in every row; empty when it takes it."""
    if text != tidy(text):
        return "blanks around a text are no part of it."
    odd = [fault.what for fault in cell_faults((Row((Cell(text, field),), field),))]
    odd += [fault.what for fault in shape_faults("sample-row", {field: text}) if fault.path[:1] == (field,)]
    row = replace(_ANY_ROW, **{field: text})
    odd += [fault.what for fault in sample_faults((row,)) if fault.column == field]
    return odd[0] if odd else ""


def _day_fault(column: ImportColumn) -> str:
    """Why a column cannot be read as a day; empty when it can."""
    if column.field not in DAYS:
        return f"only {', '.join(sorted(DAYS))} hold a day"
    return form_fault(column.date_form, "date")


def _whole(profile: ImportProfile) -> Iterator[Fault]:
    taken = [column.field for column in profile.columns if column.field]
    titles = [column.title for column in profile.columns if column.title]
    for name in dict.fromkeys(name for name in taken if taken.count(name) > 1):
        yield Fault(("columns",), "documents.import-field-twice", f"{name} is filled twice.", "Keep one column of it.")
    for title in dict.fromkeys(title for title in titles if titles.count(title) > 1):
        what = f"two columns are called '{title}'."
        yield Fault(("columns",), "documents.import-title-twice", what, "Ask the sender for titles that differ.")
    lacking = [name for name in _NEEDED if name not in taken]
    if lacking:
        what = f"the register also needs {', '.join(lacking)}."
        remedy = "Add them; what the file does not have is fixed; fixed: '' where it may stay empty."
        yield Fault(("columns",), "documents.import-field-missing", what, remedy)
    if not any(column.in_file for column in profile.columns):
        yield Fault(("columns",), "documents.import-column-use", "no column is in the file.", "Add its columns.")


def _line(path: Path, line: str, profile: ImportProfile) -> Iterator[Fault]:
    names = _PLACE.findall(line)
    rest = _PLACE.sub("", line)
    unknown = [name for name in names if name not in COUNTERS]
    if unknown or "{" in rest or "}" in rest:
        what = f"'{line}' has {f'{{{unknown[0]}}}' if unknown else 'a brace without its partner'}."
        known = ", ".join(f"{{{name}}}" for name in COUNTERS)
        yield Fault(path, "documents.import-line", what, f"Known: {known}.")
    if "{any}{" in line or "}{any}" in line:
        yield Fault(
            path, "documents.import-line", f"'{line}' leaves open where {{any}} ends.", "Put text between them."
        )
    if not line.isprintable():
        yield Fault(path, "documents.import-line", f"{line!r} does not print.", "Write one printable text a line.")
    del profile
