"""Training facts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading
from benchseal.desk.acts_training import AddTraining, WithdrawTraining
from benchseal.desk.trail import require_day
from benchseal.desk.trained import facts_of, today
from benchseal.identity.names import person_id

if TYPE_CHECKING:
    from argparse import Namespace

_COLUMNS = ("training", "person", "for", "since", "until", "trainer", "entered", "by", "withdrawn", "evidence")


def add(args: Namespace) -> int:
    """Enter one fact."""
    act = AddTraining(args.person, args.subject, args.until, args.evidence, args.since, args.trainer, args.late_because)
    return do(args, act)


def withdraw(args: Namespace) -> int:
    """Take one back."""
    return do(args, WithdrawTraining(args.training, args.reason))


def list_all(args: Namespace) -> int:
    """Facts, those that held on a day where one is named."""
    day = require_day(args.as_of, "--as-of")
    person = person_id(args.person) if args.person else ""
    with reading(args) as (_, view):
        where = {"person": person if isinstance(person, str) else args.person} if args.person else {}
        holds = {one.training: one.counts_on(day) for one in facts_of(view, **where)}
        rows = [
            (
                *(row[name] for name in ("training", "person", "subject", "since", "until")),
                "yes" if row["may_train"] else "no",
                today(view, row["entered_at"]),
                row["entered_by"],
                f"{today(view, row['withdrawn_at'])} by {row['withdrawn_by']}" if row["withdrawn_at"] else "",
                row["evidence"],
            )
            for row in view.rows("training", **where)
            if not day or holds[row["training"]]
        ]
    return show.table(args, _COLUMNS, rows, name="training")
