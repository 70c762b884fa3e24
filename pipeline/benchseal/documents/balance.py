"""A balance's own file: labels of portions and the masses it read, so that no mass is typed twice.

A sheet as any other, CSV or .xlsx. Columns ``portion`` and ``mass_g``; ``weighed_at`` and ``balance`` may stand
beside them and are kept with the file. Any other column is refused: it may say another unit, or what undoes the mass.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.documents.grid import Row, columns_unknown, read_grid
from benchseal.documents.typed_cell import typed_faults
from benchseal.problems import Problem
from benchseal.records.quantities import decimal_of, is_plain_decimal

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchseal.documents.typed_cell import Due
    from benchseal.records.preparation import Portion

_COLUMNS = ("portion", "mass_g")
_BESIDE = ("weighed_at", "balance")


def read_balance(data: bytes, source: str) -> dict[str, str] | tuple[Problem, ...]:
    """Label to mass in grams as plain decimal text; or every problem."""
    grid = read_grid(data, source, frozenset((*_COLUMNS, *_BESIDE)))
    problems = [item for item in grid if isinstance(item, Problem)]
    rows = [item for item in grid if isinstance(item, Row)]
    header = [cell.text for cell in rows[0].cells] if rows else []
    if (problems and not rows) or not set(_COLUMNS) <= set(header):
        what = "it has no columns portion and mass_g."
        return tuple(problems) or (Problem("balance.columns", source, what, "Begin it with these names."),)
    problems += columns_unknown(rows[0], (*_COLUMNS, *_BESIDE))
    problems += [
        Problem("documents.column-twice", rows[0].where, f"Column '{name}' stands twice.", "Keep one of them.")
        for name in (*_COLUMNS, *_BESIDE)
        if header.count(name) > 1
    ]
    masses: dict[str, str] = {}
    for row in rows[1:]:
        found = tuple(_cell_faults(row, header))
        problems += found
        if found or any(cell.told for cell in row.cells):
            continue
        cells = dict(zip(header, (cell.text for cell in row.cells), strict=True))
        label, mass = cells["portion"], cells["mass_g"]
        if not label or not is_plain_decimal(mass):
            what = f"'{label[:40]}' with mass '{mass[:40]}' is no weighing."
            problems.append(Problem("balance.row", row.where, what, "Give a label, and grams as 1.0120."))
        elif label in masses:
            what = f"{label} stands in it twice."
            problems.append(Problem("balance.twice", row.where, what, "Keep the weighing that counts."))
        masses[label] = mass
    return tuple(problems) or masses


def balance_times(data: bytes, source: str) -> dict[str, str]:
    """Label to ``weighed_at`` as it stands, of a file ``read_balance`` reads; nothing of a weighing without."""
    grid = read_grid(data, source, frozenset((*_COLUMNS, *_BESIDE)))
    header, *rows = [[cell.text for cell in item.cells] for item in grid if isinstance(item, Row)]
    each = (dict(zip(header, row, strict=True)) for row in rows)
    return {cells["portion"]: text for cells in each if (text := cells.get("weighed_at", ""))}


def _cell_faults(row: Row, header: list[str]) -> Iterator[Problem]:
    """What sheets too are refused for: another number of cells, and cells that were changed or show something else."""
    if len(row.cells) != len(header):
        what = f"The row has {len(row.cells)} cells, the first line {len(header)}."
        yield Problem("documents.row-unfit", row.where, what, "Write numbers with a point, and each row whole.")
        return
    for name, cell in zip(header, row.cells, strict=True):
        if name in _COLUMNS and not cell.told:
            due: Due = "number" if name == "mass_g" else "text"
            yield from typed_faults(cell, f"{cell.where} ({name})", due)


def balance_problems(rows: Sequence[Portion], masses: dict[str, str], source: str) -> tuple[Problem, ...]:
    """Masses of a sheet that are not those of the balance's file; a row without one has been given the balance's."""
    return tuple(
        Problem(
            "balance.differs",
            f"{source}, portion {row.portion}",
            f"the sheet says {row.mass_g} g, the balance {masses[row.portion]} g.",
            "Find out which is right, and correct the sheet.",
        )
        for row in rows
        if row.mass_g and row.portion in masses and decimal_of(row.mass_g) != decimal_of(masses[row.portion])
    )
