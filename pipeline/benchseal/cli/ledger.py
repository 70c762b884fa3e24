"""The trail."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import reading, site_of, write_file
from benchseal.cli.secrets_in import credentials
from benchseal.desk import checkpoints
from benchseal.desk.admission import admit
from benchseal.desk.reading import all_entries
from benchseal.ledger.checkpoints import write_checkpoint
from benchseal.problems import Refusal, Stopped
from benchseal.records.entries import entry_body

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.records.entries import Entry


def show_one(args: Namespace) -> int:
    """The history of a subject, oldest first."""
    with reading(args) as (_, view):
        entries = all_entries(view)
    found = [entry for entry in entries if args.subject == "all" or _concerns(entry, args.subject)]
    if not found:
        what = "no entry concerns it."
        raise Stopped(
            Refusal("ledger.unknown", args.subject, what, "Give run/R-00001, certificate/…, sample/…, or all.")
        )
    from benchseal.records.canonical import parse_canonical  # noqa: PLC0415

    said = [_line(entry) for entry in found]
    return show.lines(args, said, {"entries": [parse_canonical(entry_body(entry)) for entry in found]})


def checkpoint(args: Namespace) -> int:
    """Sign the head as it is now."""
    with site_of(args) as site:
        admit(site, credentials(args, site)[0])
        made = write_checkpoint(checkpoints.make(site))
    if args.out:
        write_file(args.out, made)
        return show.lines(args, [f"Written to {args.out}. Keep it outside this machine."], {"file": args.out})
    print(made.decode(), end="")
    return 0


def _concerns(entry: Entry, subject: str) -> bool:
    return entry.subject == subject or entry.subject.partition("/")[2] == subject


def _line(entry: Entry) -> str:
    signature = entry.facts.get("signature")
    signed = ""
    statement = signature.get("statement") if isinstance(signature, dict) else None
    if isinstance(signature, dict) and isinstance(statement, dict):
        signed = f"; signed as {statement['meaning']}, {str(signature['signature'])[:8]}"
    why = f"; reason: {entry.reason}" if entry.reason else ""
    return f"{entry.seq:>6}  {entry.at}  {entry.actor:<16}  {entry.kind:<22}  {entry.subject}{signed}{why}"
