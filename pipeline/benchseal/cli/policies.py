"""Policies: read, acknowledged, listed with who has not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading
from benchseal.desk.acts_policies import AcknowledgePolicy
from benchseal.desk.policies import SHOWN_FIGURES, not_yet, policy_in_force
from benchseal.desk.policy_gate import policies_in_force

if TYPE_CHECKING:
    from argparse import Namespace


def list_all(args: Namespace) -> int:
    """Every policy in force and who has not acknowledged its version."""
    with reading(args) as (_, view):
        rows = [
            (row["id"], row["version"], policy.purpose, policy.title, ", ".join(not_yet(view, row)) or "nobody")
            for row, policy in policies_in_force(view)
        ]
    return show.table(args, ("id", "version", "purpose", "title", "not yet"), rows, name="policies")


def show_one(args: Namespace) -> int:
    """The text in force and the figures that show it was read."""
    with reading(args) as (_, view):
        row, policy = policy_in_force(view, args.id)
    figures = row["value"][:SHOWN_FIGURES]
    said = [f"{policy.title}, version {row['version']}", "", *policy.text.splitlines(), "", f"policy {figures}"]
    data = {"id": row["id"], "version": int(row["version"]), "title": policy.title, "purpose": policy.purpose}
    return show.lines(args, said, {**data, "text": policy.text, "seen": figures})


def acknowledge(args: Namespace) -> int:
    """Acknowledge the version that was shown."""
    return do(args, AcknowledgePolicy(args.id, args.seen))
