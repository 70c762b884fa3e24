"""A file of another system to rows of the sample register, by an import profile: text as it stands, with its place.

A cell becomes what the profile says, by a map, a date form, a text for nothing; nothing is guessed. Lines around the
table and their counters are compared, so a file that was cut, or added to, does not come in.
"""

from __future__ import annotations

import csv
import json
import re
from typing import TYPE_CHECKING, Any, NamedTuple

from benchseal.documents.grid import (
    LARGEST_SHEET,
    LONGEST_CELL,
    MOST_ROWS,
    Cell,
    Row,
    cell_faults,
    cut_off,
    sign_fault,
    unfit_signs,
)
from benchseal.documents.signs import printable, tidy
from benchseal.documents.swallowed import swallowed, swallowing
from benchseal.documents.times import read_date
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.encodings import CODECS, misread

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.records.import_profile import ImportColumn, ImportProfile

_PLACE = re.compile(r"\{(row_count|sha256_of_rows|any)\}")
_ASK = "Ask the sender for the file again; have a new version of the profile approved where its form has changed."
_UNSWALLOW = (
    'Ask the sender to write each quotation mark (") within a cell twice and to quote that cell, or to leave it out; '
    "and a text that is meant so without line breaks."
)


class _Line(NamedTuple):
    """Cells of one row of the file, in the order of the profile's columns, and where it stands."""

    cells: tuple[str, ...]
    places: tuple[str, ...]
    where: str


def imported_rows(data: bytes, source: str, profile: ImportProfile) -> tuple[Row | Problem, ...]:
    """Every problem with line and cell of ``source``, then the rows of a sheet of samples, names first.

    A cell with a problem is marked as told. Rows that cannot be cut into cells are left out, and all of them where the
    columns are not those of the profile: nobody could say what stands in which.
    """
    if len(data) > LARGEST_SHEET:
        what = f"The file has {len(data)} bytes; at most {LARGEST_SHEET} are read."
        return (Problem("documents.too-large", source, what, "Split it."),)
    text = _decoded(data, source, profile)
    if isinstance(text, Problem):
        return (text,)
    if unfit := tuple(unfit_signs(text, source, _ASK)):
        return unfit
    kind = profile.file.kind
    lines = (
        _json_lines(text, source, profile)
        if kind == "json_lines"
        else _table(text, source, profile, _codec_of_bytes(data, profile))
    )
    problems = [item for item in lines if isinstance(item, Problem)]
    rows = [item for item in lines if isinstance(item, _Line)]
    if not problems and len(rows) > MOST_ROWS:
        what = f"The file has {len(rows)} rows; at most {MOST_ROWS} are read."
        problems.append(Problem("documents.too-large", source, what, "Split it."))
    if any(problem.code == "documents.too-large" for problem in problems):
        return tuple(problems)
    if problems and (
        not rows or (kind != "json_lines" and any(one.code == "import.header-differs" for one in problems))
    ):
        return tuple(problems)
    return (*problems, *_taken(rows, source, profile))


def _codec_of_bytes(data: bytes, profile: ImportProfile) -> str:
    """What makes of lines the bytes they were: UTF-16 may come with the high byte first, and its mark says so."""
    encoding = profile.file.encoding or "utf-8"
    return "utf-16-be" if encoding == "utf-16" and data.startswith(b"\xfe\xff") else CODECS[encoding]


def _decoded(data: bytes, source: str, profile: ImportProfile) -> str | Problem:
    encoding = profile.file.encoding or "utf-8"
    if encoding == "utf-16" and data[:2] not in {b"\xff\xfe", b"\xfe\xff"}:
        what = "The file does not begin with the mark of UTF-16."
        return Problem("documents.byte-undecodable", f"{source}, line 1", what, _ASK)
    codec = {"utf-8": "utf-8-sig", "utf-16": "utf-16"}.get(encoding, CODECS[encoding])
    if found := misread(data, encoding, codec):
        line = data[: found[0]].count(b"\n") + 1
        return Problem("documents.encoding-differs", f"{source}, line {line}", found[1], _ASK)
    try:
        return data.decode(codec)
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        what = f"Byte {fault.start + 1} of the file (hexadecimal {data[fault.start]:02x}) is not {encoding} text."
        return Problem("documents.byte-undecodable", f"{source}, line {line}", what, _ASK)


