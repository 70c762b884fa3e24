"""An acknowledgement file to its value: JSON by its schema, or four columns of comma separated text.

``delivery_id,state,row_no,reason``: at most one line without ``row_no`` for the delivery, and one with it for each
rejected row.
"""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from math import isinf
from typing import TYPE_CHECKING, Any, Final
from unicodedata import normalize

from benchseal.documents.judge import shape_faults
from benchseal.documents.swallowed import swallowed, swallowing
from benchseal.problems import Problem
from benchseal.records.acknowledgement import Acknowledgement
from benchseal.records.canonical import is_unicode
from benchseal.records.shape import record_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from benchseal.documents.judge import Fault

MOST_BYTES: Final = 64 * 1024 * 1024
COLUMNS: Final = ("delivery_id", "state", "row_no", "reason")
_MOST_LISTED: Final = 50
_MOST_FIGURES: Final = 20
_LONGEST_SHOWN: Final = 40
_COUNTED: Final = "Ask the receiver for it again: rows are counted from 1, without a decimal point."
_ANEW: Final = "Ask the receiver for it again, as the manual's page on exports has it."
_BLANKS: Final = " \t"
_UNSWALLOW: Final = (
    "Ask the receiver for it again, each reason in one line, quotation marks within it doubled; or for JSON."
)
_SCHEMA: Final = "acknowledgement/1"
_ROW: Final = re.compile(r"[1-9][0-9]{0,8}", re.ASCII)
_CONTROL: Final = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufeff]")


class _KeyTwiceError(ValueError):
    """A key that stands twice in one object of JSON."""


class _NoFigureError(ValueError):
    """A number too large for any reader."""


def _brief(text: str) -> str:
    """A text for a message; where it is cut, the message says so."""
    return text[:_LONGEST_SHOWN] + _cut(text)


def _quoted(text: str) -> str:
    """The same between quotes."""
    return repr(text[:_LONGEST_SHOWN]) + _cut(text)


def _cut(text: str) -> str:
    return f"... ({len(text)} signs)" if len(text) > _LONGEST_SHOWN else ""


def _whole(text: str) -> int:
    if len(text) > _MOST_FIGURES:  # the language itself gives up after some thousand
        raise _NoFigureError(text)
    return int(text)


def _finite(text: str) -> float:
    if isinf(float(text)):
        raise _NoFigureError(text)
    return float(text)


def read_acknowledgement(data: bytes, source: str) -> Acknowledgement | tuple[Problem, ...]:
    """The acknowledgement in ``data``; or every problem with its place in ``source``."""
    if len(data) > MOST_BYTES:
        what = f"it has {len(data)} bytes; at most {MOST_BYTES} are read."
        return (Problem("acknowledgement.too-large", source, what, "Ask the receiver what it is."),)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        what = f"byte {fault.start + 1} is not UTF-8."
        return (Problem("acknowledgement.unreadable", source, what, "Ask the receiver for UTF-8."),)
    value = _from_json(text, source) if text.lstrip()[:1] in {"{", "["} else _from_lines(text, source)
    if isinstance(value, tuple):
        return value
    problems = [_of_fault(fault, source) for fault in shape_faults("acknowledgement", value)[:_MOST_LISTED]]
    problems = problems or list(_unwhole(value, source))[:_MOST_LISTED]
    if problems:
        return tuple(problems)
    read = _normal(record_of(Acknowledgement, value))
    return tuple(_disagreeing(read, source)) or read


def _normal(read: Acknowledgement) -> Acknowledgement:
    """Its reasons in Unicode form NFC, as records keep text; the file itself is kept as it came."""
    rows = tuple(replace(row, reason=normalize("NFC", row.reason)) for row in read.rejected)
    return replace(read, reason=normalize("NFC", read.reason), rejected=rows)


def _from_json(text: str, source: str) -> Any:  # noqa: ANN401  JSON of any shape, or problems
    try:
        value = json.loads(
            text, parse_constant=_no_constant, parse_float=_finite, parse_int=_whole, object_pairs_hook=_once
        )
    except _NoFigureError as fault:
        what, remedy = f"{_brief(str(fault))} is no row number.", _COUNTED
        return (Problem("acknowledgement.row", source, what, remedy),)
    except _KeyTwiceError as fault:
        what = f"{_quoted(str(fault))} stands twice in one place: which of the two holds, nobody can know."
        return (Problem("acknowledgement.key-twice", source, what, "Ask the receiver which of the two holds."),)
    except (ValueError, RecursionError) as fault:
        place = (
            f"{source}, line {fault.lineno}, column {fault.colno}"
            if isinstance(fault, json.JSONDecodeError)
            else source
        )
        return (Problem("acknowledgement.unreadable", place, "it is not JSON.", "Ask the receiver for it again."),)
    if not is_unicode(value):
        what = "a text in it holds half a surrogate pair, which stands for no sign."
        return (Problem("acknowledgement.unreadable", source, what, "Ask the receiver for plain text."),)
    return value


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is not JSON")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise _KeyTwiceError(key)
        found[key] = value
    return found


def _unwhole(value: dict[str, Any], source: str) -> Iterator[Problem]:
    """Row numbers that JSON Schema takes for whole and that are written as something else: ``3.0``, ``3e0``."""
    for place, row in enumerate(value.get("rejected", ())):
        if not isinstance(row["row_no"], int):
            what = f"{_brief(str(row['row_no']))} is no row number."
            where = f"{source}, rejected.{place}.row_no"
            yield Problem("acknowledgement.row", where, what, _COUNTED)


