"""Preliminary figures: given, listed, and their paper made again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, reading, site_of, write_file
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acts_certificates import GivePreliminary, NoteHolderTold
from benchseal.desk.perform import perform

if TYPE_CHECKING:
    from argparse import Namespace


def give(args: Namespace) -> int:
    """Put on record who gets them, then write the paper."""
    from benchseal.desk.preliminary import preliminary_pdf  # noqa: PLC0415  draws in what makes pages

    with site_of(args) as site:
        receipt = perform(site, GivePreliminary(args.lot, args.to, args.reason), *credentials(args, site))
        number = str(receipt.data["number"])
        with site.store.reading() as view:
            paper = preliminary_pdf(view, number)
        write_file(args.out, paper)
        return show.receipt(args, receipt)


def list_all(args: Namespace) -> int:
    """Every paper, whether a certificate has taken its place, and what its holder has to be told."""
    from benchseal.desk.preliminary import state_of  # noqa: PLC0415  draws in what makes pages
    from benchseal.desk.preliminary_told import to_be_told  # noqa: PLC0415  the same

    columns = ("number", "state", "lot", "customer", "given_to", "at", "person", "to_tell")
    with reading(args) as (_, view):
        tell = {one.row["number"]: "; ".join(one.lines) for one in to_be_told(view)}
        papers = [
            {**row, "state": state_of(view, row), "to_tell": tell.get(row["number"], "")}
            for row in view.rows("preliminary")
        ]
    return show.table(args, columns, [[row[name] for name in columns] for row in papers], name="preliminary")


def show_one(args: Namespace) -> int:
    """One paper; made again with --pdf."""
    from benchseal.desk.preliminary import preliminary_pdf, state_of  # noqa: PLC0415  draws in what makes pages
    from benchseal.desk.preliminary_told import to_be_told  # noqa: PLC0415  the same

    with reading(args) as (_, view):
        paper = preliminary_pdf(view, args.number)
        told = view.rows("preliminary_told", number=args.number)
        lines = [line for one in to_be_told(view, number=args.number) for line in one.lines]
        row = view.row("preliminary", number=args.number)
        if row is None:
            raise AssertionError("its paper was just made")
        state = state_of(view, row)
    if args.pdf:
        write_file(args.pdf, paper)
    said = [
        f"{args.number} (preliminary figures): {state}",
        f"lot {row['lot']} of {row['customer']}, sample {row['sample']}",
        f"given to {row['given_to']} by {row['person']} at {row['at']}",
        *(f"told at {one['at']} by {one['person']}: {one['who']}, {one['how']}" for one in told),
        *(f"to be told: {line}" for line in lines),
    ]
    return show.lines(args, said, {"preliminary": {**row, "state": state}, "told": told, "to_tell": lines})


def told(args: Namespace) -> int:
    """Put on record that a holder was told."""
    return do(args, NoteHolderTold(args.number, args.who, args.how))