# A table of lines


def _table(text: str, source: str, profile: ImportProfile, codec: str) -> list[_Line | Problem]:
    """Rows between the profile's own lines; or what does not fit. codec: of the file's own bytes, without a mark."""
    if "\r" in text.replace("\r\n", ""):
        return [Problem("import.row-unfit", source, "A carriage return stands alone in the text.", _ASK)]
    lines = [f"{line}\n" for line in text.split("\n")]
    lines[-1] = lines[-1][:-1]  # behind the last line end nothing was added
    before, after = len(profile.opening_lines), len(profile.closing_lines)
    while lines and not lines[-1].strip("\r\n"):
        lines.pop()
    if len(lines) < before + after + bool(profile.file.header_line):
        what = f"The file has {len(lines)} lines; its own lines alone are {before + after}."
        return [Problem("import.lines-missing", source, what, _ASK)]
    first, last = before + bool(profile.file.header_line), len(lines) - after
    body = lines[first:last]
    rows = _cut(body, first + 1, source, profile)
    problems: list[_Line | Problem] = []
    if not after:  # a closing line tells it otherwise
        problems += cut_off(text, source)
    if profile.file.header_line:
        problems += _header_problems(lines[before], f"{source}, line {before + 1}", profile)
    of = (rows, "".join(body).encode(codec), profile)
    problems += _line_problems(profile.opening_lines, lines[:before], 1, source, of)
    problems += _line_problems(profile.closing_lines, lines[last:], last + 1, source, of)
    return [*problems, *rows]


def _line_problems(
    due: Sequence[str], found: Sequence[str], first: int, source: str, of: tuple[list[Any], bytes, ImportProfile]
) -> Iterator[Problem]:
    """Lines around the table that say another thing than the table holds, or are other lines."""
    rows, body, profile = of
    counted = {
        "row_count": str(sum(isinstance(row, _Line) for row in rows)),
        "sha256_of_rows": digest(body),
    }
    whole = all(isinstance(row, _Line) for row in rows)  # else what is counted differs because of what is told already
    for nth, (pattern, line) in enumerate(zip(due, found, strict=True), start=first):
        where, bare = f"{source}, line {nth}", line.rstrip("\r\n")
        parts = _PLACE.split(pattern)
        shape = "".join(re.escape(part) if not at % 2 else "(.*?)" for at, part in enumerate(parts))
        matched = re.fullmatch(shape, bare)
        if matched is None:
            yield _another_line(pattern, bare, where, profile, closes=due is profile.closing_lines)
            continue
        for name, text in zip(parts[1::2], matched.groups(), strict=True):
            if whole and name != "any" and _bare(name, text) != _bare(name, counted[name]):
                what = f"The line says {name} {text[:70]}; the rows of the file give {counted[name]}."
                yield Problem("import.count-differs", where, what, "The file was cut or changed: ask for it again.")


def _bare(name: str, text: str) -> str:
    """A count without the zeros before it: ``01`` and ``1`` are one count. A digest as it stands."""
    return text.lstrip("0") if name == "row_count" else text


def _another_line(pattern: str, bare: str, where: str, profile: ImportProfile, *, closes: bool) -> Problem:
    """A line that is not the one due. A row where a line below the table is due: that line is missing."""
    cells = _cells(bare, profile) if closes else None
    if cells is not None and len(cells) == sum(column.in_file for column in profile.columns) > 1:
        what = f"The closing line '{pattern}' is missing: the file ends with a row, '{bare[:60]}', and may be cut off."
        return Problem("import.line-differs", where, what, "Ask for the whole file again.")
    return Problem("import.line-differs", where, f"'{bare[:60]}' stands where '{pattern}' is due.", _ASK)


