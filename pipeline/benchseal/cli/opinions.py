"""Opinions on results: given and withdrawn by an approver, listed for everybody."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading
from benchseal.desk.acts_opinions import GiveOpinion, WithdrawOpinion
from benchseal.desk.reading import load
from benchseal.records.opinions import Opinion

if TYPE_CHECKING:
    from argparse import Namespace

_COLUMNS = ("opinion", "lot", "sample", "state", "person", "text", "basis")


def give(args: Namespace) -> int:
    """Express an opinion."""
    return do(args, GiveOpinion(args.lot, args.text, args.basis))


def withdraw(args: Namespace) -> int:
    """Take one back."""
    return do(args, WithdrawOpinion(args.opinion, args.reason))


def list_all(args: Namespace) -> int:
    """Every opinion ever given."""
    rows = []
    with reading(args) as (_, view):
        for row in view.rows("opinion"):
            record = load(view, Opinion, row["record"])
            rows.append(
                (record.opinion, row["lot"], record.sample, row["state"], record.person, record.text, record.basis)
            )
    return show.table(args, _COLUMNS, rows, name="opinions")
