"""Released rows and a profile to the bytes of a delimited file, or every reason why not.

Column by column: each different text of a column is formed, quoted and checked once, however often it stands there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, Inexact, Rounded
from operator import attrgetter
from typing import TYPE_CHECKING, TypeAlias, cast

from benchseal.export.cells import CODECS, CannotWrite, Fault, form_of, shown, written
from benchseal.export.profiles import PLACE, VALUES, check_profile
from benchseal.problems import Problem
from benchseal.records.canonical import digest
from benchseal.records.quantities import plain
from benchseal.records.released import DELIVERY_FIELDS, Delivery
from benchseal.records.run import DocumentRef

if TYPE_CHECKING:
    from benchseal.records.profile import Column, FileForm, Profile
    from benchseal.records.released import ReleasedRow

LINE_ENDS: Mapping[str, str] = {"crlf": "\r\n", "lf": "\n"}
_MARKS: Mapping[tuple[str, bool], bytes] = {("utf-8", True): b"\xef\xbb\xbf", ("utf-16", False): b"\xff\xfe"}

# Wide enough for the sum of any number of rows of at most 64 characters each; anything lost would be trapped.
_EXACT = Context(prec=200, traps=[Inexact, Rounded])

_Cells: TypeAlias = "list[str | Fault]"
_Worded: TypeAlias = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class PreviewCell:
    """One cell as the receiver will read it, the field it comes from (empty for fixed text), and why not, if not."""

    title: str
    field: str
    form: str
    text: str
    problem: Problem | None = None


def render(rows: Sequence[ReleasedRow], profile: Profile, delivery: Delivery) -> bytes | tuple[Problem, ...]:
    """The file. The same rows, profile and delivery always give the same bytes.

    Every problem of every cell is told, in order of columns, then rows; then there are no bytes.
    """
    if problems := check_profile(profile):
        return problems
    said = _fields_of(profile)
    columns = [_column_cells(rows, column, delivery, _in_file(column, profile), said) for column in profile.columns]
    problems = tuple(_problems(rows, profile.columns, columns))
    if problems:
        return problems
    cells = cast("list[list[str]]", columns)  # no Fault is left
    table = _encoded(_table(cells, profile.file), profile.file)
    places = _counters(rows, profile, delivery, table)
    parts = [_MARKS.get((profile.file.encoding, profile.file.bom), b"")]
    parts.append(_own_lines(profile.opening_lines, places, profile.file))
    if profile.file.header_line:
        parts.append(_header(profile))
    parts += [table, _own_lines(profile.closing_lines, places, profile.file)]
    return b"".join(parts)


def preview(
    rows: Sequence[ReleasedRow], profile: Profile, delivery: Delivery | None = None
) -> tuple[tuple[PreviewCell, ...], ...]:
    """Row by row what ``render`` would write, each cell with its field; what cannot be written stands as a problem.

    For a sound profile (``check_profile``). Without a delivery, the fields of a delivery say that there is none yet.
    """
    planned = delivery or Delivery("not-yet", 0, "1970-01-01T00:00:00.000Z", DocumentRef(profile.id, 0, ""))
    columns = [_preview_column(rows, column, profile, planned) for column in profile.columns]
    return tuple(zip(*columns, strict=True))


def sum_of(rows: Sequence[ReleasedRow], field: str) -> str:
    """Exact sum of a number field over all rows that have one, as plain decimal text."""
    total = Decimal(0)
    for row in rows:
        if text := str(getattr(row, field)):
            total = _EXACT.add(total, Decimal(text))
    return plain(total)


def _values(rows: Sequence[ReleasedRow], column: Column, delivery: Delivery) -> list[str]:
    name = column.field
    if name == "row_no":
        return [str(number) for number in range(1, len(rows) + 1)]
    if name in DELIVERY_FIELDS:
        return [_delivery_field(name, delivery)] * len(rows)
    return list(map(attrgetter(name), rows))


def _delivery_field(name: str, delivery: Delivery) -> str:
    return {
        "delivery_id": delivery.delivery_id,
        "profile_name": delivery.profile.id,
        "profile_version": str(delivery.profile.version),
        "produced_at": delivery.produced_at,
    }[name]


def _in_file(column: Column, profile: Profile) -> _Worded:
    alone = len(profile.columns) == 1
    if not column.field:
        return lambda _: written(column.fixed, profile.file, alone=alone)
    return lambda text: written(shown(text, column, profile), profile.file, alone=alone)


def _fields_of(profile: Profile) -> frozenset[str]:
    return frozenset(column.field for column in profile.columns)


def _column_cells(
    rows: Sequence[ReleasedRow], column: Column, delivery: Delivery, worded: _Worded, said: frozenset[str]
) -> _Cells:
    """Cells of one column, or the fault that stands in the place of one. said: every field the file shows."""
    if not column.field:
        return [_tried(worded, "")] * len(rows)
    values = _values(rows, column, delivery)
    cells = {text: _tried(worded, text) for text in dict.fromkeys(values)}
    if not column.unit and column.field not in VALUES:
        return [cells[text] for text in values]
    return [
        _unit_fault(row, column, text) or _unsaid_fault(row, column, text, said) or cells[text]
        for row, text in zip(rows, values, strict=True)
    ]


def _tried(worded: _Worded, text: str) -> str | Fault:
    try:
        return worded(text)
    except CannotWrite as stop:
        return stop.fault


def _unit_fault(row: ReleasedRow, column: Column, text: str) -> Fault | None:
    if not text or not column.unit or row.unit_ucum == column.unit:
        return None
    return Fault(
        "export.unit-differs",
        f"is for {column.unit}, and the result is in {row.unit_ucum}.",
        "Add a unit column, or a column for this unit.",
    )


def _unsaid_fault(row: ReleasedRow, column: Column, text: str, said: frozenset[str]) -> Fault | None:
    """A value on another basis, or of another substance, that would be read as the element's, as received."""
    if not text or column.field not in VALUES:
        return None
    if row.basis == "dry" and "basis" not in said:
        return Fault(
            "export.basis-not-shown", "is on dry basis, and no column says so.", "Add a column with field basis."
        )
    if row.expressed_as and not said & {"expressed_as", "analyte_name"}:
        return Fault(
            "export.substance-not-shown",
            f"is given as {row.expressed_as}, and no column says so.",
            "Add a column with field expressed_as.",
        )
    if row.sum_elements and not said & {"sum_elements", "analyte_name"}:
        return Fault(
            "export.sum-not-shown",
            f"is the sum of {row.sum_elements}, and no column says so.",
            "Add a column with field sum_elements.",
        )
    return None


