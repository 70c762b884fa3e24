"""Acts on site exceptions: as values, and who may do them."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ADMINISTRATOR, APPROVER, ActRow, Signer
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class AddException:
    """Let one person do what two would do elsewhere, for a time. until: last day, ``YYYY-MM-DD``.

    compensating_check: what is done in place of the second person.
    """

    kind: str
    person: str
    until: str
    compensating_check: str
    reason: str


EXCEPTIONS: tuple[ActRow, ...] = (
    ActRow(
        AddException,
        "exception add",
        (Signer(frozenset({APPROVER}), Meaning.APPROVED), Signer(frozenset({ADMINISTRATOR}), Meaning.APPROVED)),
        ("exception.added",),
        "exceptions:add_exception",
        "let one person do what two would do elsewhere, for a time, with a check instead",
    ),
)