def _from_lines(text: str, source: str) -> dict[str, Any] | tuple[Problem, ...]:
    try:
        lines, hidden = _numbered(text, source)
    except csv.Error as fault:
        if any(len(line) > csv.field_size_limit() for line in text.splitlines()):
            what = f"a line of it has more than {csv.field_size_limit()} characters."
            return (Problem("acknowledgement.too-large", source, what, "Ask the receiver what it is."),)
        return (Problem("acknowledgement.unreadable", source, f"{fault}.", "Ask the receiver for it again."),)
    if not lines or tuple(cell.strip().casefold() for cell in lines[0][1]) != COLUMNS:
        what = f"the first line is not {','.join(COLUMNS)}."
        return (Problem("acknowledgement.columns", f"{source}, line 1", what, "Ask for these columns, or JSON."),)
    problems = hidden + [problem for number, cells in lines[1:] for problem in _line_problems(number, cells, source)]
    if not lines[1:]:
        problems = [Problem("acknowledgement.columns", source, "no line follows the first.", "Ask for it again.")]
    names = list(dict.fromkeys(cells[0] for _, cells in lines[1:] if cells))
    if not problems and len(names) > 1:
        what = f"it speaks of several deliveries: {', '.join(names[:5])}."
        problems = [Problem("acknowledgement.several", source, what, "Ask for one file for each delivery.")]
    if not problems:
        problems = list(_whole_twice(lines[1:], source))
    if problems:
        return tuple(problems[:_MOST_LISTED])
    whole = [cells for _, cells in lines[1:] if not cells[2]]
    rows = [cells for _, cells in lines[1:] if cells[2]]
    return {
        "schema": _SCHEMA,
        "delivery_id": names[0],
        "state": whole[0][1] if whole else "partly",
        "reason": whole[0][3] if whole else "",
        "rejected": [{"row_no": int(cells[2]), "reason": cells[3]} for cells in rows],
    }


def _numbered(text: str, source: str) -> tuple[list[tuple[int, list[str]]], list[Problem]]:
    """Cells of each line with its number, as an editor counts; and cells that have swallowed lines."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    lines: list[tuple[int, list[str]]] = []
    hidden: list[Problem] = []
    number = 1
    for line in reader:
        if line:
            lines.append((number, [*(cell.strip(_BLANKS) for cell in line[:3]), *line[3:]]))
        nth = swallowing(line, ",", len(COLUMNS)) if reader.line_num > number else None
        if nth is not None:
            found = swallowed(source, (number, reader.line_num), nth + 1, len(COLUMNS), _UNSWALLOW)
            hidden.append(replace(found, code="acknowledgement.rows-in-cell"))
        number = reader.line_num + 1
    return lines, hidden


def _line_problems(number: int, cells: list[str], source: str) -> Iterator[Problem]:
    place = f"{source}, line {number}"
    if len(cells) != len(COLUMNS):
        what = f"{len(cells)} cells stand where {len(COLUMNS)} belong."
        yield Problem("acknowledgement.columns", place, what, "Ask the receiver for it again.")
    elif cells[2] and not _ROW.fullmatch(cells[2]):
        yield Problem("acknowledgement.row", place, f"{_quoted(cells[2])} is no row number.", _COUNTED)
    elif cells[2] and cells[1] != "rejected":
        what = f"a line with a row says rejected; this one says {_quoted(cells[1])}."
        yield Problem("acknowledgement.state", place, what, "Ask the receiver to leave out the rows that were taken.")


def _whole_twice(lines: list[tuple[int, list[str]]], source: str) -> Iterator[Problem]:
    """Two lines that speak of the whole delivery: neither is taken, also where they say the same."""
    said = [(number, cells[1]) for number, cells in lines if not cells[2]]
    if len(said) > 1:
        words = ", ".join(f"line {number} says {_quoted(state)}" for number, state in said[:5])
        what = f"{len(said)} lines speak of the delivery as a whole: {words}."
        yield Problem("acknowledgement.state", source, what, "Ask the receiver which of them holds.")


def _of_fault(fault: Fault, source: str) -> Problem:
    at = ".".join(str(part) for part in fault.path)
    return Problem(fault.code, f"{source}, {at}" if at else source, fault.what, _ANEW)  # it is nobody's here to correct


def _disagreeing(read: Acknowledgement, source: str) -> Iterator[Problem]:
    numbers = [row.row_no for row in read.rejected]
    again = (
        sorted({number for number in numbers if numbers.count(number) > 1})[:5]
        if len(set(numbers)) < len(numbers)
        else []
    )
    if again:
        what = f"row {', '.join(map(str, again))} is named more than once."
        yield Problem("acknowledgement.row", source, what, "Ask the receiver for it again.")
    if read.state == "accepted" and numbers:
        what = "it says accepted, and names rejected rows."
        yield Problem("acknowledgement.state", source, what, "Ask the receiver which of the two holds.")
    if read.state == "partly" and not numbers:
        what = "it says partly, and names no rejected row."
        yield Problem("acknowledgement.state", source, what, "Ask the receiver which rows were not taken.")
    if any(_CONTROL.search(text) for text in (read.reason, *(row.reason for row in read.rejected))):
        what = "a reason holds a control character."
        yield Problem("acknowledgement.unreadable", source, what, "Ask the receiver for plain text.")
