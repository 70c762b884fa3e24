"""Sheets to records: samples, preparation, standard lots, instruments, customers."""

from __future__ import annotations

from collections import Counter
from dataclasses import MISSING, dataclass, fields, replace
from functools import partial
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from benchseal.documents.grid import Cell, Row, columns_unknown, read_grid
from benchseal.documents.imported import imported_rows
from benchseal.documents.judge import schema_of, shape_faults
from benchseal.documents.rules_plan_sheet import glassware_faults, plan_row_faults
from benchseal.documents.rules_sheets import (
    customer_faults,
    instrument_faults,
    portion_faults,
    sample_faults,
    standard_lot_faults,
)
from benchseal.documents.typed_cell import typed_faults
from benchseal.problems import Problem
from benchseal.records.method import Glassware
from benchseal.records.plan import PlanRow
from benchseal.records.preparation import Portion
from benchseal.records.registers import Customer, Instrument, SampleRow, StandardLot
from benchseal.records.shape import record_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from benchseal.documents.row_fault import RowFault
    from benchseal.documents.typed_cell import Due
    from benchseal.records.import_profile import ImportProfile

R = TypeVar("R")
MOST_LISTED = 50
# Columns in people's own words; in all others two texts that look alike must be one.
_FREE_TEXT = {
    "name", "address", "contact", "maker", "description", "condition", "quantity_received", "grade", "manufacturer",
    "first_certificate", "sampling_plan", "reagent_lots", "not_determined",
}  # fmt: skip


# What helps where nobody here typed the cell: another system wrote it.
_ASK_SENDER = {
    "documents.blank-odd": "Ask the sender for one plain blank there, or none.",
    "documents.cell-damaged": (
        "Ask the sender what stands there in their system, and for the file as that system writes it, not saved by a "
        "spreadsheet."
    ),
    "documents.cell-not-text": "Ask the sender for the value itself there.",
}


@dataclass(frozen=True, slots=True)
class _Sheet(Generic[R]):
    """One kind of sheet. cells: column to what turns its text into a value; others stay text.

    fill: what a row gets from beside the sheet, before the rules judge it.
    """

    record: type[R]
    schema: str
    rules: Callable[[tuple[R, ...]], Iterator[RowFault]]
    cells: dict[str, Callable[[str], Any]]
    fill: Callable[[R], R] = lambda row: row


class _Unreadable(ValueError):  # noqa: N818  it becomes a problem, not an error
    """A cell that is not written as its column wants."""


def read_samples(data: bytes, source: str) -> tuple[SampleRow, ...] | tuple[Problem, ...]:
    """Sample register lines, columns as ``SampleRow``; or every problem with line and cell."""
    return _read(_Sheet(SampleRow, "sample-row", sample_faults, {}), data, source)


def read_imported_samples(
    data: bytes, source: str, profile: ImportProfile
) -> tuple[tuple[SampleRow, ...], tuple[str, ...]] | tuple[Problem, ...]:
    """Sample register lines of another system's file, and where each stands in it; or every problem."""
    sheet = _Sheet(SampleRow, "sample-row", sample_faults, {})
    grid = imported_rows(data, source, profile)
    problems = tuple(item for item in grid if isinstance(item, Problem))
    header, *rows = [item for item in grid if isinstance(item, Row)] or [Row((), source)]
    records = _records(sheet, [cell.text for cell in header.cells], tuple(rows), source) if rows else ()
    problems += tuple(item for item in records if isinstance(item, Problem))
    if problems:
        asked = (replace(each, remedy=_ASK_SENDER.get(each.code, each.remedy)) for each in problems)
        return tuple(asked)[:MOST_LISTED]
    return tuple(item for item in records if isinstance(item, SampleRow)), tuple(row.where for row in rows)


def read_preparation(
    data: bytes, source: str, masses: Mapping[str, str] | None = None
) -> tuple[Portion, ...] | tuple[Problem, ...]:
    """Preparation rows, columns as ``Portion``; or every problem. masses: label to grams, for rows without a mass.

    elements: ``Pb Cd``. dilutions: ``Zn 5/100; Mg 10/100 4/100`` (aliquot/final mL). added_ug, expected_ug_per_g
    and its u: ``Pb 2.5; Cd 1.2``. additions: ``Pb W-1=0 W-1a=5 W-1b=10 W-1c=15`` (tube=concentration added).
    """
    cells: dict[str, Callable[[str], Any]] = {
        "elements": str.split,
        "dilutions": _dilutions,
        "added_ug": _amounts,
        "expected_ug_per_g": _amounts,
        "u_expected_ug_per_g": _amounts,
        "additions": _additions,
    }

    def weighed(row: Portion) -> Portion:
        return row if row.mass_g else replace(row, mass_g=(masses or {}).get(row.portion, ""))

    return _read(_Sheet(Portion, "preparation-row", portion_faults, cells, weighed), data, source)


def read_standard_lots(data: bytes, source: str) -> tuple[StandardLot, ...] | tuple[Problem, ...]:
    """Lots of standards, columns as ``StandardLot``; or every problem."""
    return _read(_Sheet(StandardLot, "standard-lot-row", standard_lot_faults, {}), data, source)


