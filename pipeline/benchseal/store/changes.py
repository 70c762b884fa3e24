"""What a ledger entry does to derived rows, as values."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Put:
    """Insert the row with this key, or change just these columns of it."""

    table: str
    key: dict[str, str]
    values: dict[str, str | int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Clear:
    """Remove every row that matches: rows a later entry replaces as a whole."""

    table: str
    where: dict[str, str]


Change: TypeAlias = Put | Clear
