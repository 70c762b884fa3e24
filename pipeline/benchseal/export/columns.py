"""The columns of an export file: each different text of a column is formed and checked once, wherever it stands.

What a cell becomes in a file of one kind is a function from the text of its field (``Worded``); each kind has its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, Inexact, Rounded
from itertools import chain
from operator import attrgetter
from typing import TYPE_CHECKING, TypeAlias, cast

from benchseal.export.cells import CannotWrite, Fault, form_of, shown
from benchseal.export.distinctions import says_of
from benchseal.export.plain_columns import all_plain
from benchseal.export.record_words import VALUES
from benchseal.problems import Problem
from benchseal.records.quantities import plain
from benchseal.records.released import DELIVERY_FIELDS, Delivery

if TYPE_CHECKING:
    from benchseal.export.arranged import Arranged
    from benchseal.records.profile import Column, Profile
    from benchseal.records.released import ReleasedRow

# Wide enough for the sum of any number of rows of at most 64 characters each; anything lost would be trapped.
_EXACT = Context(prec=200, traps=[Inexact, Rounded])

_DIFFERS = Fault(
    "export.differs-in-row",
    "is not the same for all results of its row.",
    "Say of which element the column is (of), or take one row for each result.",
)

Cells: TypeAlias = "list[str | Fault]"
Worded: TypeAlias = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class Way:
    """How a kind of file writes cells: ``worded`` each; ``as_is`` whether a plain one stands as its field has it."""

    worded: Callable[[Column], Worded]
    as_is: Callable[[Column], bool]


@dataclass(frozen=True, slots=True)
class PreviewCell:
    """One cell as the receiver will read it, the field it comes from (empty for fixed text), and why not, if not."""

    title: str
    field: str
    form: str
    text: str
    problem: Problem | None = None


def columns_of(rows: Arranged, profile: Profile, delivery: Delivery, way: Way) -> list[list[str]] | tuple[Problem, ...]:
    """Column by column every cell of the file; or every problem, by columns, then rows."""
    columns = [_column_cells(rows, column, profile, delivery, way) for column in profile.columns]
    problems = tuple(_problems(rows, profile.columns, columns))
    return problems or cast("list[list[str]]", columns)  # no Fault is left


def preview_columns(
    rows: Arranged, profile: Profile, delivery: Delivery, way: Way
) -> tuple[tuple[PreviewCell, ...], ...]:
    """Row by row each cell as the receiver reads it; what cannot be written stands as a problem."""
    columns = [_preview_column(rows, column, profile, delivery, way) for column in profile.columns]
    return tuple(zip(*columns, strict=True))


def sum_of(rows: Arranged, field: str, profile: Profile) -> str:
    """Exact sum of a number field over all rows that have one, as plain decimal text.

    Where results stand together: over all columns that show it.
    """
    shown_in = [rows.of(column) for column in profile.columns if column.field == field]
    summed = chain.from_iterable(shown_in) if profile.one_row_per != "result" else rows.rows
    total = Decimal(0)
    for row in summed:
        if text := str(getattr(row, field)):
            total = _EXACT.add(total, Decimal(text))
    return plain(total)


def _values(rows: Sequence[ReleasedRow], column: Column, delivery: Delivery) -> list[str]:
    name = column.field
    if name == "row_no":
        return [str(number) for number in range(1, len(rows) + 1)]
    if name in DELIVERY_FIELDS:
        return [delivery_field(name, delivery)] * len(rows)
    return list(map(attrgetter(name), rows))


def delivery_field(name: str, delivery: Delivery) -> str:
    """What a delivery says of itself in every row. name: one of ``DELIVERY_FIELDS`` but ``row_no``."""
    return {
        "delivery_id": delivery.delivery_id,
        "profile_name": delivery.profile.id,
        "profile_version": str(delivery.profile.version),
        "produced_at": delivery.produced_at,
    }[name]


def _beside(column: Column, profile: Profile) -> tuple[Column, ...]:
    """Every column of what ``column`` is of, its element or the row as a whole, that may say what a value is."""
    said = {"basis", "expressed_as", "analyte_name", "sum_elements"}
    return tuple(one for one in profile.columns if one.of in {"", column.of} and one.field in said)


def _column_cells(arranged: Arranged, column: Column, profile: Profile, delivery: Delivery, way: Way) -> Cells:
    """Cells of one column, or the fault that stands in the place of one."""
    worded, rows = way.worded(column), arranged.of(column)
    if not column.field:
        return [_tried(worded, "")] * len(rows)
    cells = _cells_of(rows, column, profile, delivery, (worded, way.as_is(column)))
    if column.of or not any(column.field in differs for differs in arranged.differs):
        return cells
    return [
        _DIFFERS if column.field in differs else cell for differs, cell in zip(arranged.differs, cells, strict=True)
    ]


def _cells_of(
    rows: Sequence[ReleasedRow], column: Column, profile: Profile, delivery: Delivery, way: tuple[Worded, bool]
) -> Cells:
    """way: what a cell becomes, and whether a plain one stands as its field has it."""
    worded, as_is = way
    values = _values(rows, column, delivery)
    if as_is and all_plain(values, column):
        cells: Cells = list(values)
    else:
        made = {text: _tried(worded, text) for text in dict.fromkeys(values)}
        cells = [made[text] for text in values]
    if not may_mislead(rows, column):
        return cells
    said = _beside(column, profile)
    return [
        _unit_fault(row, column, text) or _unsaid_fault(row, column, text, said) or cell
        for row, text, cell in zip(rows, values, cells, strict=True)
    ]


def may_mislead(rows: Sequence[ReleasedRow], column: Column) -> bool:
    """Whether some value of a column could be read as what it is not: then each row is looked at."""
    if column.unit and {row.unit_ucum for row in rows} != {column.unit}:
        return True
    if column.field not in VALUES:
        return False
    bases, substances, sums = (map(attrgetter(name), rows) for name in ("basis", "expressed_as", "sum_elements"))
    return "dry" in bases or any(substances) or any(sums)


def _tried(worded: Worded, text: str) -> str | Fault:
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


def _unsaid_fault(row: ReleasedRow, column: Column, text: str, said: tuple[Column, ...]) -> Fault | None:
    """A value on another basis, or of another substance, that would be read as the element's, as received."""
    if not text or column.field not in VALUES:
        return None
    if row.basis == "dry" and not _is_said(row, said, "basis"):
        return Fault(
            "export.basis-not-shown", "is on dry basis, and no column says so.", "Add a column with field basis."
        )
    if row.expressed_as and not _is_said(row, said, "expressed_as", "analyte_name"):
        return Fault(
            "export.substance-not-shown",
            f"is given as {row.expressed_as}, and no column says so.",
            "Add a column with field expressed_as.",
        )
    if row.sum_elements and not _is_said(row, said, "sum_elements", "analyte_name"):
        return Fault(
            "export.sum-not-shown",
            f"is the sum of {row.sum_elements}, and no column says so.",
            "Add a column with field sum_elements.",
        )
    return None