def _header_problems(line: str, where: str, profile: ImportProfile) -> Iterator[Problem]:
    columns = [column for column in profile.columns if column.in_file]
    cut = _cells(line, profile)
    due = [column.title for column in columns]
    if profile.file.kind == "fixed_width":
        due = [tidy(title[: column.width]) for title, column in zip(due, columns, strict=True)]
    if cut != due:
        found = ", ".join(cut[:20]) if cut else line.strip()[:60]
        yield Problem("import.header-differs", where, f"The file has: {found}. Due: {', '.join(due)}.", _ASK)


def _cells(line: str, profile: ImportProfile) -> list[str] | None:
    """Cells of one line; None where it cannot be cut so."""
    bare = line.rstrip("\r\n")
    if profile.file.kind == "fixed_width":
        return _by_widths(bare, [column.width for column in profile.columns if column.in_file])
    try:
        (cells,) = _reader([bare], profile)
    except (csv.Error, ValueError):
        return None
    return [tidy(cell) for cell in cells]


def _by_widths(line: str, widths: list[int]) -> list[str] | None:
    if len(line.rstrip(" ")) > sum(widths):
        return None
    cells, at = [], 0
    for width in widths:
        cells.append(tidy(line[at : at + width]))
        at += width
    return cells


def _reader(lines: list[str], profile: ImportProfile) -> Any:  # noqa: ANN401  csv has no public type of it
    if profile.file.quote == "never":
        return csv.reader(lines, delimiter=profile.file.separator, strict=True, quoting=csv.QUOTE_NONE)
    return csv.reader(lines, delimiter=profile.file.separator, strict=True)


def _cut(body: list[str], first: int, source: str, profile: ImportProfile) -> list[_Line | Problem]:
    count = sum(column.in_file for column in profile.columns)
    if profile.file.kind == "fixed_width":
        cut: list[tuple[int, list[str] | str | Problem | None]] = [
            (first + nth, _cells(line, profile)) for nth, line in enumerate(body)
        ]
    else:
        cut = _delimited(body, first, source, profile, count)
    found: list[_Line | Problem] = []
    for number, cells in cut:
        where = f"{source}, line {number}"
        if isinstance(cells, Problem):
            found.append(cells)
        elif isinstance(cells, str):
            what = f"A cell of the row has more than {csv.field_size_limit()} signs, or a quote does not close."
            found.append(Problem("documents.too-large", where, what, "Ask the sender to shorten it, or to close it."))
        elif cells is None or len(cells) != count:
            what = f"The row has {len(cells)} cells; {count} are due." if cells else "The row cannot be cut into cells."
            found.append(Problem("import.row-unfit", where, what, _ASK))
        else:
            found.append(_Line(tuple(cells), tuple(f"{where}, cell {nth}" for nth in range(1, count + 1)), where))
    return found


def _delimited(
    body: list[str], first: int, source: str, profile: ImportProfile, due: int
) -> list[tuple[int, list[str] | str | Problem | None]]:
    """Line and cells of each record, or why there are none; a quoted cell may hold line ends, but no rows."""
    reader = _reader(body, profile)
    found: list[tuple[int, list[str] | str | Problem | None]] = []
    at = first
    try:
        for cells in reader:
            end = first + reader.line_num - 1
            nth = swallowing(cells, profile.file.separator or ",", due) if end > at else None
            if nth is not None:
                found.append((at, swallowed(source, (at, end), nth + 1, due, _UNSWALLOW)))
            else:
                found.append((at, [tidy(cell) for cell in cells] if cells else None))
            at = end + 1
    except csv.Error as fault:
        found.append((at, str(fault) if "field limit" in str(fault) else None))
    return found


# Lines of JSON


