"""The act of a periodic review."""

from __future__ import annotations

from dataclasses import dataclass

from benchseal.desk.act_row import APPROVER, ActRow, signing
from benchseal.records.signatures import Meaning


@dataclass(frozen=True, slots=True)
class SignPeriodic:
    """Sign a periodic review. listed: ``ENTRY-FIGURES``, as the report ends; amiss: what ``doctor`` found then."""

    listed: str
    amiss: tuple[str, ...]
    comment: str


PERIODIC: tuple[ActRow, ...] = (
    ActRow(
        SignPeriodic,
        "periodic sign",
        signing(APPROVER, Meaning.REVIEWED),
        ("periodic.reviewed",),
        "periodic:sign_periodic",
        "sign that the report of the period was looked at, and what is to follow",
    ),
)
