"""Which words a profile's ``file`` and ``columns`` have for each kind of file, and what does not go together."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from benchseal.export.cells import Fault, form_of
from benchseal.export.hl7_rules import hl7_faults

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from benchseal.records.profile import Column, Profile

_ALL: Final = ("encoding", "separator", "quote", "line_end", "decimal_mark", "header_line", "bom")
_NEEDED: Final[Mapping[str, tuple[str, ...]]] = {
    "delimited": ("encoding", "separator", "quote", "line_end", "decimal_mark", "header_line"),
    "fixed_width": ("encoding", "line_end", "decimal_mark", "header_line"),
    "hl7_v2": (),
    "json_lines": (),
    "parquet": (),
}
_ALSO: Final[Mapping[str, tuple[str, ...]]] = {"delimited": ("bom",)}
_SEVERAL_BYTES: Final = frozenset({"utf-8", "utf-16"})


def kind_faults(profile: Profile) -> Iterator[tuple[str, Fault]]:
    """Every fault of the profile's kind of file, each with its place in the profile."""
    kind = profile.file.kind
    yield from (("file", fault) for fault in _file(profile))
    if kind in {"hl7_v2", "json_lines", "parquet"} and (profile.opening_lines or profile.closing_lines):
        what = f"a {kind} file has no lines of its own; its counters stand in the manifest."
        yield "", Fault("profile.lines-unfit", what, "Leave opening_lines and closing_lines out.")
    yield from (("beside", fault) for fault in _beside(profile))
    if kind == "hl7_v2":
        yield from hl7_faults(profile)
        return
    if profile.hl7 is not None:
        yield "", Fault("profile.hl7-unfit", f"hl7 says nothing about a {kind} file.", "Leave hl7 out.")
    if not profile.columns:
        yield "", Fault("profile.columns-missing", f"a {kind} file needs columns.", "Add columns.")
    for column in profile.columns:
        place = f"column {column.title}"
        faults = _widths(column) if kind == "fixed_width" else _no_widths(column, kind)
        yield from ((place, fault) for fault in faults)
        if kind == "parquet":
            yield from ((place, fault) for fault in _typed(column))


def _file(profile: Profile) -> Iterator[Fault]:
    kind = profile.file.kind
    given = [name for name in _ALL if _is_given(name, profile)]
    for name in _NEEDED[kind]:
        if name not in given:
            yield Fault("profile.file-word-missing", f"a {kind} file needs {name}.", f"Add {name} to file.")
    for name in given:
        if name not in _NEEDED[kind] + _ALSO.get(kind, ()):
            yield Fault("profile.file-word-unfit", f"{name} says nothing about a {kind} file.", f"Leave {name} out.")
    if kind == "fixed_width" and profile.file.encoding in _SEVERAL_BYTES:
        what = f"{profile.file.encoding} gives characters different lengths."
        yield Fault("profile.encoding-not-fixed", what, "Take us-ascii or a code page.")


def _beside(profile: Profile) -> Iterator[Fault]:
    for word in (word for word in profile.beside if word in {"csvw", "table_schema"}):
        if profile.file.kind != "delimited":
            what = f"{word} describes delimited files, and this one is {profile.file.kind}."
            yield Fault("profile.beside-unfit", what, f"Leave {word} out.")
        elif profile.closing_lines:
            what = f"{word} cannot say that lines follow the table."
            yield Fault("profile.beside-unfit", what, f"Leave {word} or closing_lines out.")


def _is_given(name: str, profile: Profile) -> bool:
    if name == "header_line":
        return profile.file.header_line is not None
    return bool(getattr(profile.file, name))


def _widths(column: Column) -> Iterator[Fault]:
    if not column.width:
        yield Fault("profile.width-missing", "a file of fixed widths needs the width of each column.", "Add width.")
    elif len(column.title) > column.width:
        what = f"its title has {len(column.title)} characters, it is {column.width} wide."
        yield Fault("profile.width-unfit", what, "Shorten the title or widen the column.")
    if column.max_length:
        yield Fault("profile.width-unfit", "max_length and width say the same thing.", "Leave max_length out.")
    if column.pad == "zero" and (form_of(column) != "number" or column.align == "left"):
        remedy = "Leave pad out, or write a number at the right."
        yield Fault("profile.pad-unfit", "zeros fill numbers, from the left.", remedy)


def _no_widths(column: Column, kind: str) -> Iterator[Fault]:
    for name in ("width", "align", "pad"):
        if getattr(column, name):
            yield Fault("profile.width-unfit", f"{name} says nothing about a {kind} file.", f"Leave {name} out.")


def _typed(column: Column) -> Iterator[Fault]:
    form = form_of(column)
    if form != "text" and column.missing_text:
        what = f"a column of type {form} cannot hold text."
        yield Fault("profile.missing-text-unfit", what, "Leave it empty, or say form: text.")
    if form == "date" and (column.date_form or column.zone != "UTC"):
        remedy = "Leave date_form and zone out, or say form: text."
        yield Fault("profile.form-unfit", "a Parquet date has a type, no form.", remedy)
    if form == "number" and column.field == "value_unrounded":
        what = "a value of record can have more than 18 decimal places, and nothing is rounded."
        yield Fault("profile.number-may-not-fit", what, "Say form: text.")
