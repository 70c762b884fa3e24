"""The preparation sheet of a plan: every column of a preparation row, filled as far as planned, as CSV.

What only the bench can say stays empty: who prepared it and when, masses and surfaces. The sheet is read again by
``documents.sheets`` as it is, once they are filled in.
"""

from __future__ import annotations

import csv
import io
from dataclasses import fields
from typing import TYPE_CHECKING

from benchseal.records.preparation import Portion

if TYPE_CHECKING:
    from collections.abc import Sequence

COLUMNS = tuple(field.name for field in fields(Portion))


def sheet_text(portions: Sequence[Portion]) -> str:
    """CSV with one header line, separated by commas; texts as ``read_preparation`` takes them."""
    out = io.StringIO()
    lines = csv.writer(out, lineterminator="\r\n")
    lines.writerow(COLUMNS)
    lines.writerows([_cell(portion, name) for name in COLUMNS] for portion in portions)
    return out.getvalue()


def _cell(portion: Portion, name: str) -> str:
    value = getattr(portion, name)
    if name == "elements":
        return " ".join(value)
    if name == "dilutions":
        return _joined(
            (element, " ".join(f"{one.aliquot_ml}/{one.final_ml}" for one in own)) for element, own in value.items()
        )
    if name == "additions":
        return _joined((element, " ".join(f"{one.label}={one.added}" for one in own)) for element, own in value.items())
    return _joined(value.items()) if isinstance(value, dict) else str(value)


def _joined(pairs: object) -> str:
    return "; ".join(f"{element} {text}" for element, text in pairs)  # type: ignore[attr-defined]
