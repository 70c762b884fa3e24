"""Tokens of the reading interface: made by two people, listed for everybody, revoked by one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading
from benchseal.desk.acts_interface import MakeToken, RevokeToken
from benchseal.desk.clock import stamp
from benchseal.desk.interface_tokens import state_of

if TYPE_CHECKING:
    from argparse import Namespace

_COLUMNS = ("token", "system", "reads", "customers", "until", "state", "made", "by")


def make(args: Namespace) -> int:
    """Make a token; its secret is in what is printed, and nowhere else."""
    act = MakeToken(args.system, tuple(args.scope), tuple(args.customer), args.until, args.reason)
    return do(args, act, how_many=2)


def revoke(args: Namespace) -> int:
    """Revoke a token."""
    return do(args, RevokeToken(args.token, args.reason))


def list_all(args: Namespace) -> int:
    """Every token ever made."""
    with reading(args) as (site, view):
        now = stamp(site.clock())
        rows = [
            (
                row["token"],
                row["system"],
                row["scopes"],
                row["customers"] or "every one",
                row["until"],
                state_of(row, now),
                row["made_at"],
                row["made_by"],
            )
            for row in view.rows("interface_token")
        ]
    return show.table(args, _COLUMNS, rows, name="tokens")
