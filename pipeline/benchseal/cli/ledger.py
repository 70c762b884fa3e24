"""The trail."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import admitted, do, file_bytes, reading, site_of, write_file
from benchseal.desk import checkpoints
from benchseal.desk.acting import as_json
from benchseal.desk.acts_trail import ReviewTrail
from benchseal.desk.reading import all_entries
from benchseal.desk.trail import (
    Wanted,
    changes,
    concerns,
    find,
    last_review,
    listed,
    looked_at,
    of_lot,
    require_day,
)
from benchseal.desk.trail_csv import trail_csv
from benchseal.ledger.checkpoints import write_checkpoint
from benchseal.ledger.witness import read_growth, write_growth, write_seen
from benchseal.problems import Refusal, Stopped
from benchseal.records.canonical import parse_canonical
from benchseal.records.entries import entry_body
from benchseal.records.said import some, some_are

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Sequence

    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry

_LARGEST_HEAD = 1024 * 1024


def show_one(args: Namespace) -> int:
    """The history of a subject, oldest first; on request only what came after the reader's own last review of it."""
    with site_of(args) as site:
        person = admitted(args, site).person
        with site.store.reading() as view:
            whole = [entry for entry in all_entries(view) if args.subject == "all" or concerns(entry, args.subject)]
            last = last_review(whole, person)
            new = [entry for entry in whole if entry.seq not in looked_at(view, last)]
            found = new if args.since_my_review else whole
            changed = changes(view, whole) if args.changes else {}
    if not whole:
        what = "no entry concerns it."
        raise Stopped(
            Refusal("ledger.unknown", args.subject, what, "Give run/R-00001, certificate/…, sample/…, or all.")
        )
    said = [
        line for entry in found for line in (_line(entry), *(f"        {one}" for one in changed.get(entry.seq, ())))
    ]
    figures = ""
    if args.subject != "all":
        figures = listed([entry for entry in whole if entry.kind != "trail.reviewed"])
        said.append(f"list {figures}")
    data: dict[str, Json] = {}
    if args.since_my_review:
        at = last.at if last else ""
        said.insert(
            0, f"{some(len(found), 'entry')} since your review of {at}." if at else "You have not reviewed it yet."
        )
        data["reviewed_at"] = at
    if args.changes:
        data["changes"] = {str(entry.seq): as_json(changed[entry.seq]) for entry in found if entry.seq in changed}
    return show.lines(args, said, {"entries": _plain(found), "list": figures, **data})


def find_some(args: Namespace) -> int:
    """Entries that fit everything asked."""
    wanted = Wanted(
        who=args.who,
        kind=args.act,
        subject=args.subject,
        since=require_day(args.since, "--from"),
        until=require_day(args.until, "--to"),
        text=args.text,
    )
    with reading(args) as (_, view):
        found = list(find(view, wanted))
    if args.csv:
        write_file(args.csv, trail_csv(found))
        return show.lines(args, [f"{some_are(len(found), 'entry')} written to {args.csv}."], {"entries": len(found)})
    return show.lines(args, [*map(_line, found), some(len(found), "entry")], {"entries": _plain(found)})


def of_one_lot(args: Namespace) -> int:
    """Everything about one lot, oldest first."""
    if args.pdf:
        from benchseal.cli.reports import lot_pdf  # noqa: PLC0415

        with site_of(args) as site:
            person = admitted(args, site).person
            with site.store.reading() as view:
                return lot_pdf(args, site, view, person)
    with reading(args) as (_, view):
        sample, found = of_lot(view, args.lot)
    if args.csv:
        write_file(args.csv, trail_csv(found))
        return show.lines(args, [f"{some_are(len(found), 'entry')} written to {args.csv}."], {"entries": len(found)})
    return show.lines(args, [f"sample {sample}", *map(_line, found)], {"sample": sample, "entries": _plain(found)})


def review(args: Namespace) -> int:
    """Sign the entries that were looked at."""
    return do(args, ReviewTrail(args.subject, args.list, args.comment))


def _plain(entries: Sequence[Entry]) -> list[Json]:
    return [parse_canonical(entry_body(entry)) for entry in entries]


def checkpoint(args: Namespace) -> int:
    """Sign the head as it is now, with a proof of growth where one is asked for."""
    with site_of(args) as site:
        admitted(args, site)
        signed = checkpoints.make(site)
        made = write_checkpoint(signed)
        if args.since is not None:
            made = write_growth(checkpoints.growth(site, signed, args.since))
    if args.out:
        write_file(args.out, made)
        return show.lines(args, [f"Written to {args.out}. Keep it outside this machine."], {"file": args.out})
    print(made.decode(), end="")
    return 0


def witness(args: Namespace) -> int:
    """Accept a head that begins with the last one seen, and countersign it. Needs no site."""
    from benchseal.cli.verify import trust_file  # noqa: PLC0415
    from benchseal.upkeep.witnessing import has_seen  # noqa: PLC0415
    from benchseal.upkeep.witnessing import witness as seen_by  # noqa: PLC0415

    growth = read_growth(file_bytes(args.checkpoint, _LARGEST_HEAD), args.checkpoint)
    if isinstance(growth, tuple):
        raise Stopped(*growth)
    how = "begins with what was seen before" if has_seen(Path(args.state), growth) else "is the first seen here"
    seen, public = seen_by(Path(args.state), growth, trust_file(args.trust).ledger_keys)
    if args.out:
        write_file(args.out, write_seen(seen))
    said = [f"{seen.checkpoint.name} {how}; countersigned by {seen.witness}."]
    if args.out:
        said.append(f"Written to {args.out}. Give it back to the laboratory.")
    return show.lines(args, said, {"size": seen.checkpoint.size, "witness": seen.witness, "public_key": public.hex()})


def _line(entry: Entry) -> str:
    signature = entry.facts.get("signature")
    signed = ""
    statement = signature.get("statement") if isinstance(signature, dict) else None
    if isinstance(signature, dict) and isinstance(statement, dict):
        signed = f"; signed as {statement['meaning']}, {str(signature['signature'])[:8]}"
    why = f"; reason: {entry.reason}" if entry.reason else ""
    return f"{entry.seq:>6}  {entry.at}  {entry.actor:<16}  {entry.kind:<22}  {entry.subject}{signed}{why}"
