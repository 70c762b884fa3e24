"""A balance layout: how the print of one balance is read, line by line, with nothing left over."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Literal

from benchseal.records.encodings import Encoding
from benchseal.records.layout import LineRule
from benchseal.records.shape import LEFT_OUT_WHEN_EMPTY

# What a named group of a pattern may give.
BALANCE_FACTS: frozenset[str] = frozenset(
    {"portion", "mass", "unit", "gross", "gross_unit", "tare", "tare_unit", "weighed_at", "serial"}
)


@dataclass(frozen=True, slots=True)
class BalanceLayout:
    """How the prints of one balance are read. Patterns match whole lines; their groups are ``BALANCE_FACTS``.

    weighing: the lines of one weighing in any order behind the first, which begins it. head: lines before the first
    weighing. drop_lines: patterns of lines that carry nothing. unstable_lines: of lines that say the balance had not
    settled; such a print is refused. unit: of all masses, where the lines do not say it. serial: of the balance; a
    print that states another one is refused.
    """

    kind: Literal["balance_layout"]
    id: str
    title: str
    encoding: Encoding
    decimal_mark: Literal[".", ","]
    weighing: tuple[LineRule, ...]
    head: tuple[LineRule, ...] = ()
    drop_lines: tuple[str, ...] = ()
    unstable_lines: tuple[str, ...] = ()
    unit: Literal["g", "mg", ""] = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
    serial: str = dataclasses.field(default="", metadata=LEFT_OUT_WHEN_EMPTY)
