"""Nobody signs before acknowledging the laboratory's policy on signing, where one is in force (21 CFR 11.10(j)).

A signature on a policy itself is let through: else nobody could put its next version in force, or end it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.desk.reading import load
from benchseal.problems import Refusal, Stopped
from benchseal.records.policy import Policy

if TYPE_CHECKING:
    from benchseal.store.protocol import Reading, Row


def policies_in_force(view: Reading) -> list[tuple[Row, Policy]]:
    """Every policy in force with its document row."""
    rows = view.rows("document", kind="policy", state="approved")
    return [(row, load(view, Policy, row["value"])) for row in rows]


def has_acknowledged(view: Reading, row: Row, person: str) -> bool:
    """Whether a person acknowledged this very version."""
    return view.row("acknowledgement", policy=row["id"], version=row["version"], person=person) is not None


def require_acknowledged(view: Reading, person: str, subject: str) -> None:
    """Raises Stopped naming every policy on signing that ``person`` has to acknowledge before signing ``subject``."""
    if subject.startswith("document/policy/"):
        return
    refusals = [
        Refusal(
            "policy.not-acknowledged",
            f"policy {row['id']}",
            f"{person} has not acknowledged version {row['version']}, which is in force; until then nothing is signed.",
            f"Read it with `benchseal policy show {row['id']}`, then run `benchseal policy acknowledge`.",
        )
        for row, policy in policies_in_force(view)
        if policy.purpose == "signing" and not has_acknowledged(view, row, person)
    ]
    if refusals:
        raise Stopped(*refusals)
