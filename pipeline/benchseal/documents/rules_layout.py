"""Rules of a reading layout beyond its schema: a layout that passes can always be read by."""

from __future__ import annotations

from typing import TYPE_CHECKING, get_args

from benchseal.documents.judge import Fault, Path
from benchseal.documents.patterns import compiled
from benchseal.documents.rules_layout_table import signals_of_one, table_faults
from benchseal.documents.times import form_fault
from benchseal.records.layout import COUNT_FACTS, RUN_FACTS, Column, Layout, Word
from benchseal.records.method import Flame, SignalForm, SignalIs, Technique
from benchseal.records.quantities import known_units
from benchseal.records.unit_sizes import size_of
from benchseal.records.unit_spellings import NOMINAL_UNIT, contradicts, unit_meant

if TYPE_CHECKING:
    from collections.abc import Iterator

_ALWAYS = ("element", "wavelength_nm", "technique", "instrument_serial", "signal_is", "signal_unit", "started_date",
           "started_time")  # fmt: skip
_TERMS = {
    "technique": get_args(Technique),
    "signal_is": get_args(SignalIs),
    "flame": get_args(Flame),  # with the empty word: a file may say that there is no flame
    "signal_form": get_args(SignalForm),
}
_MANY = {"signal", "ignored"}
_OF_ONE_READING = {"replicate", "background", "reading_number"}
_OF_TIME = {"taken_at", "day", "day_time"}
_TOLD_APART = 3  # places from one column's end to the next one's start, so that two blanks lie between
_OPEN = "?"  # what a draft writes where somebody has yet to say it


def layout_faults(layout: Layout) -> Iterator[Fault]:
    """Every rule a layout breaks."""
    yield from _patterns(layout)
    yield from _marks(layout)
    yield from _facts(layout)
    yield from _page_numbers(layout)
    yield from _words(layout)
    yield from _columns(layout)
    yield from _places(layout)
    yield from _grouping(layout)
    yield from _kinds(layout)
    yield from table_faults(layout)


def _fault(path: Path, code: str, what: str, remedy: str) -> Fault:
    return Fault(path, f"documents.layout-{code}", what, remedy)


def _all_patterns(layout: Layout) -> Iterator[tuple[Path, str]]:
    yield from ((("recognised_by", index), pattern) for index, pattern in enumerate(layout.recognised_by))
    yield from ((("head", index, "line"), rule.line) for index, rule in enumerate(layout.head))
    yield (("section", "begins"), layout.section.begins)
    yield (("section", "ends"), layout.section.ends)
    yield from ((("section", "lines", index, "line"), rule.line) for index, rule in enumerate(layout.section.lines))
    yield (("last_line",), layout.last_line)
    yield from ((("drop_lines", index), pattern) for index, pattern in enumerate(layout.drop_lines))
    for page, form in enumerate(layout.pages):
        yield from ((("pages", page, "heading", index), pattern) for index, pattern in enumerate(form.heading))
    for index, rule in enumerate(layout.kinds):
        yield (("kinds", index, "code"), rule.code)
        yield (("kinds", index, "label"), rule.label)


def _patterns(layout: Layout) -> Iterator[Fault]:
    for path, pattern in _all_patterns(layout):
        try:
            groups = set(compiled(pattern).groups)
        except ValueError as fault:
            what = f"The pattern '{pattern[:40]}' is none: {fault}."
            yield _fault(path, "pattern", what, "Patterns are those of google-re2: no look-around, no back references.")
            continue
        for name in sorted(groups - RUN_FACTS - COUNT_FACTS):
            what = f"The group '{name}' is not a fact; known: {', '.join(sorted(RUN_FACTS | COUNT_FACTS))}."
            yield _fault(path, "fact-unknown", what, "Name the group by what the text means.")


def _page_numbers(layout: Layout) -> Iterator[Fault]:
    """Numbers of pages are compared only as pages are counted: by a number in the heading of each."""
    counted = "page" in _groups(pattern for page in layout.pages for pattern in page.heading)
    for path, pattern in _all_patterns(layout):
        groups = _groups(iter([pattern]))
        if "page" in groups and path[0] != "pages":
            what = "A number of a page is compared in the heading of the page only; here it would say nothing."
            yield _fault(path, "page", what, "Move it to pages.heading, or leave the group out.")
        if "pages" in groups and not counted:
            what = "How many pages there are is compared only where each heading gives the number of its page."
            yield _fault(path, "page", what, "Give a group named page in pages.heading, or leave this one out.")


def _groups(patterns: Iterator[str]) -> set[str]:
    found: set[str] = set()
    for pattern in patterns:
        try:
            found |= set(compiled(pattern).groups)
        except ValueError:  # _patterns says so
            continue
    return found


