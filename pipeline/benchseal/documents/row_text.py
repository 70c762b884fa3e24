"""Records as sheet rows again: what a sheet would have said, so that a corrected row is read by the rules of sheets."""

from __future__ import annotations

import csv
import io
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from benchseal.records.preparation import Addition, DilutionStep

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping


def row_text(record: object) -> dict[str, str]:
    """Column to cell of one record: reading it back gives the record."""
    return {field.name: _cell(getattr(record, field.name)) for field in fields(record)}  # type: ignore[arg-type]  # every record is a dataclass


def sheet_of(rows: Iterable[Mapping[str, str]]) -> bytes:
    """Rows of one kind as a CSV sheet, the columns of the first row as its head."""
    listed = list(rows)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(listed[0])
    writer.writerows(row.values() for row in listed)
    return out.getvalue().encode()


def _cell(value: Any) -> str:  # noqa: ANN401  whatever a row holds
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        return " ".join(value)
    return "; ".join(f"{element} {_of_element(own)}" for element, own in value.items())


def _of_element(value: Any) -> str:  # noqa: ANN401  an amount, dilution steps or tubes
    return value if isinstance(value, str) else " ".join(_part(one) for one in value)


def _part(one: DilutionStep | Addition) -> str:
    if isinstance(one, DilutionStep):
        return f"{one.aliquot_ml}/{one.final_ml}"
    return f"{one.label}={one.added}"