def _json_lines(text: str, source: str, profile: ImportProfile) -> list[_Line | Problem]:
    columns = [column for column in profile.columns if column.in_file]
    found: list[_Line | Problem] = []
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        where = f"{source}, line {number}"
        try:
            value = json.loads(line, parse_int=str, parse_float=str, parse_constant=_no_number, object_pairs_hook=_once)
        except (ValueError, RecursionError) as fault:
            found.append(Problem("import.row-unfit", where, f"The line is no JSON object: {str(fault)[:80]}.", _ASK))
            continue
        found.append(_object(value, columns, where))
    return found


def _object(value: object, columns: list[ImportColumn], where: str) -> _Line | Problem:
    titles = [column.title for column in columns]
    if not isinstance(value, dict) or set(value) != set(titles):
        keys = ", ".join(printable(key) for key in list(value)[:20]) if isinstance(value, dict) else "no object"
        return Problem("import.header-differs", where, f"The line has: {keys}. Due: {', '.join(titles)}.", _ASK)
    texts = [value[title] for title in titles]
    odd = [title for title, text in zip(titles, texts, strict=True) if text is not None and not isinstance(text, str)]
    if odd:
        return Problem("import.row-unfit", where, f"{odd[0]} is neither text nor number.", _ASK)
    cells = tuple(tidy(text or "") for text in texts)
    return _Line(cells, tuple(f"{where}, {title}" for title in titles), where)


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is not JSON")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if len({key for key, _ in pairs}) < len(pairs):
        raise ValueError("a key stands twice")
    return dict(pairs)


# Cells of the register


def _taken(rows: list[_Line], source: str, profile: ImportProfile) -> tuple[Row | Problem, ...]:
    if not rows:
        return (Problem("documents.sheet-empty", source, "The file holds no rows.", _ASK),)
    used = [column for column in profile.columns if column.field]
    places = {id(column): nth for nth, column in enumerate(one for one in profile.columns if one.in_file)}
    problems: list[Problem] = []
    made = [Row(tuple(Cell(column.field, source) for column in used), source)]
    for row in rows:
        cells = []
        for column in used:
            nth = places.get(id(column))
            text, where = (column.fixed or "", row.where) if nth is None else (row.cells[nth], row.places[nth])
            cell = text if nth is None else _cell(text, column, f"{where} ({column.title or column.field})")
            fault = cell if isinstance(cell, Problem) else next(cell_faults((Row((Cell(cell, where),), where),)), None)
            if fault is not None:
                problems.append(fault)
            cells.append(Cell(text if isinstance(cell, Problem) else cell, where, told=fault is not None))
        made.append(Row(tuple(cells), row.where))
    return (*problems, *made)


def _cell(text: str, column: ImportColumn, where: str) -> str | Problem:
    """The text of the register; or why there is none."""
    if fault := sign_fault(text, where, _ASK):
        return fault
    if len(text) > LONGEST_CELL:
        what = f"The cell has {len(text)} signs; at most {LONGEST_CELL} are read."
        return Problem("documents.too-large", where, what, "Ask the sender to shorten it.")
    if not text and column.when_missing == "refuse":
        return Problem("import.missing", where, "The cell is empty.", "Ask the sender to fill it.")
    if not text:
        return column.missing_text
    return _mapped(text, column, where) if column.form == "text" else _day(text, column, where)


def _mapped(text: str, column: ImportColumn, where: str) -> str | Problem:
    if column.map and text not in column.map and column.when_unmapped == "refuse":
        what = f"'{text[:40]}' is not in the map."
        return Problem("import.unmapped", where, what, "Agree on it with the sender and add it to the map.")
    return column.map.get(text, text)


def _day(text: str, column: ImportColumn, where: str) -> str | Problem:
    day = read_date(text, column.date_form)
    what = f"'{text[:40]}' is no day as {column.date_form}."
    return Problem("import.date-unreadable", where, what, _ASK) if day is None else day