def _marks(layout: Layout) -> Iterator[Fault]:
    form = layout.file
    if form.separator and form.separator in {form.decimal_mark, form.thousands_mark}:
        what = f"'{form.separator}' separates cells and stands inside numbers."
        yield _fault(("file", "separator"), "marks", what, "Correct one of them.")
    if form.decimal_mark == form.thousands_mark:
        yield _fault(
            ("file", "thousands_mark"), "marks", "Decimal and thousands mark are the same.", "Correct one of them."
        )
    if form.quote and not form.separator:
        what = "Cells at fixed places are not quoted."
        yield _fault(("file", "quote"), "marks", what, "Remove quote, or give a separator.")
    for name, of in (("date_form", "date"), ("time_form", "time")):
        reason = form_fault(getattr(form, name), of)
        if reason:
            yield _fault(("file", name), "time-form", f"{reason}.", "Write it as YYYY-MM-DD or HH:mm:ss.")


def _other_way(name: str) -> str:
    """What else gives a fact. When a run began differs from file to file: it can never be stated."""
    if name == "started_date":
        return "a column that means day, or day_time"
    return "a column that means taken_at, or day_time" if name == "started_time" else "state it"


def _facts(layout: Layout) -> Iterator[Fault]:
    pages = (pattern for page in layout.pages for pattern in page.heading)
    head = _groups(rule.line for rule in layout.head if rule.needed) | _groups(pages)
    section = _groups(rule.line for rule in layout.section.lines if rule.needed) | _groups(
        iter([layout.section.begins])
    )
    stated, of_columns = {fact.fact for fact in layout.stated}, _facts_of_columns(layout)
    for name in _ALWAYS:
        if name not in head | section | stated | of_columns:
            what = f"Neither a needed line of the file nor 'stated' gives {name}."
            yield _fault(
                ("head",), "fact-missing", what, f"Add a line with a group named {name}, or {_other_way(name)}."
            )
    for index, fact in enumerate(layout.stated):
        path: Path = ("stated", index)
        if fact.fact in head | section | of_columns or fact.fact in [other.fact for other in layout.stated[:index]]:
            yield _fault(path, "fact-twice", f"{fact.fact} is stated and also given elsewhere.", "Remove one.")
        if fact.fact.startswith("started_"):
            yield _fault(
                path, "fact-stated", f"{fact.fact} cannot be the same in every file.", "Read it from the file."
            )
        if fact.value == _OPEN:
            yield _fault((*path, "value"), "open", f"Nobody has said yet what {fact.fact} is.", "Put it in place of ?.")
        else:
            yield from _term(fact.fact, fact.value, (*path, "value"))
        if fact.because == _OPEN:
            what = f"Nobody has said yet who says what {fact.fact} is, and how it is known."
            yield _fault((*path, "because"), "open", what, "Put it in place of ?.")


def _facts_of_columns(layout: Layout) -> set[str]:
    """Facts of the run that needed columns give: element and wavelength, and the start by its first reading."""
    means = {column.means for column in layout.table.columns if column.needed}
    found: set[str] = set(means & {"element", "wavelength_nm"})
    beside = [column for column in layout.table.columns if column.element]
    if beside:
        found.add("element")
    if beside and all(column.wavelength_nm for column in beside):
        found.add("wavelength_nm")
    if "day_time" in means:
        found |= {"started_date", "started_time"}
    if "day" in means:
        found.add("started_date")
    return found | ({"started_time"} if "taken_at" in means else set())


def _words(layout: Layout) -> Iterator[Fault]:
    for index, word in enumerate(layout.words):
        if (word.fact, word.text) in [(other.fact, other.text) for other in layout.words[:index]]:
            what = f"'{word.text}' for {word.fact} stands twice."
            yield _fault(("words", index), "word-twice", what, "Remove one.")
        if word.fact not in {*RUN_FACTS, *COUNT_FACTS, NOMINAL_UNIT}:
            what = f"'{word.fact}' is not a fact; known: {', '.join(sorted(RUN_FACTS))}, {NOMINAL_UNIT}."
            yield _fault(("words", index, "fact"), "fact-unknown", what, "Name the fact the word is of.")
        elif word.fact in {"signal_unit", NOMINAL_UNIT}:
            yield from _unit_word(word, ("words", index, "means"))
        yield from _term(word.fact, word.means, ("words", index, "means"))
    texts = [word.text for word in layout.signal_words]
    for index, text in enumerate(texts):
        if text in texts[:index]:
            yield _fault(("signal_words", index), "word-twice", f"'{text}' stands twice.", "Remove one.")


def _unit_word(word: Word, path: Path) -> Iterator[Fault]:
    """A unit known here is no other one, whatever a layout says; only words of the house may mean any unit."""
    if contradicts(word.text, word.means):
        what = f"'{word.text}' is a unit of another size or kind than {word.means}: figures in it would say another."
        yield _fault(path, "word-unit", what, "Set the instrument to the unit the method reads in.")
    elif word.fact == NOMINAL_UNIT and size_of(unit_meant(word.means)) is None and word.means not in known_units():
        what = f"'{word.means}' is no unit known here."
        yield _fault(path, "term-unknown", what, f"Use one of {', '.join(known_units()[:9])}.")