def read_instruments(data: bytes, source: str) -> tuple[Instrument, ...] | tuple[Problem, ...]:
    """Instruments, columns as ``Instrument``; or every problem."""
    return _read(_Sheet(Instrument, "instrument-row", instrument_faults, {}), data, source)


def read_customers(data: bytes, source: str) -> tuple[Customer, ...] | tuple[Problem, ...]:
    """Customers, columns as ``Customer``; or every problem."""
    return _read(_Sheet(Customer, "customer-row", customer_faults, {}), data, source)


def read_plan_rows(data: bytes, source: str) -> tuple[PlanRow, ...] | tuple[Problem, ...]:
    """Samples a run plan is made for, columns as ``PlanRow``, cells as on a preparation sheet; or every problem."""
    cells: dict[str, Callable[[str], Any]] = {
        "kind": lambda text: text or "sample",
        "methods": str.split,
        "dilutions": _dilutions,
        "added_ug": _amounts,
        "expected_ug_per_g": _amounts,
        "u_expected_ug_per_g": _amounts,
    }
    return _read(_Sheet(PlanRow, "plan-row", plan_row_faults, cells), data, source)


def read_glassware(data: bytes, source: str) -> tuple[Glassware, ...] | tuple[Problem, ...]:
    """Pipettes and flasks at hand, columns as ``Glassware``; or every problem."""
    return _read(_Sheet(Glassware, "glassware-row", glassware_faults, {}), data, source)


def row_places(register: str, data: bytes, source: str) -> tuple[str, ...]:
    """Where each row of a sheet stands, in the order its records are read; register: as in ``_RECORDS``."""
    grid = read_grid(data, source, frozenset(field.name for field in fields(_RECORDS[register])))
    return tuple(row.where for row in grid if isinstance(row, Row))[1:]


_RECORDS: dict[str, type] = {
    "sample": SampleRow, "preparation": Portion, "standard": StandardLot, "instrument": Instrument,
    "customer": Customer, "plan": PlanRow,
}  # fmt: skip


def _read(sheet: _Sheet[R], data: bytes, source: str) -> tuple[R, ...] | tuple[Problem, ...]:
    names = [field.name for field in fields(sheet.record)]  # type: ignore[arg-type]  # every record is a dataclass
    grid = read_grid(data, source, frozenset(names))
    problems = tuple(item for item in grid if isinstance(item, Problem))
    rows = tuple(item for item in grid if isinstance(item, Row))
    if problems and not rows:
        return problems[:MOST_LISTED]
    unknown = tuple(_header_problems(sheet, names, rows[:1], source))
    if unknown:
        return (*problems, *unknown)[:MOST_LISTED]
    header = [cell.text for cell in rows[0].cells]
    records = _records(sheet, header, rows[1:], source)
    problems += tuple(item for item in records if isinstance(item, Problem))
    return problems[:MOST_LISTED] if problems else records


def _header_problems(sheet: _Sheet[R], names: list[str], first: tuple[Row, ...], source: str) -> Iterator[Problem]:
    if not first:
        yield Problem("documents.sheet-empty", source, "The sheet has no first line.", "Begin it with column names.")
        return
    header = [cell.text for cell in first[0].cells]
    yield from columns_unknown(first[0], names)
    for name, times in Counter(header).items():
        if times > 1 and name in names:
            what = f"Column '{name}' stands {times} times."
            yield Problem("documents.column-twice", first[0].where, what, "Keep one of them.")
    needed = [field.name for field in fields(sheet.record)  # type: ignore[arg-type]  # every record is a dataclass
              if field.default is MISSING and field.default_factory is MISSING]  # fmt: skip
    lacking = [name for name in needed if name not in header]
    if lacking:
        what = f"Columns are missing: {', '.join(lacking)}."
        yield Problem("documents.column-missing", first[0].where, what, "Add them; a cell may stay empty.")


def _records(
    sheet: _Sheet[R], header: list[str], rows: tuple[Row, ...], source: str
) -> tuple[R, ...] | tuple[Problem, ...]:
    if not rows:
        return (Problem("documents.sheet-empty", source, "The sheet holds column names only.", "Add rows."),)
    problems: list[Problem] = []
    records: list[R] = []
    good: list[Row] = []
    for row in rows:
        found = len(problems)
        value = _value(sheet, header, row, problems)
        if len(problems) == found and not any(cell.told for cell in row.cells):
            records.append(sheet.fill(record_of(sheet.record, value)))
            good.append(row)
    problems.extend(_rule_problems(sheet, header, tuple(records), good, _texts_of_others(rows, good)))
    return tuple(problems[:MOST_LISTED]) if problems else tuple(records)


def _texts_of_others(rows: tuple[Row, ...], good: list[Row]) -> frozenset[str]:
    """What stands in the rows that could not be read: a rule must not miss there what may well be there."""
    read = {row.where for row in good}
    return frozenset(cell.text for row in rows if row.where not in read for cell in row.cells if cell.text)


