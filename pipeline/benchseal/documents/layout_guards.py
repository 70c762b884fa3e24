"""Where a reading layout looks less closely than it may seem to, or than the version before it did.

What a person is told who approves it; no layout is wrong for it.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

from benchseal.documents.patterns import compiled
from benchseal.records.layout import COUNT_FACTS, FACTS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.layout import Layout

_TOLD = re.compile(r"\(\?P?<(element|wavelength_nm)>")
# What stands for another element, or no number of nanometres, where it follows the value of a line.
_OTHER = {
    "element": (" + Zn", "; Zn", ", Zn", " Zn 213.9 nm", " and Zn 213.9"),
    "wavelength_nm": (".5", "e1", " A", "/213.9", ", 213.9 nm", " x10", " nm x10"),
}
_SHOWN = 60  # signs of a pattern
_ANY_LINE = ("x", "1;2;3", "A b 1.0")
_NUMBERED = ("running", "each_file", "each_section")


def open_ends(layout: Layout) -> Iterator[tuple[str, str]]:
    """Patterns that read an element or a wavelength and take another one behind it for nothing, with its fact."""
    patterns = [rule.line for rule in (*layout.head, *layout.section.lines)]
    patterns += [layout.section.begins, *(one for page in layout.pages for one in page.heading)]
    for pattern in patterns:
        for found in _TOLD.finditer(pattern):
            rest = _behind(pattern, found.end())
            if any(_fits(rest, text) for text in _OTHER[found[1]]):
                yield pattern, found[1]


def lost_guards(before: Layout, now: Layout) -> Iterator[str]:
    """What the version before reads or compares and this one does not, each as a sentence."""
    yield from _columns(before, now)
    yield from _facts(before, now)
    yield from _closing(before, now)
    yield from _table(before, now)
    yield from _words(before, now)


def _columns(before: Layout, now: Layout) -> Iterator[str]:
    """Columns that are read no more, mean another thing, or may be absent; of several alike each counts."""
    columns = now.table.columns
    read, headers = {column.means for column in columns}, {column.header for column in columns}
    had, has = (Counter((one.header, one.means) for one in each.table.columns) for each in (before, now))
    for column in before.table.columns:
        if column.means == "ignored":
            continue
        key = column.header, column.means
        if column.means not in read or (column.header in headers and has[key] < had[key]):
            others = {one.means for one in columns if one.header == column.header} - {column.means, "ignored"}
            as_what = f" but as {' and '.join(sorted(others))}" if others and not has[key] else ""
            yield f"the version in force reads {column.header!r} as {column.means}; this one does not{as_what}."
        elif column.needed and not all(one.needed for one in columns if (one.header, one.means) == key):
            yield f"the version in force needs the column {column.header!r}; in this one a file may leave it out."


def _facts(before: Layout, now: Layout) -> Iterator[str]:
    """Facts lines give, those compared first; a column may give them as well, what is stated is read from no file."""
    given = _given(now)
    of_columns: set[str] = {column.means for column in now.table.columns}
    of_columns |= {"element"} if any(column.element for column in now.table.columns) else set()
    of_columns |= {"wavelength_nm"} if any(column.wavelength_nm for column in now.table.columns) else set()
    of_columns |= {"started_date"} if of_columns & {"day", "day_time"} else set()
    of_columns |= {"started_time"} if of_columns & {"taken_at", "day_time"} else set()
    for fact, needed in sorted(_given(before).items(), key=lambda each: (each[0] not in COUNT_FACTS, each[0])):
        does = "compares" if fact in COUNT_FACTS else "reads"
        if fact not in given and fact not in of_columns:
            yield f"the version in force {does} {fact}; this one does not."
        elif needed and not given.get(fact, True) and fact not in of_columns:
            yield f"the version in force needs the line of {fact}; in this one a file may leave it out."


def _given(layout: Layout) -> dict[str, bool]:
    """Facts that lines give, each with whether the line must be there."""
    rules = [(rule.line, rule.needed) for rule in (*layout.head, *layout.section.lines)]
    always = (layout.section.begins, layout.section.ends, layout.last_line)
    rules += [(pattern, True) for pattern in (*always, *(one for page in layout.pages for one in page.heading))]
    found: dict[str, bool] = {}
    for pattern, needed in rules:
        for fact in FACTS.intersection(compiled(pattern).groups):
            found[fact] = found.get(fact, False) or needed
    return found


def _closing(before: Layout, now: Layout) -> Iterator[str]:
    """Lines that must be there, and those that may be anything."""
    pairs = (
        ("last_line", before.last_line, now.last_line),
        ("section.begins", before.section.begins, now.section.begins),
        ("section.ends", before.section.ends, now.section.ends),
    )
    for name, was, pattern in pairs:
        if _tells(was) and not _tells(pattern):
            yield f"in the version in force {name} is '{was[:_SHOWN]}'; in this one no line, or any line, is it."
    for pattern in now.drop_lines:
        if pattern not in before.drop_lines:
            drops = f"this version drops lines as '{pattern[:_SHOWN]}'"
            yield f"{drops}, the one in force does not: is no reading among them?"
    if before.pages and not now.pages:
        yield "the version in force knows the pages of a print; this one does not."
    if now.file.ends_bare and not before.file.ends_bare:
        yield "the version in force refuses a last line without its line end, as of a file cut off; this one reads it."


def _tells(pattern: str) -> bool:
    """Whether a pattern tells a line from others."""
    return bool(pattern) and not all(_fits(pattern, text) for text in _ANY_LINE)


def _table(before: Layout, now: Layout) -> Iterator[str]:
    was, table = before.table, now.table
    if was.mean_rows and not table.mean_rows:
        yield "the version in force compares rows of means; this one does not."
    if table.signals_are_readings and not was.signals_are_readings:
        yield "this version takes signals whose headers do not show it for readings of one solution."
    if table.each_row != was.each_row:
        yield f"in the version in force a row is a {_row(was.each_row)}; in this one a {_row(table.each_row)}."
    if was.header_row and not table.header_row:
        yield "the version in force compares the headers of the table; this one does not."
    if was.units_row and not table.units_row:
        yield "the version in force compares the units below the headers; this one does not."
    if _NUMBERED.index(now.reading_numbers) > _NUMBERED.index(before.reading_numbers):
        yield "in this version the counter of readings may begin again where in the one in force it runs on."


def _row(each: str) -> str:
    return each.replace("_", " ")


def _words(before: Layout, now: Layout) -> Iterator[str]:
    """Words that mean something else, or something where they were refused; none may be where a list was."""
    over = {word.text for word in now.signal_words if word.means == "over_range"}
    for text in (word.text for word in before.signal_words if word.means == "over_range" and word.text not in over):
        yield f"in the version in force {text!r} means over range; in this one it does not."
    known = {word.text for word in before.signal_words}
    for word in now.signal_words:
        if word.means == "missing" and word.text not in known:
            yield f"in this version {word.text!r} stands for a missing reading; the one in force refuses it."
    meant = {(word.fact, word.text): word.means for word in before.words}
    listed = {word.fact for word in before.words}
    for fact in sorted(listed - {word.fact for word in now.words}):
        yield f"the version in force knows the words for {fact}; this one takes it as the file writes it."
    for one in now.words:
        if one.fact in listed and meant.get((one.fact, one.text)) != one.means:
            yield f"in this version {one.text!r} means {one.means!r} for {one.fact}; in the one in force it does not."


def _behind(pattern: str, begins: int) -> str:
    """The pattern behind the group that begins there."""
    depth, at = 1, begins
    while depth and at < len(pattern):
        depth += {"(": 1, ")": -1}.get(pattern[at], 0)
        at += 2 if pattern[at] == "\\" else 1
    return pattern[at:]


def _fits(pattern: str, text: str) -> bool:
    try:
        return compiled(pattern).fullmatch(text) is not None
    except ValueError:  # the group stands inside another one
        return False