def _term(fact: str, value: str, path: Path) -> Iterator[Fault]:
    terms = _TERMS.get(fact)
    if terms is not None and value not in terms:
        what = f"'{value}' is no {fact}; known: {', '.join(filter(None, terms))}."
        yield _fault(path, "term-unknown", what, "Use one of them.")


def _columns(layout: Layout) -> Iterator[Fault]:
    columns = layout.table.columns
    for index, column in enumerate(columns):
        path: Path = ("table", "columns", index)
        twins = [other for other in columns[:index] if other.element == column.element]
        if column.means not in _MANY and column.means in {other.means for other in twins}:
            yield _fault(
                (*path, "means"), "column-twice", f"Two columns mean {column.means}.", "Only signals may repeat."
            )
        alike = [other for other in columns[:index] if other.header == column.header]
        if alike and not all(other.needed and other.means in _MANY for other in (column, *alike)):
            what = f"Two columns are headed '{column.header}'."
            yield _fault(
                (*path, "header"),
                "column-twice",
                what,
                "Only signals and ignored columns that are needed may share one.",
            )
        if column.unit and not layout.table.units_row:
            what = f"Column '{column.header}' has a unit, but there is no row of units."
            yield _fault((*path, "unit"), "units", what, "Remove the unit, or set units_row.")
    for name in ("label", "signal"):
        if not any(column.means == name and column.needed for column in columns):
            yield _fault(("table", "columns"), "column-missing", f"No needed column means {name}.", "Add it.")


def _places(layout: Layout) -> Iterator[Fault]:
    before = 0
    for index, column in enumerate(layout.table.columns):
        path: Path = ("table", "columns", index, "starts")
        if layout.file.separator:
            if column.starts or column.ends:
                yield _fault(path, "places", "The file has a separator and fixed places.", "Use one of them.")
        elif not before < column.starts <= column.ends:
            what = (
                f"Column '{column.header}' stands at {column.starts} to {column.ends}; the one before ends at {before}."
            )
            yield _fault(path, "places", what, "Columns stand beside each other, counted from 1.")
        elif layout.file.thousands_mark == " " and index and column.starts - before < _TOLD_APART:
            what = f"Column '{column.header}' begins {column.starts - before - 1} blanks behind the one before, and a "
            what += "number may hold a blank: one lying across both would be two numbers."
            yield _fault(path, "places", what, "Leave two blanks between, or declare no blank as thousands_mark.")
        before = column.ends


def _grouping(layout: Layout) -> Iterator[Fault]:
    columns = layout.table.columns
    means = {column.means for column in columns}
    wide = signals_of_one(columns) > 1
    if wide and means & _OF_ONE_READING:
        what = f"Readings stand beside each other, so {', '.join(sorted(_OF_ONE_READING))} cannot be columns."
        yield _fault(("table", "columns"), "grouping", what, "Mark them ignored, or give one signal column.")
    if not wide and not means & {"position", "replicate"} and layout.table.each_row == "reading":
        what = "Nothing tells where one solution ends: there is no position and no replicate column."
        yield _fault(("table", "columns"), "grouping", what, "Add one of them, or say what each_row is.")
    if any(column.carried and column.means in {"signal", *_OF_ONE_READING, *_OF_TIME} for column in columns):
        what = "Only what names a solution may be carried from the row above."
        yield _fault(("table", "columns"), "grouping", what, "Remove carried from the others.")
    if layout.reading_numbers != "running" and "reading_number" not in means:
        what = f"reading_numbers is {layout.reading_numbers}, and no column means reading_number."
        yield _fault(("reading_numbers",), "reading-numbers", what, "Remove it, or say which column holds the numbers.")
    headers = {column.header: column for column in columns}
    for index, row in enumerate(layout.table.mean_rows):
        yield from _mean_row(headers.get(row.header), index, wide=wide)


def _mean_row(column: Column | None, index: int, *, wide: bool) -> Iterator[Fault]:
    path: Path = ("table", "mean_rows", index, "header")
    if column is None:
        yield _fault(path, "mean-row", "No column has this header.", "Name the column that tells rows of means.")
    elif wide or not column.needed:
        yield _fault(
            path, "mean-row", "A row of means needs one signal column, and a needed column that tells.", "Correct it."
        )


def _kinds(layout: Layout) -> Iterator[Fault]:
    has_code = any(column.means == "kind" and column.needed for column in layout.table.columns)
    for index, rule in enumerate(layout.kinds):
        path: Path = ("kinds", index)
        if not rule.code and not rule.label:
            yield _fault(path, "kind", "A kind must ask for a code or a label.", "Give one of them.")
        if rule.code and not has_code:
            yield _fault(
                (*path, "code"), "kind", "No needed column means kind, so there is no code.", "Ask for the label."
            )