def _rule_problems(
    sheet: _Sheet[R], header: list[str], records: tuple[R, ...], rows: list[Row], others: frozenset[str]
) -> Iterator[Problem]:
    """The rules on every row whose cells are fine, also where other rows are not."""
    for fault in sheet.rules(records):
        if fault.column == "spike_of" and getattr(records[fault.row], "spike_of", "") in others:
            continue
        row = rows[fault.row]
        cell = dict(zip(header, row.cells, strict=False)).get(fault.column)
        where = f"{cell.where if cell else row.where} ({fault.column})"
        what = fault.what
        if fault.first is not None:
            what = f"{what.removesuffix('.')}; first in {rows[fault.first].where.rpartition(', ')[2]}."
        yield Problem(f"documents.{fault.code}", where, what, fault.remedy)


def _value(sheet: _Sheet[R], header: list[str], row: Row, problems: list[Problem]) -> dict[str, Any]:
    if len(row.cells) != len(header):
        what = f"The row has {len(row.cells)} cells, the first line {len(header)}."
        remedy = 'Write numbers with a point; put text that holds the separator between quotes (").'
        problems.append(Problem("documents.row-unfit", row.where, what, remedy))
        return {}
    schema = schema_of(sheet.schema)
    value: dict[str, Any] = {}
    for name, cell in zip(header, row.cells, strict=False):
        if cell.told:
            continue
        refused = tuple(typed_faults(cell, f"{cell.where} ({name})", _column_takes(sheet, name, schema)))
        problems.extend(refused)
        if refused:
            continue
        try:
            value[name] = sheet.cells.get(name, str)(cell.text)
        except _Unreadable as fault:
            problems.append(Problem("documents.cell-unfit", f"{cell.where} ({name})", str(fault), _FORMS[name]))
    places = dict(zip(header, row.cells, strict=False))
    problems.extend(_shape_problems(sheet.schema, value, places, row, {name for name in header if name not in value}))
    return value


def _shape_problems(
    schema: str, value: dict[str, Any], places: dict[str, Cell], row: Row, refused: set[str]
) -> Iterator[Problem]:
    for fault in dict.fromkeys(shape_faults(schema, value)):  # an empty text is too short and of no form: told once
        if fault.code == "documents.key-missing" and any(f"'{name}'" in fault.what for name in refused):
            continue
        name = str(fault.path[0]) if fault.path else ""
        where = f"{places[name].where} ({name})" if name in places else row.where
        yield Problem(fault.code, where, fault.what, fault.remedy)


def _column_takes(sheet: _Sheet[R], name: str, schema: dict[str, Any]) -> Due:
    part = schema["properties"].get(name, {})
    reference = str(part.get("$ref", ""))
    if "ositive" in reference or "ecimal" in reference:
        return "number"
    if "localTime" in reference:
        return "date with time"
    if "date" in reference:
        return "date"
    if name in _FREE_TEXT:
        return "words"
    return "list" if name in sheet.cells else "text"


_FORMS = {
    "dilutions": "Write it as: Zn 5/100; Mg 10/100 4/100 (millilitres taken/made up to).",
    "added_ug": "Write it as: Pb 2.5; Cd 1.2.",
    "expected_ug_per_g": "Write it as: Pb 2.5; Cd 1.2.",
    "u_expected_ug_per_g": "Write it as: Pb 0.05; Cd 0.03.",
    "additions": "Write it as: Pb W-1=0 W-1a=5 W-1b=10 W-1c=15 (tube=concentration added; labels without blanks).",
}


def _by_element(text: str, of: Callable[[list[str]], Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for part in filter(None, (part.strip() for part in text.split(";"))):
        element, *rest = part.split()
        if element in found:
            raise _Unreadable(f"{element[:10]} stands twice in '{text[:40]}'.")
        if not rest:
            raise _Unreadable(f"Nothing follows {element[:10]} in '{text[:40]}'.")
        found[element] = of(rest)
    return found


def _steps(parts: list[str]) -> list[dict[str, str]]:
    steps = [part.split("/") for part in parts]
    if any(len(step) != 2 for step in steps):
        raise _Unreadable(f"'{' '.join(parts)[:40]}' is not a row of dilution steps.")
    return [{"aliquot_ml": step[0], "final_ml": step[1]} for step in steps]


def _amount(parts: list[str]) -> str:
    if len(parts) != 1:
        raise _Unreadable(f"'{' '.join(parts)[:40]}' is not one amount.")
    return parts[0]


def _tubes(parts: list[str]) -> list[dict[str, str]]:
    tubes = [part.rpartition("=") for part in parts]
    if not all(label and sign for label, sign, _ in tubes):
        raise _Unreadable(f"'{' '.join(parts)[:40]}' is not a row of tubes with what was added.")
    return [{"label": label, "added": added} for label, _, added in tubes]


_additions = partial(_by_element, of=_tubes)
_dilutions = partial(_by_element, of=_steps)
_amounts = partial(_by_element, of=_amount)
