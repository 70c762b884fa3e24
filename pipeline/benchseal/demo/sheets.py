"""Records as CSV sheets, in the columns ``documents/sheets.py`` reads."""

from __future__ import annotations

import csv
import io
from dataclasses import MISSING, fields
from typing import TYPE_CHECKING, Any

from benchseal.records.preparation import Portion

if TYPE_CHECKING:
    from collections.abc import Sequence


def plain_rows(records: Sequence[Any]) -> bytes:
    """Records whose fields are all text, one a row, under their field names; optional ones only where one is given."""
    names = [
        one.name
        for one in fields(records[0])
        if one.default is MISSING or any(getattr(record, one.name) for record in records)
    ]
    return _csv([names, *([getattr(record, name) for name in names] for record in records)])


def preparation(rows: Sequence[Portion]) -> bytes:
    """Preparation rows; elements ``Pb Cd``, dilutions ``Zn 5/100; Mg 10/100 4/100``, amounts ``Pb 2.5; Cd 1.2``.

    Optional columns that hold nothing are left out, as a laboratory would.
    """
    needed = {one.name for one in fields(Portion) if one.default is MISSING and one.default_factory is MISSING}
    names = [one.name for one in fields(Portion) if one.name in needed or any(_cell(row, one.name) for row in rows)]
    return _csv([names, *([_cell(row, name) for name in names] for row in rows)])


def _cell(row: Portion, name: str) -> str:
    match name:
        case "elements":
            return " ".join(row.elements)
        case "dilutions":
            return "; ".join(f"{element} {_steps(row, element)}" for element in row.dilutions)
        case "added_ug" | "expected_ug_per_g" | "u_expected_ug_per_g":
            amounts: dict[str, str] = getattr(row, name)
            return "; ".join(f"{element} {amount}" for element, amount in amounts.items())
        case _:
            text: str = getattr(row, name)
            return text


def _steps(row: Portion, element: str) -> str:
    return " ".join(f"{step.aliquot_ml}/{step.final_ml}" for step in row.dilutions[element])


def _csv(rows: Sequence[Sequence[str]]) -> bytes:
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    return text.getvalue().encode("utf-8")
