"""What a rule of sheets says of a row that breaks it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RowFault:
    """One rule broken by one row. row: index among the rows given; first: of the row it repeats, or None."""

    row: int
    column: str
    code: str
    what: str
    remedy: str
    first: int | None = None
