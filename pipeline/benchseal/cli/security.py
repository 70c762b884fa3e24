"""Security events, the clock, and who has access."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading, write_file
from benchseal.desk.acts_security import AcknowledgeEvents, ConfirmClock, ReviewAccess
from benchseal.desk.read_log import WantedReads, find_reads
from benchseal.desk.rights import rights
from benchseal.desk.security import LISTED_FIGURES, access_list
from benchseal.desk.trail import require_day
from benchseal.desk.trail_csv import table_csv
from benchseal.records.canonical import canonical_bytes, digest
from benchseal.records.people import Role
from benchseal.records.said import some_are

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Mapping

    from benchseal.desk.read_log import Logged


def events(args: Namespace) -> int:
    """Every security event, the newest last, and who acknowledged it."""
    with reading(args) as (_, view):
        rows = [
            (int(row["event"]), row["at"], row["person"], row["what"], row["by_administrator"], row["by_approver"])
            for row in view.rows("security_event")
            if not (args.open and row["by_administrator"] and row["by_approver"])
        ]
    columns = ("event", "at", "about", "what", "administrator", "approver")
    return show.table(args, columns, rows, name="events")


def acknowledge(args: Namespace) -> int:
    """Acknowledge events."""
    return do(args, AcknowledgeEvents(tuple(args.events), args.comment))


def confirm_clock(args: Namespace) -> int:
    """Confirm the clock."""
    return do(args, ConfirmClock(args.reason))


def access(args: Namespace) -> int:
    """Accounts and roles as a review signs them, with the figures to give."""
    with reading(args) as (_, view):
        listing = access_list(view)
    figures = digest(canonical_bytes(listing))[:LISTED_FIGURES]
    people = listing["people"]
    said = [_line(each) for each in people if isinstance(each, dict)] if isinstance(people, list) else []
    return show.lines(args, [*said, f"list {figures}"], {"list": figures, **listing})


def reads(args: Namespace) -> int:
    """The log of reads: who looked at what, and which entry of the ledger notes that day."""
    wanted = WantedReads(args.who, require_day(args.since, "--from"), require_day(args.until, "--to"), args.text)
    with reading(args) as (site, view):
        found = list(find_reads(view, site, wanted))
    columns = ("at", "person", "by", "account", "command", "asked", "entry")
    rows = [_read_row(one) for one in found]
    if args.csv:
        write_file(args.csv, table_csv(columns, rows))
        return show.lines(args, [f"{some_are(len(rows), 'read')} written to {args.csv}."], {"reads": len(rows)})
    return show.table(args, columns, rows, name="reads")


def _read_row(one: Logged) -> tuple[object, ...]:
    noted, read = one.entry or "not yet", one.read
    if read is None:
        return ("", "", "", "", "cannot be read", f"{one.file} line {one.number}", noted)
    return (read.at, read.person or "nobody", read.by, read.account, read.command, "; ".join(read.asked), noted)


def matrix(args: Namespace) -> int:
    """Which role may do which act."""
    with reading(args):
        found = rights()
    columns = ("act", "person", "how", *(role.value for role in Role))
    rows = [
        (one.command, one.place, one.how, *("yes" if role in one.roles else "no" for role in Role)) for one in found
    ]
    if args.csv:
        says = [(*row, one.says) for row, one in zip(rows, found, strict=True)]
        write_file(args.csv, table_csv((*columns, "says"), says))
        return show.lines(args, [f"{some_are(len(rows), 'right')} written to {args.csv}."], {"rights": len(rows)})
    return show.table(args, columns, rows, name="rights")


def review(args: Namespace) -> int:
    """Sign the list that was looked at."""
    return do(args, ReviewAccess(args.list, args.comment))


def _line(each: Mapping[str, object]) -> str:
    state = "active" if each["active"] else "disabled"
    state += ", waits to be confirmed" if each["suspended"] else ""
    roles = each["roles"]
    listed = ", ".join(map(str, roles)) if isinstance(roles, list) and roles else "no role"
    return f"{each['person']}  {each['printed_name']}: {listed}; {state}"
