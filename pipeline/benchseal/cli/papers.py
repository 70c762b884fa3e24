"""Certificates written out: their file or a draft, numbered paper copies, and the notice beside a withdrawn one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from benchseal.cli import show
from benchseal.cli.opened import site_of, write_file
from benchseal.cli.secrets_in import credentials
from benchseal.desk.acting import Receipt
from benchseal.desk.acts_certificates import PrintCertificate, WithdrawCertificate
from benchseal.desk.perform import perform
from benchseal.problems import Stopped, Trouble

if TYPE_CHECKING:
    from argparse import Namespace

    from benchseal.desk.site import Site
    from benchseal.store.protocol import Reading, Row


def print_copy(args: Namespace) -> int:
    """Put a numbered paper copy on record, then write what is to be printed."""
    from benchseal.desk.papers import copy_pdf  # noqa: PLC0415  draws in what makes pages

    with site_of(args) as site:
        receipt = perform(site, PrintCertificate(args.number, args.to, args.reason), *credentials(args, site))
        with site.store.reading() as view:
            data = copy_pdf(view, args.number, int(str(receipt.data["copy"])))
        write_file(args.out, data)
        return show.receipt(args, receipt)


def withdraw(args: Namespace) -> int:
    """Take an issued certificate back, then make its notice. One that is withdrawn and lacks it needs no password."""
    from benchseal.desk.notices import finish, waiting  # noqa: PLC0415  draws in what makes pages

    with site_of(args) as site:
        if args.number in waiting(site):
            return show.receipt(args, finish(site, args.number))
        done = perform(site, WithdrawCertificate(args.number, args.reason), *credentials(args, site))
        try:
            notice = finish(site, args.number)
        except Stopped as fault:
            what = "it is withdrawn, and its notice is not made yet."
            remedy = (
                f"Run `benchseal certificate withdraw {args.number}` again with any reason: nobody signs again, and "
                "the reason signed stays. Where that is refused too, tell those who have it yourselves."
            )
            raise Stopped(Trouble("certificate.notice-waits", args.number, what, remedy), *fault.notices) from None
        return show.receipt(args, Receipt((*done.said, *notice.said), {**done.data, **notice.data}, done.notices))


def write_out(args: Namespace, site: Site, view: Reading, row: Row) -> list[str]:
    """Write the file of a certificate, or its draft, where --pdf says; the notice beside a withdrawn one."""
    from benchseal.desk.notices import sealed_notice  # noqa: PLC0415  draws in what makes pages
    from benchseal.desk.papers import draft_pdf  # noqa: PLC0415  the same

    if not args.pdf:
        return []
    if not row["sealed"]:
        write_file(args.pdf, draft_pdf(view, site, row))
        return [f"{args.pdf}: a draft, marked on every page, not sealed"]
    write_file(args.pdf, view.bytes_of(row["sealed"]))
    notice = sealed_notice(view, row["number"])
    if not notice:
        return [f"{args.pdf}: its sealed file"]
    beside = Path(args.pdf)
    beside = beside.with_name(f"{beside.stem}-withdrawal{beside.suffix}")
    write_file(str(beside), notice)
    return [f"{args.pdf}: its sealed file", f"{beside}: the notice that it is withdrawn"]
