"""Controlled documents."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import do, file_bytes, noted, reading, site_of, write_file
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acting import Receipt
from benchseal.desk.acts_documents import AddDocument, ApproveDocument, ReviewDocument, WithdrawDocument
from benchseal.desk.admission import admit
from benchseal.desk.comparing import against_in_force, compare
from benchseal.desk.controlled import due_documents, latest, named
from benchseal.desk.in_force import bring_in_force
from benchseal.desk.key_records import keep_trust
from benchseal.desk.layout_samples import meanings_lost
from benchseal.desk.perform import perform
from benchseal.problems import Notice, Problem, Refusal, Stopped
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from argparse import Namespace

_TWO = 2


def add(args: Namespace) -> int:
    """Bring in documents, each on its own."""
    said: list[str] = []
    added = []
    notices: list[Notice] = []
    with site_of(args) as site:
        given = credentials(args, site)
        for name in args.files:
            try:
                done = perform(site, AddDocument(file_bytes(name, 1024 * 1024), name), *given)
            except Stopped as stop:
                notices += stop.notices
                continue
            said += done.said
            added.append(done.data)
    return show.receipt(args, Receipt(tuple(said), {"documents": [*added]}, tuple(notices)))


def approve(args: Namespace) -> int:
    """Show what the latest version changes, then put it in force."""
    with site_of(args) as site:
        (given,) = credentials(args, site)
        noted(args, site, admit(site, given).person, "password")  # the change is shown before the act
        bring_in_force(site)
        with site.store.reading() as view:
            row = latest(view, args.id)
            comparison, before = against_in_force(view, row)
            text = view.bytes_of(row["source"]).decode("utf-8")
            lost = meanings_lost(view, row, before) if row["kind"] == "layout" else []
        if not (args.json or args.quiet):
            _show(comparison.said() if before else (comparison.title, *text.splitlines(), comparison.said()[-1]))
            _show(tuple(f"look at this: {each.what}" for each in lost))
        if args.secret_fd is None and not args.seen:
            _ask(args.id, comparison.figures)
        looked_at = bool(args.seen) or not (args.secret_fd is not None or args.json or args.quiet)
        act = ApproveDocument(args.id, args.effective, args.seen or comparison.figures, looked_at)
        receipt = perform(site, act, given)
        if row["kind"] == "site_rules":
            keep_trust(site)  # it names whose time-stamps are trusted
        return show.receipt(args, receipt)


def _show(lines: tuple[str, ...]) -> None:
    for line in lines:
        print(show.one_line(line))


def _ask(name: str, figures: str) -> None:
    """At a terminal: nothing is signed until the figures of what was shown are typed."""
    print(f"To sign, type {figures}: ", end="", file=sys.stderr, flush=True)
    if sys.stdin.readline().strip() != figures:
        what = "the figures of the comparison were not typed."
        raise Stopped(Refusal("document.not-signed", name, what, "Nothing was signed. Look again, then sign."))


def compare_two(args: Namespace) -> int:
    """Two versions field by field; with one name the version in force against the latest."""
    if len(args.ids) > _TWO:
        what = f"{len(args.ids)} are named."
        raise Stopped(Problem("document.compare-two", "document compare", what, "Name two versions, or one document."))
    with reading(args) as (_, view):
        rows = [named(view, each) for each in args.ids]
        if len({row["kind"] for row in rows}) > 1:
            what = f"one is a {rows[0]['kind']}, the other a {rows[1]['kind']}."
            raise Stopped(Problem("document.kinds-differ", "document compare", what, "Compare documents of one kind."))
        found = compare(view, *rows) if len(rows) == _TWO else against_in_force(view, rows[0])[0]
    listed = [plain_of(each) for each in found.found]
    return show.lines(args, found.said(), {"comparison": found.figures, "differences": listed})


def review(args: Namespace) -> int:
    """Sign that a document stays as it is."""
    return do(args, ReviewDocument(args.id, args.comment))


def withdraw(args: Namespace) -> int:
    """Take a version out of use."""
    return do(args, WithdrawDocument(args.id, args.reason))


def list_all(args: Namespace) -> int:
    """Every version of every document, or those in force that are due for review."""
    columns = ("kind", "id", "version", "state", "effective", "author", "approver", "title")
    with reading(args) as (site, view):
        if args.due:
            due = [(*(row[column] for column in columns), at[:10]) for row, at in due_documents(view, site.clock())]
            return show.table(args, (*columns, "last looked at"), due, name="documents")
        rows = [[row[column] for column in columns] for row in view.rows("document")]
    return show.table(args, columns, rows, name="documents")


def show_one(args: Namespace) -> int:
    """A document as it was brought in, byte for byte."""
    with reading(args) as (_, view):
        row = named(view, args.id)
        text = view.bytes_of(row["source"]).decode("utf-8")
        if args.pdf:
            from benchseal.desk.rehearsing import kept_trial  # noqa: PLC0415  draws in what makes pages

            write_file(args.pdf, kept_trial(view, row))
    if args.json:
        columns = ("kind", "id", "version", "state", "effective", "author", "approver", "title")
        show.as_json(args, {**{column: row[column] for column in columns}, "sha256": row["value"], "source": text})
    else:
        sys.stdout.write(text)
    return 0