def _is_said(row: ReleasedRow, said: tuple[Column, ...], *fields: str) -> bool:
    return any(says_of(column, field, row) for column in said for field in fields)


def _problems(rows: Arranged, columns: Sequence[Column], cells: Sequence[Cells]) -> Iterator[Problem]:
    for column, column_cells in zip(columns, cells, strict=True):
        if Fault not in map(type, column_cells):
            continue
        for number, (row, cell) in enumerate(zip(rows.of(column), column_cells, strict=True), start=1):
            if isinstance(cell, Fault):
                yield _problem(number, row, column, cell)


def _problem(number: int, row: ReleasedRow, column: Column, fault: Fault) -> Problem:
    of = row.element_symbol or row.sum_elements
    about = f" ({row.lab_sample_id} {of}, result {row.result_id})" if row.result_id else ""
    where = f"row {number}{about}, column {column.title}"
    return Problem(fault.code, where, f"the cell {fault.what}", fault.remedy)


def _preview_column(
    rows: Arranged, column: Column, profile: Profile, delivery: Delivery, way: Way
) -> list[PreviewCell]:
    in_file = _column_cells(rows, column, profile, delivery, way)
    as_read = Way(lambda one: lambda text: shown(text, one, profile) if one.field else one.fixed, lambda _: False)
    read = _column_cells(rows, column, profile, delivery, as_read)
    form, name = form_of(column), f"{column.field} of {column.of}" if column.of else column.field
    return [
        PreviewCell(column.title, name, form, "", _problem(number, row, column, cell))
        if isinstance(cell, Fault)
        else PreviewCell(column.title, name, form, str(text))
        for number, (row, cell, text) in enumerate(zip(rows.of(column), in_file, read, strict=True), start=1)
    ]