def _problems(rows: Sequence[ReleasedRow], columns: Sequence[Column], cells: Sequence[_Cells]) -> Iterator[Problem]:
    for column, column_cells in zip(columns, cells, strict=True):
        if Fault not in map(type, column_cells):
            continue
        for number, (row, cell) in enumerate(zip(rows, column_cells, strict=True), start=1):
            if isinstance(cell, Fault):
                yield _problem(number, row, column, cell)


def _problem(number: int, row: ReleasedRow, column: Column, fault: Fault) -> Problem:
    of = row.element_symbol or row.sum_elements
    where = f"row {number} ({row.lab_sample_id} {of}, result {row.result_id}), column {column.title}"
    return Problem(fault.code, where, f"the cell {fault.what}", fault.remedy)


def _table(columns: Sequence[Sequence[str]], file: FileForm) -> str:
    end = LINE_ENDS[file.line_end]
    return "".join(file.separator.join(cells) + end for cells in zip(*columns, strict=True))


def _header(profile: Profile) -> bytes:
    titles = (written(column.title, profile.file) for column in profile.columns)
    return _encoded(profile.file.separator.join(titles) + LINE_ENDS[profile.file.line_end], profile.file)


def _counters(rows: Sequence[ReleasedRow], profile: Profile, delivery: Delivery, table: bytes) -> Callable[[str], str]:
    plain_ones = {
        "delivery_id": delivery.delivery_id,
        "produced_at": delivery.produced_at,
        "profile_name": delivery.profile.id,
        "profile_version": str(delivery.profile.version),
        "row_count": str(len(rows)),
        "sha256_of_rows": digest(table),
    }

    def counter(name: str) -> str:
        if name in plain_ones:
            return plain_ones[name]
        return sum_of(rows, name.removeprefix("sum_of:")).replace(".", profile.file.decimal_mark)

    return counter


def _own_lines(lines: Sequence[str], counter: Callable[[str], str], file: FileForm) -> bytes:
    end = LINE_ENDS[file.line_end]
    filled = (PLACE.sub(lambda place: counter(place[1]), line) for line in lines)
    return _encoded("".join(line + end for line in filled), file)


def _encoded(text: str, file: FileForm) -> bytes:
    return text.encode(CODECS[file.encoding])


def _preview_column(
    rows: Sequence[ReleasedRow], column: Column, profile: Profile, delivery: Delivery
) -> list[PreviewCell]:
    said = _fields_of(profile)
    in_file = _column_cells(rows, column, delivery, _in_file(column, profile), said)
    read = _column_cells(
        rows, column, delivery, lambda text: shown(text, column, profile) if column.field else column.fixed, said
    )
    form = form_of(column)
    return [
        PreviewCell(column.title, column.field, form, "", _problem(number, row, column, cell))
        if isinstance(cell, Fault)
        else PreviewCell(column.title, column.field, form, str(text))
        for number, (row, cell, text) in enumerate(zip(rows, in_file, read, strict=True), start=1)
    ]
