"""Certificates."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchseal.cli import papers, preliminary, show
from benchseal.cli.correction_words import corrected_lines
from benchseal.cli.opened import admitted, do, reading, site_of, write_file
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acting import Receipt
from benchseal.desk.acts_certificates import (
    AmendCertificate,
    ApproveCertificate,
    DiscardCertificate,
    DraftCertificate,
    ReleaseCertificate,
    ReturnCertificate,
    SendCertificate,
    SupplementCertificate,
    TellRecipient,
)
from benchseal.desk.cases import rows_about
from benchseal.desk.changed import corrected_of, subjects_of_certificate
from benchseal.desk.gathering import look
from benchseal.desk.investigation_patterns import of_lot
from benchseal.desk.justifying import flagged
from benchseal.desk.perform import perform
from benchseal.desk.reading import load, sample_of_lot
from benchseal.desk.recipients import to_tell
from benchseal.desk.sums import sum_lines
from benchseal.problems import EXIT_FINDING, Refusal, Stopped
from benchseal.records.evidence import Evidence
from benchseal.records.shape import plain_of

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Sequence

    from benchseal.problems import Notice
    from benchseal.store.protocol import Reading, Row


def draft(args: Namespace) -> int:
    """Draft."""
    return do(args, DraftCertificate(args.lot, args.comment, args.simplified))


def discard(args: Namespace) -> int:
    """Give up a draft."""
    return do(args, DiscardCertificate(args.number, args.reason))


def approve(args: Namespace) -> int:
    """Approve."""
    return do(args, ApproveCertificate(args.number))


def return_(args: Namespace) -> int:
    """Take an approval back."""
    return do(args, ReturnCertificate(args.number, args.reason))


def release(args: Namespace) -> int:
    """Sign the release, then seal. What was signed before and is not sealed or not copied needs no password."""
    from benchseal.desk.sealing import copy_again, finish, waiting  # noqa: PLC0415

    with site_of(args) as site:
        if args.number not in waiting(site):
            copied = copy_again(site, args.number)
            if copied is not None:
                return show.receipt(args, copied)
            perform(site, ReleaseCertificate(args.number), *credentials(args, site))
        return show.receipt(args, finish(site, args.number))


def amend(args: Namespace) -> int:
    """Draft what replaces an issued certificate."""
    return do(args, AmendCertificate(args.number, args.reason, args.comment))


def supplement(args: Namespace) -> int:
    """Draft what stands beside an issued certificate."""
    return do(args, SupplementCertificate(args.number, args.reason, args.comment))


def sent(args: Namespace) -> int:
    """Put on record who was given an issued certificate."""
    return do(args, SendCertificate(args.number, args.to, args.how))


def told(args: Namespace) -> int:
    """Put on record that a holder was told."""
    return do(args, TellRecipient(args.number, args.to, args.how))


def status_file(args: Namespace) -> int:
    """Write the signed list of sealed files and what became of them."""
    from benchseal.desk.status_files import make_status, status_bytes  # noqa: PLC0415

    with site_of(args) as site:
        admitted(args, site)
        status = make_status(site, args.customer)
    write_file(args.out, status_bytes(status))
    counted = {
        word: sum(one.state == word for one in status.certificates) for word in ("in force", "superseded", "withdrawn")
    }
    said = f"{args.out}: {', '.join(f'{count} {word}' for word, count in counted.items())}, at {status.checkpoint.at}."
    return show.receipt(args, Receipt((said,), {"file": args.out, "certificates": len(status.certificates)}))


def list_all(args: Namespace) -> int:
    """Every certificate; with --preliminary every paper of preliminary figures."""
    if args.preliminary:
        return preliminary.list_all(args)
    if args.changed:
        return _list_changed(args)
    columns = ("number", "kind", "state", "lot", "customer", "sample", "flag")
    with reading(args) as (_, view):
        rows = [[row[column] for column in columns] for row in view.rows("certificate")]
    return show.table(args, columns, rows, name="certificates")


def _list_changed(args: Namespace) -> int:
    """Certificates that are no longer as first issued, and those that came after a first one, each with its why."""
    columns = ("number", "kind", "state", "lot", "customer", "replaces", "why", "to be told")
    with reading(args) as (_, view):
        rows = [
            [
                *(row[column] for column in columns[:6]),
                row["reason"] or load(view, Evidence, row["content"]).certificate.reason,
                "; ".join(to_tell(view, row["number"])),
            ]
            for row in view.rows("certificate")
            if row["state"] in {"superseded", "withdrawn"} or row["kind"] != "original"
        ]
    return show.table(args, columns, rows, name="certificates")


def show_one(args: Namespace) -> int:
    """One certificate or one paper of preliminary figures; its file with --pdf."""
    if args.number.startswith("P-"):
        return preliminary.show_one(args)
    from benchseal.desk.papers import copies_of, files_written  # noqa: PLC0415  draws in what makes pages

    with reading(args) as (site, view):
        row = _row(view, args.number)
        runs = view.rows("certificate_run", number=args.number)
        behind = rows_about(view, "investigation", row)
        sums = load(view, Evidence, row["content"]).sums
        corrected = corrected_of(view, subjects_of_certificate(view, row))
        series = [one for one in view.rows("certificate", first=row["first"]) if one["number"] != args.number]
        handed = view.rows("certificate_recipient", number=args.number)
        tell = to_tell(view, args.number)
        written = papers.write_out(args, site, view, row)
        copies, files = copies_of(view, args.number), list(files_written(view, site, args.number))
    said = [
        f"{row['number']} ({row['kind']}): {row['state']}",
        f"lot {row['lot']} of {row['customer']}, sample {row['sample']}",
        f"runs: {_runs(runs)}",
        *sum_lines(sums),
        f"sealed file: SHA-256 {row['sealed']}" if row["sealed"] else "not sealed",
        *(f"investigation {each['investigation']}, {each['line']}: {_ended(each)}" for each in behind),
        *((f"flag: {row['flag']}",) if row["flag"] else ()),
        *((f"why: {row['reason']}",) if row["reason"] else ()),
        *(f"of its series: {one['number']} ({one['kind']}): {one['state']}" for one in series),
        *(f"{one['kind']} {one['person_told']}, {one['how']}, {one['at'][:10]} by {one['person']}" for one in handed),
        *(
            f"paper copy {int(one['copy'])} for {one['given_to']}, {one['at'][:10]} by {one['person']}: {one['reason']}"
            for one in copies
        ),
        *(f"file written out {one['at'][:10]} by {one['person']}: {one['file']}" for one in files),
        *(f"to be told: {who}" for who in tell),
        "changed since first entry:" if corrected else "nothing it shows was changed since first entry",
        *(f"  {line}" for line in corrected_lines(corrected)),
        *written,
    ]
    data = {"certificate": row, "runs": runs, "sums": [plain_of(one) for one in sums], "investigations": behind}
    data |= {"series": series, "handed": handed, "to_tell": tell, "copies": copies, "files_written": files}
    return show.lines(args, said, {**data, "corrected": [plain_of(each) for each in corrected]})


def why_not(args: Namespace) -> int:
    """What still keeps a lot from its certificate. Exit 10 when something does."""
    with reading(args) as (_, view):
        lot = args.lot
        row = view.row("certificate", number=lot)
        if row is not None:
            lot = row["sample"]
        sample = sample_of_lot(view, lot)
        refusals, _found = look(view, sample)
        refusals = [*flagged(view, sample), *refusals]
        seen = of_lot(view, sample["sample"])
    data = {"blockers": _plain(refusals), "patterns": _plain(seen)}
    patterns = [f"look first: {each}" for each in seen]
    if not refusals:
        return show.lines(args, ["Nothing: it can be drafted.", *patterns], data)
    show.lines(args, [*(str(each) for each in refusals), *patterns], data)
    return EXIT_FINDING


def _plain(found: Sequence[Notice]) -> list[dict[str, str]]:
    return [each.told for each in found]


def _row(view: Reading, number: str) -> Row:
    row = view.row("certificate", number=number)
    if row is None:
        raise Stopped(
            Refusal("certificate.unknown", number, "there is no such certificate.", "See `benchseal certificate list`.")
        )
    return row


def _ended(row: Row) -> str:
    return str(row["outcome"] or row["state"])


def _runs(rows: list[Row]) -> str:
    return ", ".join(f"{row['run']} version {row['version']}" for row in rows)
