"""Controlled documents."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import file_bytes, reading, site_of
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acting import Receipt
from benchseal.desk.acts_documents import AddDocument, ApproveDocument
from benchseal.desk.controlled import latest, versions
from benchseal.desk.perform import perform
from benchseal.problems import Notice, Refusal, Stopped

if TYPE_CHECKING:
    from argparse import Namespace


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
    """Put the latest version in force."""
    with site_of(args) as site:
        return show.receipt(args, perform(site, ApproveDocument(args.id), *credentials(args, site)))


def list_all(args: Namespace) -> int:
    """Every version of every document."""
    with reading(args) as (_, view):
        columns = ("kind", "id", "version", "state", "author", "approver", "title")
        rows = [[row[column] for column in columns] for row in view.rows("document")]
    return show.table(args, columns, rows, name="documents")


def show_one(args: Namespace) -> int:
    """A document as it was brought in, byte for byte."""
    name, _, version = args.id.partition("@")
    with reading(args) as (_, view):
        row = latest(view, name)
        if version:
            named = [each for each in versions(view, row["kind"], row["id"]) if each["version"] == version]
            if not named:
                what = f"there is no version {version}; the latest is {row['version']}."
                raise Stopped(Refusal("document.unknown", args.id, what, "See `benchseal document list`."))
            row = named[0]
        text = view.bytes_of(row["source"]).decode("utf-8")
    if args.json:
        facts = {column: row[column] for column in ("kind", "id", "version", "state", "author", "approver", "title")}
        show.as_json(args, {**facts, "sha256": row["value"], "source": text})
    else:
        sys.stdout.write(text)
    return 0
