"""Site exceptions: added by two people, listed for everybody."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading
from benchseal.desk.acts_exceptions import AddException
from benchseal.desk.exceptions import signed_exception
from benchseal.desk.in_force import zone_of

if TYPE_CHECKING:
    from argparse import Namespace

_COLUMNS = ("exception", "kind", "person", "since", "until", "state", "signed by", "instead", "reason")


def add(args: Namespace) -> int:
    """Put an exception in force."""
    act = AddException(args.kind, args.person, args.until, args.check, args.reason)
    return do(args, act, how_many=2)


def list_all(args: Namespace) -> int:
    """Every exception ever signed."""
    rows = []
    with reading(args) as (site, view):
        today = site.clock().astimezone(zone_of(view, site)).date().isoformat()
        for row in view.rows("exception"):
            signed = signed_exception(view, row)
            by = " and ".join(one.statement.person for one in signed.signatures)
            state = "in force" if row["since"] <= today <= row["until"] else "ended"
            record = signed.exception
            values = (record.exception, record.kind, record.person, record.since, record.until)
            rows.append((*values, state, by, record.compensating_check, record.reason))
    return show.table(args, _COLUMNS, rows, name="exceptions")
