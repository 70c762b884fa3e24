"""Reports of records as PDF: one run, one lot, the trail of a subject with its CSV and a manifest."""

from __future__ import annotations

import os
import shutil
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from benchseal import __version__
from benchseal.cli import show
from benchseal.cli.opened import admitted, site_of, write_file
from benchseal.problems import Problem, Stopped, Trouble
from benchseal.records.canonical import canonical_bytes, digest

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.certificate.record_page import RecordPage
    from benchseal.desk.site import Site
    from benchseal.records.canonical import Json
    from benchseal.records.entries import Entry
    from benchseal.store.sqlite import SqliteReading


def trail(args: Namespace) -> int:
    """The trail of one subject as PDF, CSV and manifest, in a new folder."""
    from benchseal.certificate.record_page import render_record  # noqa: PLC0415
    from benchseal.desk.record_reports import trail_page  # noqa: PLC0415
    from benchseal.desk.renderer import rendered  # noqa: PLC0415
    from benchseal.desk.trail_csv import changes_csv, signatures_csv, trail_csv  # noqa: PLC0415

    with site_of(args) as site:
        person = admitted(args, site).person
        with site.store.reading() as view:
            page, entries = trail_page(site, view, args.subject, person)
    page = _on_paper(args, page)
    files = {
        "trail.pdf": rendered(render_record, page),
        "trail.csv": trail_csv(entries),
        "changes.csv": changes_csv((event.entry, event.at, one) for event in page.events for one in event.changes),
        "signatures.csv": signatures_csv(entries),
    }
    listed: list[Json] = [
        {"name": name, "size": len(data), "sha256": digest(data)} for name, data in sorted(files.items())
    ]
    files["manifest.json"] = canonical_bytes(
        {
            "schema": "trail-export/1",
            "program": __version__,
            "ledger": site.ledger,
            "subject": page.subject,
            "made_at": page.made_at,
            "made_by": person,
            "entries": [entry.seq for entry in entries],
            "files": listed,
        }
    )
    _new_folder(Path(args.out), files)
    said = [f"{args.out} holds {show.some(len(entries), 'entry')}: {', '.join(files)}."]
    data = {"folder": args.out, "subject": page.subject, "entries": len(entries), "files": listed}
    return show.lines(args, said, data)


def run(args: Namespace) -> int:
    """One run as PDF."""
    from benchseal.certificate.run_report import render_run_report  # noqa: PLC0415
    from benchseal.desk.renderer import rendered  # noqa: PLC0415
    from benchseal.desk.run_report import run_report  # noqa: PLC0415
    from benchseal.desk.site_rules import rules_in_force  # noqa: PLC0415

    require_new(args.pdf)
    with site_of(args) as site:
        person = admitted(args, site).person
        with site.store.reading() as view:
            report, entries = run_report(site, view, args.run, person)
            paper = args.paper or rules_in_force(view).paper or "a4"
    return _written(args, rendered(render_run_report, report, paper), report.subject, entries)


def lot_pdf(args: Namespace, site: Site, view: SqliteReading, person: str) -> int:
    """One lot as PDF."""
    from benchseal.desk.record_reports import lot_page  # noqa: PLC0415

    page, entries = lot_page(site, view, args.lot, person)
    return _one_file(args, _on_paper(args, page), entries)


def _on_paper(args: Namespace, page: RecordPage) -> RecordPage:
    """The page on the paper asked for, else on the one the rules of the site name."""
    return replace(page, paper="letter" if args.paper == "letter" else "") if args.paper else page


def _one_file(args: Namespace, page: RecordPage, entries: list[Entry]) -> int:
    from benchseal.certificate.record_page import render_record  # noqa: PLC0415
    from benchseal.desk.renderer import rendered  # noqa: PLC0415

    require_new(args.pdf)
    return _written(args, rendered(render_record, page), page.subject, entries)


def require_new(name: str) -> None:
    """Raises Stopped where a file of that name is there."""
    if Path(name).exists():
        what = "a file of that name is there; nothing is ever overwritten."
        raise Stopped(Problem("report.exists", name, what, "Name a new file."))


def _written(args: Namespace, data: bytes, subject: str, entries: list[Entry]) -> int:
    write_file(args.pdf, data)
    said = [f"{args.pdf} holds {show.some(len(entries), 'entry')} about {subject}."]
    return show.lines(args, said, {"file": args.pdf, "entries": len(entries), "sha256": digest(data)})


def _new_folder(folder: Path, files: dict[str, bytes]) -> None:
    part = folder.with_name(f"{folder.name}.part")
    for path in (folder, part):
        if path.exists():
            what = "it is there already; nothing is ever overwritten."
            raise Stopped(Problem("report.exists", str(path), what, "Name a folder that is not there yet."))
    try:
        part.mkdir(parents=True)
        for name, data in files.items():
            with (part / name).open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        part.rename(folder)
    except OSError as fault:
        what = f"it could not be written: {fault.strerror or fault}."
        raise Stopped(Trouble("report.not-made", str(folder), what, "Look at the disk; try again.")) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)
