"""Rules of the less usual tables a layout may tell: turned, without headers, cut by blanks, of several elements."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from benchseal.documents.judge import Fault, Path
from benchseal.records.signal_headers import between_signals, count_readings_of_one, kind_of_signal

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.records.layout import Column, Layout

_ELEMENT = re.compile("[A-Z][a-z]?")
_OF_ELEMENT = {"signal", "background", "nominal", "dilution", "mean", "ignored"}
_KEPT_BYTES = {0x09, 0x0A, 0x0C, 0x0D}  # tab, line ends and page break are read, never taken out
_TABLE: Path = ("table",)


def table_faults(layout: Layout) -> Iterator[Fault]:
    """Every rule of these tables a layout breaks."""
    yield from _transposed(layout)
    yield from _headless(layout)
    yield from _blanks(layout)
    yield from _each_row(layout)
    yield from _elements(layout)
    yield from _days(layout)
    yield from _no_dilution(layout)
    kinds = list(_one_kind_of_signal(layout)) or list(_signals_alike(layout))
    yield from kinds or _signals_apart(layout)
    yield from _bytes_and_pages(layout)


def signals_of_one(columns: tuple[Column, ...]) -> int:
    """How many signal columns one element has at most."""
    elements = [column.element for column in columns if column.means == "signal"]
    return max((elements.count(element) for element in elements), default=0)


def _fault(path: Path, code: str, what: str, remedy: str) -> Fault:
    return Fault(path, f"documents.layout-{code}", what, remedy)


def _transposed(layout: Layout) -> Iterator[Fault]:
    table = layout.table
    if not table.transposed:
        return
    unfit = {
        "a row of units": table.units_row,
        "rows of means": bool(table.mean_rows),
        "a table without headers": not table.header_row,
        "columns at fixed places": not layout.file.separator,
        "a first line that may be absent": not table.columns[0].needed,
        "a line of elements": any(column.means in {"element", "wavelength_nm"} for column in table.columns),
        "carried cells": any(column.carried for column in table.columns),
        "page breaks": any(page.repeats_header for page in layout.pages),
    }
    for name in (name for name, stands in unfit.items() if stands):
        yield _fault(
            (*_TABLE, "transposed"), "table", f"A transposed table cannot have {name}.", "Correct one of them."
        )


def _headless(layout: Layout) -> Iterator[Fault]:
    table, path = layout.table, (*_TABLE, "header_row")
    if table.header_row:
        return
    if table.units_row or any(page.repeats_header for page in layout.pages):
        yield _fault(path, "table", "Units and repeated headers need a line of headers.", "Correct one of them.")
    if not all(column.needed for column in table.columns):
        what = "Without a line of headers nothing shows which column is absent."
        yield _fault(path, "table", what, "Make every column needed.")


def _blanks(layout: Layout) -> Iterator[Fault]:
    form, path = layout.file, ("file", "separator")
    if not form.separator.endswith("blanks"):
        return
    if form.quote or form.thousands_mark == " ":
        what = "Cells between blanks are not quoted, and no blank stands inside their numbers."
        yield _fault(path, "marks", what, "Correct one of them.")
    if any(column.carried for column in layout.table.columns):
        what = "Between runs of blanks no cell can be empty, so none can be carried."
        yield _fault(path, "table", what, "Give the places of the columns instead of a separator.")


def _each_row(layout: Layout) -> Iterator[Fault]:
    table, path = layout.table, (*_TABLE, "each_row")
    means = {column.means for column in table.columns}
    if table.each_row == "solution" and "replicate" in means:
        what = "A row that is a solution has no number of its reading."
        yield _fault(path, "grouping", what, "Leave each_row out, or mark that column ignored.")
    if table.each_row == "reading_of_name" and (means & {"position", "replicate"} or signals_of_one(table.columns) > 1):
        what = "Positions, numbers of readings, or readings beside each other tell the solutions; names do not."
        yield _fault(path, "grouping", what, "Leave each_row out.")


def _elements(layout: Layout) -> Iterator[Fault]:
    columns = layout.table.columns
    rows = {column.means for column in columns} & {"element", "wavelength_nm"}
    beside = any(column.element for column in columns)
    for index, column in enumerate(columns):
        path: Path = (*_TABLE, "columns", index, "element")
        if column.element and not (_ELEMENT.fullmatch(column.element) and column.means in _OF_ELEMENT):
            what = f"'{column.element}' for a column that means {column.means}."
            yield _fault(path, "table", what, f"Give a symbol, for one of {', '.join(sorted(_OF_ELEMENT))}.")
        if column.wavelength_nm and not column.element:
            yield _fault(path, "table", "A wavelength without its element.", "Give both.")
        if beside and column.means == "signal" and not column.element:
            yield _fault(path, "table", f"Whose signal stands in '{column.header}'?", "Give each signal its element.")
    lines = {(column.element, column.wavelength_nm) for column in columns if column.element and column.wavelength_nm}
    for element in sorted({element for element, _ in lines if sum(other == element for other, _ in lines) > 1}):
        what = f"Columns of {element} name different wavelengths; they would be readings of one run."
        yield _fault((*_TABLE, "columns"), "table", what, "Let one of them mean signal, and mark the other ignored.")
    if rows and beside:
        yield _fault((*_TABLE, "columns"), "table", "Elements stand in rows and beside each other.", "Use one of them.")
    if "wavelength_nm" in rows and "element" not in rows:
        yield _fault((*_TABLE, "columns"), "table", "Rows tell a wavelength and no element.", "Add that column.")
    if (rows or beside) and "reading_number" in {column.means for column in columns}:
        what = "The readings of several elements stand in one table, so their numbers cannot be followed."
        yield _fault((*_TABLE, "columns"), "table", what, "Mark the column of reading numbers ignored.")


def _days(layout: Layout) -> Iterator[Fault]:
    means, path = {column.means for column in layout.table.columns}, (*_TABLE, "columns")
    if "day_time" in means and means & {"day", "taken_at"}:
        yield _fault(path, "table", "Day and time stand in one column and in others.", "Use one of them.")
    if "day" in means and "taken_at" not in means:
        yield _fault(path, "table", "A column holds the day and none the time.", "Add it, or mark the day ignored.")


def _bytes_and_pages(layout: Layout) -> Iterator[Fault]:
    for index, code in enumerate(layout.file.printer_codes):
        if int(code[:2], 16) in _KEPT_BYTES or int(code[:2], 16) >= 0x20:
            what = f"{code} does not begin with a control sign that may be taken out."
            yield _fault(("file", "printer_codes", index), "printer-code", what, "Begin with 1b for an escape code.")
    for index, page in enumerate(layout.pages):
        if not page.heading and (not page.form_feed or page.repeats_header):
            what = "A page without a heading begins with a form feed and repeats nothing."
            yield _fault(("pages", index, "heading"), "page", what, "Give the lines that open a page.")


def _no_dilution(layout: Layout) -> Iterator[Fault]:
    """Texts for no extra dilution are no numbers, and a blank one is seen where it stands."""
    table, path = layout.table, (*_TABLE, "no_dilution")
    columns = [column for column in table.columns if column.means == "dilution"]
    if table.no_dilution and not columns:
        yield _fault(path, "table", "It is said of a column of dilutions, and there is none.", "Leave it out.")
    for nth, text in enumerate(table.no_dilution):
        if text != text.strip() or any(sign.isnumeric() for sign in text) or text in table.no_dilution[:nth]:
            what = f"'{text}' has a figure, a blank at an end, or stands twice: a factor is never read as none."
            yield _fault((*path, nth), "table", what, "Name the words alone that stand where nothing was diluted.")
    if "" in table.no_dilution and (layout.file.separator == "blanks" or any(column.carried for column in columns)):
        what = "A blank cell is not seen between blanks, and in a carried column it repeats the one above."
        yield _fault(path, "table", what, "Have the instrument write 1, or a word.")


def _one_kind_of_signal(layout: Layout) -> Iterator[Fault]:
    """Signal columns of one element are its readings, so their headers may not name different things."""
    first: dict[str, tuple[str, str]] = {}
    for index, column in enumerate(layout.table.columns):
        kind = kind_of_signal(column.header) if column.means == "signal" else ""
        if not kind:
            continue
        header, other = first.setdefault(column.element, (column.header, kind))
        if other != kind:
            what = f"'{header}' is headed as {other}, '{column.header}' as {kind}; as signals they would be readings "
            what += "of one solution."
            remedy = "Let the one the method reads mean signal, and mark the other ignored."
            yield _fault((*_TABLE, "columns", index, "means"), "signals-differ", what, remedy)


def _signals_alike(layout: Layout) -> Iterator[Fault]:
    """Signal columns of one element are headed alike but for a running mark, or the layout says that they are readings.

    A list of words that differ can never be whole: what is not seen to be the same is not taken for it.
    """
    table = layout.table
    if table.signals_are_readings:
        if signals_of_one(table.columns) < 2:
            what = "It is said of signal columns beside each other, and there are none."
            yield _fault((*_TABLE, "signals_are_readings"), "table", what, "Leave it out.")
        return
    signals = [(nth, column) for nth, column in enumerate(table.columns) if column.means == "signal"]
    for element in dict.fromkeys(column.element for _, column in signals):
        own = [(nth, column.header) for nth, column in signals if column.element == element]
        if count_readings_of_one([header for _, header in own]):
            continue
        names = ", ".join(f"'{header}'" for _, header in own[:6])
        what = f"The headers {names} do not show that these are readings of one solution: more than a number differs."
        remedy = "Let the one the method reads mean signal, and mark the others ignored; where all are readings of one "
        remedy += "kind, say so in the table: signals_are_readings: true."
        yield _fault((*_TABLE, "columns", own[1][0], "means"), "signals-differ", what, remedy)


def _signals_apart(layout: Layout) -> Iterator[Fault]:
    """Between readings of one solution stands nothing that may name another one, or the layout says that they are."""
    columns = layout.table.columns
    apart = between_signals([(column.header, column.means, column.element) for column in columns])
    for behind in dict.fromkeys(nth for nth, _ in apart if not layout.table.signals_are_readings):
        names = ", ".join(f"'{header}'" for nth, header in apart if nth == behind)
        what = f"Between this signal and the one before it stand columns that may tell of another solution: {names}."
        remedy = "Two tables side by side are not read: have the instrument write one below the other. Where all are "
        remedy += "readings of one solution, say so in the table: signals_are_readings: true."
        yield _fault((*_TABLE, "columns", behind, "means"), "signals-differ", what, remedy)
