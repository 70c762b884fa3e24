"""Security events, the clock, and who has access."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading
from benchseal.desk.acts_security import AcknowledgeEvents, ConfirmClock, ReviewAccess
from benchseal.desk.security import LISTED_FIGURES, access_list
from benchseal.records.canonical import canonical_bytes, digest

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Mapping


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


def review(args: Namespace) -> int:
    """Sign the list that was looked at."""
    return do(args, ReviewAccess(args.list, args.comment))


def _line(each: Mapping[str, object]) -> str:
    state = "active" if each["active"] else "disabled"
    state += ", waits to be confirmed" if each["suspended"] else ""
    roles = each["roles"]
    listed = ", ".join(map(str, roles)) if isinstance(roles, list) and roles else "no role"
    return f"{each['person']}  {each['printed_name']}: {listed}; {state}"
