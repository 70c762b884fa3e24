"""What a receiving system says of a delivery: taken, not taken, or taken but for some rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class RejectedRow:
    """row_no: as in the delivered file, from 1. reason: the receiver's words."""

    row_no: int
    reason: str


@dataclass(frozen=True, slots=True)
class Acknowledgement:
    """state ``partly``: all rows but those in ``rejected`` were taken; ``rejected``: none was."""

    schema: Literal["acknowledgement/1"]
    delivery_id: str
    state: Literal["accepted", "partly", "rejected"]
    rejected: tuple[RejectedRow, ...] = ()
    reason: str = ""
