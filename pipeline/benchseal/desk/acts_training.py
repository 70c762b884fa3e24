"""Acts on training facts: as values, and who may do them."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import ANALYST, APPROVER, REVIEWER, ActRow, anyone


@dataclass(frozen=True, slots=True)
class AddTraining:
    """Put on record that somebody is trained. subject: ``method/ID[@VERSION]``, ``role/ROLE`` or ``instrument/ID``.

    since empty: today. trainer: may also enter facts of others on this subject. late_because: why it comes late.
    """

    person: str
    subject: str
    until: str
    evidence: str
    since: str = ""
    trainer: bool = False
    late_because: str = ""


@dataclass(frozen=True, slots=True)
class WithdrawTraining:
    """Take a training fact back from now on; what was done before stays done by a trained person."""

    training: str
    reason: str


TRAINING: tuple[ActRow, ...] = (
    ActRow(
        AddTraining,
        "training add",
        anyone(ANALYST, REVIEWER, APPROVER),
        ("training.added", "late.noted"),
        "training:add_training",
        "put on record that somebody else is trained for a method, a role or an instrument",
    ),
    ActRow(
        WithdrawTraining,
        "training withdraw",
        anyone(APPROVER),
        ("training.withdrawn",),
        "training:withdraw_training",
        "take a training fact back from now on",
    ),
)
